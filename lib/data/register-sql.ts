import type {
  RegisterColumn,
  RegisterFilter,
  RegisterSort,
} from "@/lib/core/heaters/register-query";
import type { HeaterStatus } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, DAYS_PER_YEAR } from "@/lib/core/shared/calendar-day";

/**
 * The register's SQL. `l` is its line, `r` the risk of a heater in service. Text from outside reaches a
 * statement as a parameter only.
 */

/** Values of a statement in the order of their `$` numbers. */
export class Parameters {
  readonly values: unknown[] = [];

  add(value: unknown): string {
    this.values.push(value);
    return `$${this.values.length}`;
  }
}

const LINES = '"RegisterLine" l';
/** Joins the risk of the lines of heaters in service. */
export const WITH_RISK = `LEFT JOIN "HeaterRisk" r ON r."heaterId" = l."heaterId" AND l.status = 'in-service'`;
/** All lines with the risk of those that have one. */
export const REGISTER_SOURCE = `${LINES} ${WITH_RISK}`;
const RISK_AND_LINES = `"HeaterRisk" r JOIN "RegisterLine" l ON l."heaterId" = r."heaterId"`;

/** SQL type of a sort value, to read it back from an anchor. */
type KeyType = "text" | "integer" | "double precision" | "date";

/**
 * A stretch of the register that one index gives in order: heaters of one status whose sort value is
 * known, or not. Unknown values come last in either direction.
 */
export type RegisterSection = {
  /** Driven by the lines' index or by that of the risks. */
  readonly drivenBy: "lines" | "risks";
  readonly where: string;
  readonly key: string;
  readonly keyType: KeyType;
  /** Tells apart heaters of one key. */
  readonly tie: string;
  readonly tieType: "text" | "uuid";
  readonly descending: boolean;
};

type LineKey = { readonly key: string; readonly type: KeyType; readonly canBeUnknown: boolean };

const always = (key: string, type: KeyType = "text"): LineKey => ({
  key,
  type,
  canBeUnknown: false,
});
const maybe = (key: string, type: KeyType = "text"): LineKey => ({ key, type, canBeUnknown: true });

const TAG_KEY = always('l."tagOrder"');

/** Sort values that stand in the line, each with an index of the heaters in service. */
const LINE_KEYS: Readonly<Record<Exclude<RegisterColumn, "age" | "chance" | "loss">, LineKey>> = {
  tag: TAG_KEY,
  property: always('l."propertyOrder"'),
  building: always('l."buildingOrder"'),
  home: maybe('l."homeOrder"'),
  floor: maybe("l.floor", "integer"),
  riser: maybe('l."riserOrder"'),
  technology: always("l.technology"),
  maker: maybe('l."makerOrder"'),
  model: maybe('l."modelOrder"'),
  volume: maybe('l."volumeGal"', "double precision"),
  install: always('l."installMiddle"', "date"),
  hardness: maybe('l."hardnessMgPerLitre"', "double precision"),
  lastVisit: maybe('l."lastVisitOn"', "date"),
  status: TAG_KEY,
};

const RISK_KEYS = {
  age: { key: 'r."ageYears"', type: "double precision" },
  chance: { key: 'r."failureProbability"', type: "double precision" },
  loss: { key: 'r."expectedLossCents"', type: "integer" },
} as const satisfies Partial<Record<RegisterColumn, { key: string; type: KeyType }>>;

/** The sections of the register in their order. Their numbers are part of an anchor. */
export function registerSections(
  { column, descending }: RegisterSort,
  status: HeaterStatus | null,
): readonly RegisterSection[] {
  const statuses: readonly HeaterStatus[] =
    status !== null
      ? [status]
      : column === "status" && descending
        ? ["retired", "in-service"]
        : ["in-service", "retired"];
  return statuses.flatMap((one) => sectionsOfStatus(column, descending, one));
}

