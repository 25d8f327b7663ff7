import { createHash } from "node:crypto";
import type { Assumption } from "@/lib/core/exchange/assumptions";
import type { HeaterRecord } from "@/lib/core/exchange/heater-record";
import {
  type ImportSummary,
  NAMES_KEPT,
  type NameList,
  VERDICT_LETTERS,
  type Verdict,
  type VerdictCounts,
  type WaterFacts,
  type WaterNote,
} from "@/lib/core/exchange/import-batch";
import type { ChangeField } from "@/lib/core/exchange/record-changes";
import type { Answer } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, minDay } from "@/lib/core/shared/calendar-day";
import type { WaterWrite } from "@/lib/data/import-writes";
import type { PlaceBook } from "./place-book";
import type { AcceptedRow, RowsPlan } from "./plan-rows";

/** What a pass over a file's rows found. */
export type ImportFindings = {
  readonly counts: VerdictCounts;
  readonly summary: ImportSummary;
  /** Of every verdict, reason and change: the same rows on the same record give the same. */
  readonly fingerprint: string;
  readonly waters: readonly WaterWrite[];
};

/** Adds up the plans of a file's rows. */
export class ImportTally {
  readonly #counts = { add: 0, change: 0, same: 0, refuse: 0, "pass-over": 0 };
  readonly #assumptions: Partial<Record<Assumption, number>> = {};
  readonly #changedFields: Partial<Record<ChangeField, number>> = {};
  readonly #properties = new Names();
  readonly #buildings = new Names();
  readonly #homes = new Names();
  readonly #waters = new Map<string, WaterGiven>();
  readonly #hash = createHash("sha256");
  readonly #book: PlaceBook;
  readonly #changedHomes = new Set<string>();
  #careDays = 0;
  #retiredCount = 0;
  #firstRetired: CalendarDay | null = null;

  constructor(book: PlaceBook) {
    this.#book = book;
  }

  add(plan: RowsPlan): void {
    for (const letter of plan.verdicts) this.#counts[VERDICT_OF_LETTER.get(letter) as Verdict] += 1;
    this.#hash.update(plan.verdicts);
    for (const { rowNumber, tag, problems, changes } of plan.notes) {
      this.#hash.update(JSON.stringify([rowNumber, tag, problems, changes]));
    }
    this.#addPlaces(plan);
    for (const { unitId } of plan.homes) this.#changedHomes.add(unitId);
    for (const { tasks } of plan.care) this.#careDays += tasks.length;
    for (const row of plan.accepted) this.#addRow(row);
  }

  finish(watersOnRecord: ReadonlyMap<string, WaterFacts>): ImportFindings {
    const second = this.#book.countSecondHeaters();
    if (second > 0) this.#assumptions["second-in-home"] = second;
    const waters = this.#settleWaters(watersOnRecord);
    // Without ids: those of new properties are made anew in every pass.
    for (const { note } of waters) {
      this.#hash.update(JSON.stringify([note.property, note.before, note.after]));
    }
    return {
      counts: this.#counts,
      fingerprint: this.#hash.digest("hex"),
      waters: waters.map(({ write }) => write),
      summary: {
        passedOver: this.#counts["pass-over"],
        assumptions: this.#assumptions,
        changedFields: this.#changedFields,
        newProperties: this.#properties.list,
        newBuildings: this.#buildings.list,
        newHomes: this.#homes.list,
        changedHomes: this.#changedHomes.size,
        waters: waters.map(({ note }) => note),
        careDays: this.#careDays,
        retired: { count: this.#retiredCount, firstDay: this.#firstRetired },
        undone: null,
      },
    };
  }

  #addPlaces({ places }: RowsPlan): void {
    for (const { name } of places.properties) this.#properties.add(() => name);
    for (const { id } of places.buildings) {
      this.#buildings.add(() => this.#book.placeOfBuilding(id));
    }
    for (const { buildingId, label } of places.units) {
      this.#homes.add(() => `${this.#book.placeOfBuilding(buildingId)}, ${label}`);
    }
  }

  #addRow({ verdict, record, settled, changes, assumptions }: AcceptedRow): void {
    for (const assumption of assumptions) {
      this.#assumptions[assumption] = (this.#assumptions[assumption] ?? 0) + 1;
    }
    for (const { field } of changes) {
      this.#changedFields[field] = (this.#changedFields[field] ?? 0) + 1;
    }
    if (verdict === "add" && settled.retirement) {
      this.#retiredCount += 1;
      const { latest } = settled.retirement;
      this.#firstRetired =
        this.#firstRetired === null ? latest : minDay(this.#firstRetired, latest);
    }
    this.#addWater(record, settled.at.property);
  }

  #addWater({ hardnessMgPerLitre, softened }: HeaterRecord, property: string): void {
    if (hardnessMgPerLitre === null && softened === null) return;
    const { id } = this.#book.settleProperty(property);
    let given = this.#waters.get(id);
    if (!given) {
      given = { property: this.#book.nameOfProperty(id), hardness: [], yes: 0, no: 0 };
      this.#waters.set(id, given);
    }
    if (hardnessMgPerLitre !== null) given.hardness.push(hardnessMgPerLitre);
    if (softened === "yes") given.yes += 1;
    if (softened === "no") given.no += 1;
  }

  /** One test for each property whose water the file gives otherwise than the record. */
  #settleWaters(
    onRecord: ReadonlyMap<string, WaterFacts>,
  ): readonly { readonly note: WaterNote; readonly write: WaterWrite }[] {
    return [...this.#waters].flatMap(([propertyId, given]) => {
      const before = onRecord.get(propertyId) ?? null;
      const hardness = [...given.hardness].sort((a, b) => a - b);
      const after: WaterFacts = {
        hardnessMgPerLitre:
          hardness[Math.floor(hardness.length / 2)] ?? before?.hardnessMgPerLitre ?? null,
        softened: softenedOf(given) ?? before?.softened ?? "unknown",
      };
      if (
        before?.hardnessMgPerLitre === after.hardnessMgPerLitre &&
        before.softened === after.softened
      ) {
        return [];
      }
      const [low] = hardness;
      const high = hardness.at(-1);
      const spread =
        low !== undefined && high !== undefined && low < high ? ([low, high] as const) : null;
      const note = { propertyId, property: given.property, before, after, spread };
      return [{ note, write: { propertyId, ...after } }];
    });
  }
}

type WaterGiven = {
  readonly property: string;
  readonly hardness: number[];
  yes: number;
  no: number;
};

/** What most rows say; on a tie, that the water is not softened. */
function softenedOf({ yes, no }: WaterGiven): Answer | null {
  if (yes + no === 0) return null;
  return yes > no ? "yes" : "no";
}

const VERDICT_OF_LETTER: ReadonlyMap<string, Verdict> = new Map(
  (Object.entries(VERDICT_LETTERS) as [Verdict, string][]).map(([verdict, letter]) => [
    letter,
    verdict,
  ]),
);

/** Counts names and keeps the first of them. */
class Names {
  #count = 0;
  readonly #names: string[] = [];

  add(name: () => string): void {
    this.#count += 1;
    if (this.#names.length < NAMES_KEPT) this.#names.push(name());
  }

  get list(): NameList {
    return { count: this.#count, names: this.#names };
  }
}
