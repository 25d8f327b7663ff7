import type { Assumption } from "@/lib/core/exchange/assumptions";
import type { ColumnMapping } from "@/lib/core/exchange/column-mapping";
import type { HeaterRecord } from "@/lib/core/exchange/heater-record";
import { VERDICT_LETTERS, type Verdict } from "@/lib/core/exchange/import-batch";
import {
  createHeaterRowReader,
  type HeaterRow,
  type TableRow,
} from "@/lib/core/exchange/read-heater-row";
import type { RecordChange } from "@/lib/core/exchange/record-changes";
import {
  givesHome,
  type SettledRecord,
  settleHome,
  settleKnownRecord,
  settleNewRecord,
} from "@/lib/core/exchange/settle-record";
import { isFailureCause } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type {
  CareWrite,
  HeaterWrite,
  HomeWrite,
  KnownBuilding,
  KnownHeater,
  KnownProperty,
  KnownTag,
  KnownUnit,
  RetirementWrite,
} from "@/lib/data/import-writes";
import { FACT_COLUMNS } from "@/lib/data/import-writes";
import type { ReplacedValues, RowNote } from "@/lib/data/imports";
import { NameIndex } from "./name-index";
import { type BookedUnit, type NewPlaces, PlaceBook } from "./place-book";

/** What a run of rows would do to the record, and what there is to say of them. */
export type RowsPlan = {
  /** A letter for each row, in order. */
  readonly verdicts: string;
  readonly notes: readonly RowNote[];
  readonly places: NewPlaces;
  readonly homes: readonly HomeWrite[];
  readonly added: readonly HeaterWrite[];
  readonly changed: readonly HeaterWrite[];
  readonly retirements: readonly RetirementWrite[];
  readonly care: readonly CareWrite[];
  /** The rows that are added or changed, for the counts of a summary. */
  readonly accepted: readonly AcceptedRow[];
};

export type AcceptedRow = {
  readonly verdict: "add" | "change" | "same";
  readonly record: HeaterRecord;
  readonly settled: SettledRecord;
  readonly changes: readonly RecordChange[];
  readonly assumptions: readonly Assumption[];
};

/** What the planner asks of the record as it goes. */
export type RecordLookup = {
  readonly loadHeaters: (ids: readonly string[]) => Promise<ReadonlyMap<string, KnownHeater>>;
  readonly loadUnits: (buildingIds: readonly string[]) => Promise<readonly KnownUnit[]>;
};

export type PlannerInput = {
  readonly headers: readonly string[];
  readonly mapping: ColumnMapping;
  readonly uses1904: boolean;
  readonly today: CalendarDay;
  readonly tags: readonly KnownTag[];
  readonly properties: readonly KnownProperty[];
  readonly buildings: readonly KnownBuilding[];
  /** Makes the identifiers of new rows. */
  readonly newId: () => string;
  readonly lookup: RecordLookup;
};

/** Plans a file's rows, run by run and in order: reads them, compares them with the record. */
export class RowPlanner {
  readonly book: PlaceBook;
  readonly #input: PlannerInput;
  readonly #heaterOfTag = new NameIndex<string>();
  readonly #readRow: (row: TableRow) => HeaterRow | null;

