import {
  type HeaterStatus,
  type InstallEvidence,
  isCombustion,
  isHeatPump,
} from "@/lib/core/heaters/vocabulary";
import {
  addYears,
  type CalendarDay,
  dayFromParts,
  maxDay,
  minDay,
} from "@/lib/core/shared/calendar-day";
import type { Assumption } from "./assumptions";
import type { HeaterRecord } from "./heater-record";
import { type DateBracket, describeBracket } from "./parse-date";
import type { ChangeField, ChangeValue, RecordChange } from "./record-changes";
import {
  type CareDays,
  type HeaterFacts,
  HOME_FIELDS,
  type HomeFacts,
  type PlaceNames,
  type RecordOnFile,
  type RetirementFacts,
} from "./record-facts";

/** What a row comes to be, given what stands on record. */
export type SettledRecord = {
  readonly facts: HeaterFacts;
  readonly at: PlaceNames;
  readonly retirement: RetirementFacts | null;
  /** Days of care to be added to the history. */
  readonly care: CareDays;
  /** Field by field; empty for a heater that is new. Its home is told apart, by {@link settleHome}. */
  readonly changes: readonly RecordChange[];
  /** Why the row cannot stand, to follow `row 41: `. */
  readonly problems: readonly string[];
  readonly assumptions: readonly Assumption[];
};

export type SettleContext = {
  readonly today: CalendarDay;
  /** Year the heater's building was built; null where it is not on record. */
  readonly builtYear: number | null;
};

/** A heater of apartments is not older than this where nothing is known (common practice, no source). */
const LONGEST_LIFE_YEARS = 40;

/**
 * A row whose tag is not on record, as a whole record. What it leaves open is closed as
 * `assumptions` says; it must have property, building and type, which reading a row sees to.
 *
 * @throws {RangeError} when property, building, technology or fuel is null
 */
export function settleNewRecord(
  given: HeaterRecord,
  { today, builtYear }: SettleContext,
): SettledRecord {
  const { property, building, technology, fuel } = given;
  if (property === null || building === null || technology === null || fuel === null) {
    throw new RangeError(`a new record needs property, building and type, got tag ${given.tag}`);
  }
  const assumptions: Assumption[] = [];
  const end = given.status === "retired" && given.retiredLatest ? given.retiredLatest : today;
  const install = closeInstall(given, end, builtYear, assumptions);
  const retirement = settleRetirement(given, install, null, assumptions);
  const isInstallGiven = given.installEarliest !== null || given.installLatest !== null;
  const evidence = given.installEvidence ?? assumedEvidence(isInstallGiven, builtYear);
  if (given.installEvidence === null && isInstallGiven) assumptions.push("evidence-none-named");
  const facts: HeaterFacts = {
    technology,
    fuel,
    status: retirement === null ? "in-service" : "retired",
    installEarliest: install.earliest,
    installLatest: install.latest,
    installEvidence: evidence,
    manufacturer: given.manufacturer,
    model: given.model,
    serial: given.serial,
    volumeGal: given.volumeGal,
    inputBtuPerHour: given.inputBtuPerHour,
    inputWatts: given.inputWatts,
    uniformEnergyFactor: given.uniformEnergyFactor,
    firstHourGal: given.firstHourGal,
    place: given.place ?? "other",
    overFinishedSpace: given.overFinishedSpace ?? "unknown",
    drainPan: given.drainPan ?? "unknown",
    leakShutoff: given.leakShutoff ?? "unknown",
    closedSystem: given.closedSystem ?? "unknown",
    expansionControl: given.expansionControl ?? "unknown",
    mixingValve: given.mixingValve ?? "unknown",
    setpointF: given.setpointF,
    warrantyYears: given.warrantyYears,
    homesServed: given.homesServed ?? 1,
    notes: given.notes,
  };
  return {
    facts,
    at: { property, building, unit: given.unit },
    retirement,
    care: { lastFlush: given.lastFlush, lastAnodeReplacement: given.lastAnodeReplacement },
    changes: [],
    problems: [],
    assumptions,
  };
}

/** Fields that a row replaces as they stand. */
const PLAIN_FIELDS = [
  "technology",
  "fuel",
  "manufacturer",
  "model",
  "serial",
  "volumeGal",
  "inputBtuPerHour",
  "inputWatts",
  "uniformEnergyFactor",
  "firstHourGal",
  "overFinishedSpace",
  "drainPan",
  "leakShutoff",
  "closedSystem",
  "expansionControl",
  "mixingValve",
  "setpointF",
  "warrantyYears",
  "homesServed",
  "notes",
] as const satisfies readonly (keyof HeaterFacts & keyof HeaterRecord)[];