function sectionsOfStatus(
  column: RegisterColumn,
  descending: boolean,
  status: HeaterStatus,
): readonly RegisterSection[] {
  if (column !== "age" && column !== "chance" && column !== "loss") {
    return lineSections(LINE_KEYS[column], descending, status);
  }
  if (status === "retired") {
    // A retired heater has no risk; its age is the age that it reached.
    return column === "age"
      ? lineSections(maybe('l."lifeDays"', "integer"), descending, status)
      : lineSections(TAG_KEY, false, status);
  }
  const unscored =
    column === "age"
      ? lineSections(always('l."installMiddle"', "date"), !descending, status)
      : lineSections(TAG_KEY, false, status);
  const { key, type } = RISK_KEYS[column];
  return [
    {
      drivenBy: "risks",
      where: "l.status = 'in-service'",
      key,
      keyType: type,
      tie: 'r."heaterId"',
      tieType: "uuid",
      descending,
    },
    ...unscored.map((section) => ({
      ...section,
      where: `${section.where} AND NOT EXISTS (
        SELECT FROM "HeaterRisk" scored WHERE scored."heaterId" = l."heaterId")`,
    })),
  ];
}

function lineSections(
  { key, type, canBeUnknown }: LineKey,
  descending: boolean,
  status: HeaterStatus,
): readonly RegisterSection[] {
  const known: RegisterSection = {
    drivenBy: "lines",
    where: `l.status = '${status}'${canBeUnknown ? ` AND ${key} IS NOT NULL` : ""}`,
    key,
    keyType: type,
    // The tag's own order has no ties.
    tie: key === TAG_KEY.key ? key : "l.tag",
    tieType: "text",
    descending,
  };
  if (!canBeUnknown) return [known];
  const unknown: RegisterSection = {
    ...known,
    where: `l.status = '${status}' AND ${key} IS NULL`,
    key: TAG_KEY.key,
    keyType: TAG_KEY.type,
    tie: TAG_KEY.key,
    descending: false,
  };
  return [known, unknown];
}

/** What a section is read from: with the risk only where its order or the filter asks for it. */
export function sectionSource({ drivenBy }: RegisterSection, filter: RegisterFilter): string {
  if (drivenBy === "risks") return RISK_AND_LINES;
  return asksForRisk(filter) ? REGISTER_SOURCE : LINES;
}

/** Whether the filter reads what stands in the index of every order, and few heaters may pass it. */
export function isIndexFilter({
  installKinds,
  readiness,
  ageFrom,
  ageTo,
}: RegisterFilter): boolean {
  return installKinds.length > 0 || readiness !== null || ageFrom !== null || ageTo !== null;
}

/**
 * Bounds on the sort value of the order by age that an age range implies, so that its index is entered
 * where the range begins. They are a little wide; the filter's own conditions are exact.
 */
export function impliedBounds(
  { drivenBy, key }: RegisterSection,
  { ageFrom, ageTo }: RegisterFilter,
  today: string,
  parameters: Parameters,
): readonly string[] {
  if (drivenBy !== "risks" || key !== RISK_KEYS.age.key) return [];
  const bound = (years: number, sign: string, asOf: "min" | "max", slack: number) =>
    `${key} ${sign} ${parameters.add(years)}::float8
      - (${today}::date - (SELECT ${asOf}("asOf") FROM "HeaterRisk")) / ${YEAR} + ${slack}`;
  return [
    ...(ageFrom === null ? [] : [bound(ageFrom, ">=", "min", -ROUNDING_YEARS)]),
    ...(ageTo === null ? [] : [bound(ageTo, "<=", "max", ROUNDING_YEARS)]),
  ];
}

function asksForRisk({ ageFrom, ageTo, chanceFrom, chanceTo }: RegisterFilter): boolean {
  return [ageFrom, ageTo, chanceFrom, chanceTo].some((bound) => bound !== null);
}

/** `ORDER BY` of a section, which its index has. */
export function sectionOrder({ key, tie, descending }: RegisterSection): string {
  const direction = descending ? "DESC" : "ASC";
  return `${key} ${direction}, ${tie} ${direction}`;
}

/** Order of the whole register within groups, where a group is sorted as it is read. */
export function plainOrder({ column, descending }: RegisterSort, today: string): string {
  const key =
    column === "age"
      ? ageSql(today)
      : column === "chance" || column === "loss"
        ? RISK_KEYS[column].key
        : LINE_KEYS[column].key;
  const byStatus = `l.status ${column === "status" && descending ? "DESC" : "ASC"}`;
  const direction = descending && column !== "status" ? "DESC" : "ASC";
  return `${byStatus}, ${key} ${direction} NULLS LAST, l.tag ${direction}`;
}