  constructor(input: PlannerInput) {
    this.#input = input;
    this.book = new PlaceBook(input.properties, input.buildings, input.newId);
    for (const { id, tag } of input.tags) this.#heaterOfTag.add("", tag, id);
    this.#readRow = createHeaterRowReader(input.headers, input.mapping, {
      today: input.today,
      uses1904: input.uses1904,
      isKnownTag: (tag) => this.#heaterIdOf(tag) !== null,
    });
  }

  #heaterIdOf(tag: string): string | null {
    return this.#heaterOfTag.get("", tag) ?? null;
  }

  async plan(rows: readonly TableRow[]): Promise<RowsPlan> {
    const read = rows.map(this.#readRow);
    const ids = new Set<string>();
    for (const row of read) {
      const id = row?.record ? this.#heaterIdOf(row.record.tag) : null;
      if (id !== null) ids.add(id);
    }
    const heaters = await this.#input.lookup.loadHeaters([...ids]);
    await this.#loadUnitsOf(read, heaters);

    const sheet = new PlanSheet(this.book, this.#input.today, this.#input.newId);
    for (const row of read) {
      if (row === null) sheet.passOver();
      else if (row.record === null) sheet.refuse(row, row.problems);
      else {
        const id = this.#heaterIdOf(row.record.tag);
        const known = id === null ? undefined : heaters.get(id);
        if (known) sheet.planKnown(row, row.record, known);
        else sheet.planNew(row, row.record);
      }
    }
    return sheet.finish();
  }

  /** Tells the book of the homes in all buildings on record that these rows concern. */
  async #loadUnitsOf(
    rows: readonly (HeaterRow | null)[],
    heaters: ReadonlyMap<string, KnownHeater>,
  ): Promise<void> {
    const wanted = new Set<string>();
    const want = (buildingId: string | undefined) => {
      if (buildingId && this.book.lacksUnits(buildingId)) wanted.add(buildingId);
    };
    for (const { buildingId } of heaters.values()) want(buildingId);
    for (const row of rows) {
      if (!row?.record) continue;
      const id = this.#heaterIdOf(row.record.tag);
      const at = id === null ? undefined : heaters.get(id)?.at;
      const property = row.record.property ?? at?.property;
      const building = row.record.building ?? at?.building;
      if (property && building) want(this.book.findBuilding(property, building)?.id);
    }
    if (wanted.size === 0) return;
    this.book.addUnits(wanted, await this.#input.lookup.loadUnits([...wanted]));
  }
}

/** Gathers the plan of one run of rows. */
class PlanSheet {
  readonly #book: PlaceBook;
  readonly #today: CalendarDay;
  #verdicts = "";
  readonly #notes: RowNote[] = [];
  readonly #homes = new Map<string, HomeWrite>();
  readonly #added: HeaterWrite[] = [];
  readonly #changed: HeaterWrite[] = [];
  readonly #retirements: RetirementWrite[] = [];
  readonly #care: CareWrite[] = [];
  readonly #accepted: AcceptedRow[] = [];

  readonly #newId: () => string;

  constructor(book: PlaceBook, today: CalendarDay, newId: () => string) {
    this.#book = book;
    this.#today = today;
    this.#newId = newId;
  }

  passOver(): void {
    this.#note("pass-over");
  }

  refuse(row: TableRow, problems: HeaterRow["problems"], tag: string | null = null): void {
    this.#note("refuse", {
      rowNumber: row.rowNumber,
      verdict: "refuse",
      tag,
      heaterId: null,
      problems,
      changes: null,
      before: null,
    });
  }

  planNew(row: HeaterRow, record: HeaterRecord): void {
    const property = record.property ?? "";
    const known = this.#book.findBuilding(property, record.building ?? "");
    const settled = settleNewRecord(record, {
      today: this.#today,
      builtYear: known?.builtYear ?? null,
    });
    const assumptions = [...row.assumptions, ...settled.assumptions];
    const building = known ?? this.#book.settleBuilding(property, settled.at.building);
    const unit = this.#unitOf(building.id, settled, record, assumptions);
    const heater: HeaterWrite = {
      id: this.#newId(),
      tag: record.tag,
      version: 0,
      buildingId: building.id,
      unitId: unit?.id ?? null,
      facts: settled.facts,
    };
    this.#added.push(heater);
    this.#writeHistory(heater.id, settled, null);
    if (unit && settled.facts.status === "in-service") {
      unit.inService += 1;
      unit.newInService += 1;
    }
    const { changes, before } = this.#writeHome(unit, record);
    const note: RowNote | null = before && {
      rowNumber: row.rowNumber,
      verdict: "add",
      tag: record.tag,
      heaterId: heater.id,
      problems: null,
      changes,
      before: { home: before },
    };
    this.#note("add", note);
    this.#accepted.push({ verdict: "add", record, settled, changes, assumptions });
  }

  planKnown(row: HeaterRow, record: HeaterRecord, known: KnownHeater): void {
    const isBuildingAssumed = row.assumptions.includes("building-is-property");
    const context = { today: this.#today, builtYear: known.builtYear };
    const settled = settleKnownRecord(known, record, context, isBuildingAssumed);
    if (settled.problems.length > 0) {
      const toProblem = (message: string) => ({
        path: "row",
        message: `row ${row.rowNumber}: ${message}`,
      });
      this.refuse(row, settled.problems.map(toProblem), known.tag);
      return;
    }
    const { at } = settled;
    const isMoved = at.building !== known.at.building || at.property !== known.at.property;
    const isAtSameHome = !isMoved && at.unit === known.at.unit;
    const assumptions = [
      ...row.assumptions.filter(
        (one) => one !== "place-other" && (one !== "building-is-property" || isMoved),
      ),
      ...settled.assumptions,
    ];
    const buildingId = isMoved
      ? this.#book.settleBuilding(at.property, at.building).id
      : known.buildingId;
    const unit = this.#unitOf(buildingId, settled, record, assumptions);
    const home = this.#writeHome(unit, record);
    const changes = [...settled.changes, ...home.changes];
    if (changes.length === 0) {
      this.#note("same");
      this.#accepted.push({ verdict: "same", record, settled, changes, assumptions: [] });
      return;
    }
    const heater: HeaterWrite = {
      id: known.id,
      tag: known.tag,
      version: known.version,
      buildingId,
      unitId: isAtSameHome ? known.unitId : (unit?.id ?? null),
      facts: settled.facts,
    };
    this.#changed.push(heater);
    const isEndChanged = this.#writeHistory(known.id, settled, known);
    this.#countService(known, settled, isAtSameHome ? null : unit);
    this.#note("change", {
      rowNumber: row.rowNumber,
      verdict: "change",
      tag: known.tag,
      heaterId: known.id,
      problems: null,
      changes,
      before: {
        version: known.version + 1,
        heater: replacedColumns(known, heater),
        ...(isEndChanged && known.retirement ? { retirement: known.retirement } : {}),
        ...(home.before ? { home: home.before } : {}),
      },
    });
    this.#accepted.push({ verdict: "change", record, settled, changes, assumptions });
  }

  finish(): RowsPlan {
    const places = this.#book.takeNewPlaces();
    // A home made by these rows is written with all that they say of it.
    for (const { id } of places.units) this.#homes.delete(id);
    return {
      verdicts: this.#verdicts,
      notes: this.#notes,
      places,
      homes: [...this.#homes.values()],
      added: this.#added,
      changed: this.#changed,
      retirements: this.#retirements,
      care: this.#care,
      accepted: this.#accepted,
    };
  }

  #note(verdict: Verdict, note: RowNote | null = null): void {
    this.#verdicts += VERDICT_LETTERS[verdict];
    if (note) this.#notes.push(note);
  }

  #unitOf(
    buildingId: string,
    { at }: SettledRecord,
    record: HeaterRecord,
    assumptions: Assumption[],
  ): BookedUnit | null {
    if (at.unit !== null) return this.#book.settleUnit(buildingId, at.unit);
    if (givesHome(record)) assumptions.push("home-left-out");
    return null;
  }

  /** What the row says of its home; `before` is null where nothing changes of a home on record. */
  #writeHome(
    unit: BookedUnit | null,
    record: HeaterRecord,
  ): {
    readonly changes: readonly RecordChange[];
    readonly before: NonNullable<ReplacedValues["home"]> | null;
  } {
    const nothing = { changes: [], before: null };
    if (!unit) return nothing;
    const before = unit.home;
    const { home, changes } = settleHome(before, record);
    if (changes.length === 0) return nothing;
    unit.home = home;
    this.#homes.set(unit.id, { unitId: unit.id, home });
    if (unit.isNew) return nothing;
    return { changes, before: { unitId: unit.id, before, after: home } };
  }

  /** Notes an end of service and days of care; true when an end on record becomes another. */
  #writeHistory(heaterId: string, settled: SettledRecord, known: KnownHeater | null): boolean {
    const { retirement, care } = settled;
    const before = known?.retirement ?? null;
    const isEndNew =
      retirement !== null &&
      (retirement.earliest !== before?.earliest ||
        retirement.latest !== before.latest ||
        retirement.cause !== before.cause);
    if (isEndNew) {
      // A heater that leaks or gives no heat leaves its homes without hot water until the swap.
      const emergency = isFailureCause(retirement.cause);
      this.#retirements.push({ heaterId, ...retirement, emergency });
    }
    const { lastFlush, lastAnodeReplacement } = care;
    if (lastFlush !== null && lastFlush === lastAnodeReplacement) {
      this.#addVisit(heaterId, lastFlush, ["flush", "anode-replacement"]);
    } else {
      if (lastFlush !== null) this.#addVisit(heaterId, lastFlush, ["flush"]);
      if (lastAnodeReplacement !== null) {
        this.#addVisit(heaterId, lastAnodeReplacement, ["anode-replacement"]);
      }
    }
    return isEndNew;
  }

  #addVisit(heaterId: string, day: CalendarDay, tasks: CareWrite["tasks"]): void {
    this.#care.push({ visitId: this.#newId(), heaterId, day, tasks });
  }

  /** Keeps the count of heaters in service of the home that a heater leaves and of the one it comes to. */
  #countService(known: KnownHeater, settled: SettledRecord, movedTo: BookedUnit | null): void {
    const stood = known.facts.status === "in-service";
    const stands = settled.facts.status === "in-service";
    const left =
      known.at.unit === null ? null : this.#book.findUnit(known.buildingId, known.at.unit);
    if (stood && left && (!stands || settled.at.unit !== known.at.unit || movedTo)) {
      left.inService -= 1;
    }
    if (stands && movedTo) {
      movedTo.inService += 1;
      movedTo.newInService += 1;
    }
  }
}

/** The columns of a heater that a row replaces, with what stood there. */
function replacedColumns(
  known: KnownHeater,
  heater: HeaterWrite,
): NonNullable<ReplacedValues["heater"]> {
  const replaced: Record<string, unknown> = {};
  for (const column of FACT_COLUMNS) {
    if (known.facts[column] !== heater.facts[column]) replaced[column] = known.facts[column];
  }
  if (known.buildingId !== heater.buildingId) replaced.buildingId = known.buildingId;
  if (known.unitId !== heater.unitId) replaced.unitId = known.unitId;
  return replaced;
}