/**
 * A row whose tag is on record: what it gives replaces what stands there, what it leaves empty stays.
 *
 * Two brackets of the install day are narrowed to the days that both allow; where they contradict one
 * another, the row's holds. A place without a name here does not replace one on record, and a day of
 * care is added only when it is later than the last on record. A row that would bring a retired heater
 * back, or that describes another heater under an old tag, is refused: the history of both would be lost.
 *
 * @param isBuildingAssumed the row names no building, and its property stands for it
 */
export function settleKnownRecord(
  onRecord: RecordOnFile,
  given: HeaterRecord,
  { today, builtYear }: SettleContext,
  isBuildingAssumed = false,
): SettledRecord {
  const { facts: before } = onRecord;
  const changes = new ChangeList();
  const problems: string[] = [];
  const assumptions: Assumption[] = [];
  const facts: { -readonly [K in keyof HeaterFacts]: HeaterFacts[K] } = { ...before };

  for (const field of PLAIN_FIELDS) {
    const value = given[field];
    if (value === null) continue;
    Object.assign(facts, { [field]: value });
  }
  if (given.place !== null && given.place !== "other") facts.place = given.place;
  if (isCombustion(facts.technology) !== isCombustion(before.technology)) {
    // A burner's input does not pass on to what has none, nor an element's to a burner.
    if (given.inputBtuPerHour === null) facts.inputBtuPerHour = null;
    if (given.inputWatts === null) facts.inputWatts = null;
  }
  const at = settlePlace(onRecord.at, given, isBuildingAssumed, problems);

  const install = narrowInstall(before, given, { today, builtYear });
  facts.installEarliest = install.earliest;
  facts.installLatest = install.latest;
  facts.installEvidence =
    given.installEvidence ?? evidenceAfter(before.installEvidence, install.kind);
  if (facts.installEvidence !== before.installEvidence && given.installEvidence === null) {
    assumptions.push("evidence-none-named");
  }

  const retirement = settleRetirement(given, install, onRecord.retirement, assumptions);
  facts.status = retirement === null ? "in-service" : "retired";
  if (retirement && install.kind !== "as-it-stands") {
    facts.installLatest = minDay(facts.installLatest, retirement.latest);
  }
  const care = {
    lastFlush: laterThan(onRecord.lastFlush, given.lastFlush),
    lastAnodeReplacement: laterThan(onRecord.lastAnodeReplacement, given.lastAnodeReplacement),
  };
  refuseContradictions(onRecord, given, facts, retirement, care, problems);

  changes.add("property", onRecord.at.property, at.property);
  changes.add("building", onRecord.at.building, at.building);
  changes.add("unit", onRecord.at.unit, at.unit);
  for (const field of [...PLAIN_FIELDS, "place", "status"] as const) {
    changes.add(field, before[field], facts[field]);
  }
  changes.addDays("install", installPair(before), installPair(facts));
  changes.add("installEvidence", before.installEvidence, facts.installEvidence);
  changes.addDays("retirement", retirementPair(onRecord.retirement), retirementPair(retirement));
  changes.add(
    "retirementCause",
    onRecord.retirement?.cause ?? null,
    retirement?.cause ?? onRecord.retirement?.cause ?? null,
  );
  for (const field of ["lastFlush", "lastAnodeReplacement"] as const) {
    if (care[field] !== null) changes.add(field, onRecord[field], care[field]);
  }
  return { facts, at, retirement, care, changes: changes.list, problems, assumptions };
}

/** A home as it stands with what a row says of it. What the row leaves empty stays. */
export function settleHome(
  before: HomeFacts,
  given: HeaterRecord,
): { readonly home: HomeFacts; readonly changes: readonly RecordChange[] } {
  const changes: RecordChange[] = [];
  for (const field of HOME_FIELDS) {
    const value = given[field];
    if (value === null || value === before[field]) continue;
    changes.push({ field, before: before[field], after: value });
  }
  if (changes.length === 0) return { home: before, changes };
  const home = {
    floor: given.floor ?? before.floor,
    riser: given.riser ?? before.riser,
    bedrooms: given.bedrooms ?? before.bedrooms,
    bathrooms: given.bathrooms ?? before.bathrooms,
    occupants: given.occupants ?? before.occupants,
  };
  return { home, changes };
}