/** A double: PostgreSQL's exact decimals are an order of magnitude slower over many rows. */
const YEAR = `${DAYS_PER_YEAR}::float8`;
/** More than an age loses by rounding, in years. */
const ROUNDING_YEARS = 1e-6;

/** Age in years; `today` is a parameter's number. */
export function ageSql(today: string): string {
  return `CASE WHEN l.status = 'retired' THEN l."lifeDays" / ${YEAR}
    ELSE COALESCE(r."ageYears" + (${today}::date - r."asOf") / ${YEAR},
      (${today}::date - l."installMiddle") / ${YEAR}) END`;
}

/** Columns of a row as the register shows it, in the names of `RegisterRow`. */
export function rowColumns(today: string): string {
  return `l."heaterId" AS id, l.tag, l."propertyName", l."buildingName", l."unitLabel", l.floor, l.riser,
    l.technology, l.manufacturer, l.model, l."volumeGal", l."installEarliest", l."installLatest",
    l."installEvidence", l."installKind", ${ageSql(today)} AS "ageYears", l."hardnessMgPerLitre",
    r."failureProbability", r."expectedLossCents", l."lastVisitOn", l.status`;
}

export type FilterContext = {
  readonly today: CalendarDay;
  /** Ids that the longest word of the search was found in; null when they were not looked up. */
  readonly foundIds: readonly string[] | null;
};

/** The conditions of a filter, without its status: that is the sections' part. */
export function filterConditions(
  filter: RegisterFilter,
  { today, foundIds }: FilterContext,
  parameters: Parameters,
): readonly string[] {
  const conditions: string[] = [];
  const when = (isSet: boolean, condition: () => string) => {
    if (isSet) conditions.push(condition());
  };
  when(foundIds !== null, () => `l."heaterId" = ANY (${parameters.add(foundIds)}::uuid[])`);
  for (const word of searchWords(filter.search)) {
    // The planner takes LIKE for rare and would sort all that match; common words are met soon in order.
    conditions.push(`strpos(l."searchText", ${parameters.add(word)}) > 0`);
  }
  when(filter.propertyId !== null, () => `l."propertyId" = ${parameters.add(filter.propertyId)}`);
  when(filter.buildingId !== null, () => `l."buildingId" = ${parameters.add(filter.buildingId)}`);
  when(
    filter.technologies.length > 0,
    () => `l.technology = ANY (${parameters.add(filter.technologies)})`,
  );
  when(
    filter.installKinds.length > 0,
    () => `l."installKind" = ANY (${parameters.add(filter.installKinds)})`,
  );
  when(filter.places.length > 0, () => `l.place = ANY (${parameters.add(filter.places)})`);
  when(filter.missing.length > 0, () => `l.missing && ${parameters.add(filter.missing)}`);
  const age = (bound: number, sign: string) =>
    `${ageSql(parameters.add(today))} ${sign} ${parameters.add(bound)}`;
  const { ageFrom, ageTo, chanceFrom, chanceTo, readiness } = filter;
  if (ageFrom !== null) conditions.push(age(ageFrom, ">="));
  if (ageTo !== null) conditions.push(age(ageTo, "<="));
  const chance = (percent: number, sign: string) =>
    `r."failureProbability" ${sign} ${parameters.add(percent / 100)}`;
  if (chanceFrom !== null) conditions.push(chance(chanceFrom, ">="));
  if (chanceTo !== null) conditions.push(chance(chanceTo, "<="));
  if (readiness) {
    const item = parameters.add(readiness.item);
    // An equation would look rare to the planner, which would then sort all that match instead of
    // reading on in order.
    const says = (answer: string) =>
      `(l."surveyAnswers" & survey_mask(${item}, ${parameters.add(answer)})) > 0`;
    // What was never asked is not known either.
    conditions.push(
      readiness.answer === "unknown"
        ? `NOT (${says("yes")}) AND NOT (${says("no")})`
        : says(readiness.answer),
    );
  }
  return conditions;
}

/** The words of a search in lower case, the longest first. */
export function searchWords(search: string): readonly string[] {
  const words = search
    .toLowerCase()
    .split(/\s+/)
    .filter((word) => word !== "");
  return [...new Set(words)].sort((a, b) => b.length - a.length);
}

/** A LIKE pattern for text that contains `word` as it is. */
export function containsPattern(word: string): string {
  return `%${word.replace(/[\\%_]/g, (character) => `\\${character}`)}%`;
}