/** True when a row says something of a home: floor, riser, rooms, occupants. */
export function givesHome(given: HeaterRecord): boolean {
  return HOME_FIELDS.some((field) => given[field] !== null);
}

/** Names that differ in case or in the spaces around them are one. */
export function isSameName(a: string, b: string): boolean {
  return a === b || nameKey(a) === nameKey(b);
}

/** What names are compared by. */
export function nameKey(name: string): string {
  return name.trim().toLowerCase();
}

type InstallBracket = { readonly earliest: CalendarDay; readonly latest: CalendarDay };

/** The bracket of a new heater's install day with its open ends closed. */
function closeInstall(
  { installEarliest, installLatest }: HeaterRecord,
  end: CalendarDay,
  builtYear: number | null,
  assumptions: Assumption[],
): InstallBracket {
  const latest = minDay(installLatest ?? end, end);
  const earliest = installEarliest ?? earliestInstall(latest, builtYear);
  if (installEarliest === null && installLatest === null) assumptions.push("install-unknown");
  else if (installEarliest === null || installLatest === null) assumptions.push("install-end-open");
  else if (earliest !== latest) assumptions.push("install-bracket");
  return { earliest, latest };
}

/** No earlier than its building, nor than a heater lives. */
function earliestInstall(latest: CalendarDay, builtYear: number | null): CalendarDay {
  const oldest = addYears(latest, -LONGEST_LIFE_YEARS);
  const built = builtYear === null ? null : dayFromParts(builtYear, 1, 1);
  return built !== null && built <= latest ? maxDay(built, oldest) : oldest;
}

function assumedEvidence(isInstallGiven: boolean, builtYear: number | null): InstallEvidence {
  if (isInstallGiven) return "staff-estimate";
  return builtYear === null ? "none" : "building-age";
}

type NarrowedInstall = InstallBracket & {
  readonly kind: "as-it-stands" | "narrowed" | "replaced";
};

function narrowInstall(
  { installEarliest, installLatest }: HeaterFacts,
  given: HeaterRecord,
  { today, builtYear }: SettleContext,
): NarrowedInstall {
  const earliest = given.installEarliest ?? installEarliest;
  const latest = given.installLatest ?? installLatest;
  const both = {
    earliest: maxDay(earliest, installEarliest),
    latest: minDay(latest, installLatest),
  };
  if (both.earliest <= both.latest) {
    const isSame = both.earliest === installEarliest && both.latest === installLatest;
    return { ...both, kind: isSame ? "as-it-stands" : "narrowed" };
  }
  const end = given.installLatest ?? today;
  return {
    earliest: given.installEarliest ?? earliestInstall(end, builtYear),
    latest: end,
    kind: "replaced",
  };
}

/** A day from the list itself rests at least on the staff who keep it; a new day has lost its old proof. */
function evidenceAfter(before: InstallEvidence, kind: NarrowedInstall["kind"]): InstallEvidence {
  if (kind === "as-it-stands") return before;
  if (kind === "replaced") return "staff-estimate";
  return before === "none" || before === "building-age" ? "staff-estimate" : before;
}

function settleRetirement(
  given: HeaterRecord,
  install: InstallBracket,
  before: RetirementFacts | null,
  assumptions: Assumption[],
): RetirementFacts | null {
  if (given.status !== "retired" || given.retiredLatest === null) {
    if (given.retirementCause === null) return before;
    if (before === null) assumptions.push("cause-left-out");
    return before && { ...before, cause: given.retirementCause };
  }
  const latest = given.retiredLatest;
  const earliest = minDay(given.retiredEarliest ?? install.earliest, latest);
  if (given.retirementCause === null && before === null) assumptions.push("cause-other");
  const cause = given.retirementCause ?? before?.cause ?? "other";
  // A wider bracket than the one on record says nothing new.
  if (before && earliest <= before.earliest && latest >= before.latest) return { ...before, cause };
  return { earliest, latest, cause };
}

function laterThan(known: CalendarDay | null, given: CalendarDay | null): CalendarDay | null {
  return given !== null && (known === null || given > known) ? given : null;
}

function settlePlace(
  before: PlaceNames,
  given: HeaterRecord,
  isBuildingAssumed: boolean,
  problems: string[],
): PlaceNames {
  const property = keepName(before.property, given.property);
  const isSameProperty = property === before.property;
  const named = isBuildingAssumed && isSameProperty ? null : given.building;
  if (!isSameProperty && named === null) {
    problems.push(
      `property changes from ${before.property} to ${property}, and no building is given`,
    );
  }
  const isSameBuilding = isSameProperty && (named === null || isSameName(named, before.building));
  const building = isSameBuilding ? before.building : (named ?? before.building);
  if (!isSameBuilding && before.unit !== null && given.unit === null) {
    problems.push(
      `building changes from ${before.building} to ${building}, and no unit there is given`,
    );
  }
  const unit = given.unit === null ? before.unit : keepName(before.unit ?? "", given.unit);
  return { property, building, unit };
}

/** The name on record where the given one is the same but for case and spaces. */
function keepName(before: string, given: string | null): string {
  return given === null || isSameName(before, given) ? before : given;
}

function refuseContradictions(
  onRecord: RecordOnFile,
  given: HeaterRecord,
  facts: HeaterFacts,
  retirement: RetirementFacts | null,
  care: CareDays,
  problems: string[],
): void {
  const { facts: before } = onRecord;
  if (given.status === ("in-service" satisfies HeaterStatus) && onRecord.retirement !== null) {
    problems.push(
      `the heater is on record as retired on ${describeBracket(onRecord.retirement)}, and none comes back into service; give the one that stands there now its own tag`,
    );
  }
  if (isAnotherHeater(before, given)) {
    problems.push(
      `a later install date and another ${before.serial && given.serial && given.serial !== before.serial ? "serial number" : "type"} than on record say that this is a new heater under an old tag; retire the old one and give the new one its own tag`,
    );
  }
  if (given.fuel !== null && (facts.fuel === "electricity") === isCombustion(facts.technology)) {
    problems.push("fuel contradicts the type on record; give the type too");
  }
  const factor = facts.uniformEnergyFactor;
  const isNewPair = given.uniformEnergyFactor === null || given.technology === null;
  if (
    factor !== null &&
    isNewPair &&
    (facts.technology !== before.technology || factor !== before.uniformEnergyFactor) &&
    isHeatPump(facts.technology) !== factor > 1
  ) {
    problems.push(
      `UEF ${factor} contradicts the type on record: a heat pump has more than 1, all others at most 1`,
    );
  }
  const isDated = retirement !== onRecord.retirement || given.installEarliest !== null;
  if (retirement && isDated && facts.installEarliest > retirement.latest) {
    problems.push(
      `retirement date ${describeBracket(retirement)} is before the install date ${describeBracket(installBracket(facts))}`,
    );
  }
  for (const [noun, day] of [
    ["last flush", care.lastFlush],
    ["last anode replacement", care.lastAnodeReplacement],
  ] as const) {
    if (day === null) continue;
    if (day < facts.installEarliest) {
      problems.push(
        `${noun} ${day} is before the install date ${describeBracket(installBracket(facts))}`,
      );
    } else if (retirement && day > retirement.latest) {
      problems.push(`${noun} ${day} is after the retirement date ${describeBracket(retirement)}`);
    }
  }
}

/** Another plate or another way of heating, put in after the one on record: not the same heater. */
function isAnotherHeater(before: HeaterFacts, given: HeaterRecord): boolean {
  if (given.installEarliest === null || given.installEarliest <= before.installLatest) return false;
  const isOtherPlate =
    given.serial !== null && before.serial !== null && given.serial !== before.serial;
  return isOtherPlate || (given.technology !== null && given.technology !== before.technology);
}

function installBracket(facts: HeaterFacts): DateBracket {
  return { earliest: facts.installEarliest, latest: facts.installLatest };
}

function installPair(facts: HeaterFacts): readonly [CalendarDay, CalendarDay] {
  return [facts.installEarliest, facts.installLatest];
}

function retirementPair(
  retirement: RetirementFacts | null,
): readonly [CalendarDay, CalendarDay] | null {
  return retirement && [retirement.earliest, retirement.latest];
}

class ChangeList {
  readonly list: RecordChange[] = [];

  add(field: ChangeField, before: ChangeValue, after: ChangeValue): void {
    if (before !== after) this.list.push({ field, before, after });
  }

  addDays(
    field: ChangeField,
    before: readonly [CalendarDay, CalendarDay] | null,
    after: readonly [CalendarDay, CalendarDay] | null,
  ): void {
    if (before?.[0] === after?.[0] && before?.[1] === after?.[1]) return;
    this.list.push({ field, before, after });
  }
}
