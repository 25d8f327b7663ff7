import type { Technology } from "@/lib/core/heaters/vocabulary";
import { isCombustion, isHeatPump } from "@/lib/core/heaters/vocabulary";
import {
  addDays,
  addMonths,
  type CalendarDay,
  maxDay,
  minDay,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import type { Problem } from "@/lib/core/shared/outcome";
import { BTU_PER_KWH } from "@/lib/core/shared/units";
import type { Assumption } from "./assumptions";
import type { ColumnMapping } from "./column-mapping";
import {
  type HEATER_COLUMNS,
  HEATER_FIELDS,
  type HeaterField,
  heaterColumn,
} from "./heater-columns";
import type { HeaterRecord } from "./heater-record";
import { type DateBracket, describeBracket } from "./parse-date";
import type { Measured } from "./parse-number";
import { UNITS } from "./quantities";
import {
  type CellReader,
  type CellReading,
  type CellValues,
  createCellReader,
  round,
} from "./read-cell";
import { resolveTechnology } from "./resolve-technology";

/** A row of a file: its number as a spreadsheet program shows it, its cells as text. */
export type TableRow = { readonly rowNumber: number; readonly cells: readonly string[] };

/** A row once read: a record, or every reason why there is none. */
export type HeaterRow = TableRow & {
  readonly record: HeaterRecord | null;
  readonly problems: readonly Problem[];
  readonly assumptions: readonly Assumption[];
};

export type HeaterRowOptions = {
  readonly today: CalendarDay;
  /** The workbook counts its days from 1904. */
  readonly uses1904: boolean;
  /** True for a tag on record: its row may leave out place and type, which then stay as they are. */
  readonly isKnownTag?: (tag: string) => boolean;
};

/** No tank heater of apartments is older; what is, is a slip (common practice, no source). */
const EARLIEST_INSTALL = "1940-01-01" as CalendarDay;
const LONGEST_TAG = heaterColumn("tag").maxLength ?? 60;

type FieldValue<F extends HeaterField> = (typeof HEATER_COLUMNS)[F] extends {
  readonly quantity: "power";
}
  ? Measured
  : CellValues[(typeof HEATER_COLUMNS)[F]["kind"]];
type FieldValues = { readonly [F in HeaterField]?: FieldValue<F> | null };

type ColumnReader = {
  readonly index: number;
  readonly field: HeaterField;
  readonly read: CellReader;
  readonly fillDown: boolean;
  readonly constant: CellReading | null;
  above: string;
};

/**
 * A reader of a file's rows, to be called once for each row in order (it remembers tags, to name
 * both rows of a double, and the cell above, to fill down). It answers null for rows to be passed
 * over: empty ones and repeated headings.
 */
export function createHeaterRowReader(
  headers: readonly string[],
  mapping: ColumnMapping,
  options: HeaterRowOptions,
): (row: TableRow) => HeaterRow | null {
  const columns = columnReaders(mapping, options);
  const headerOf = new Map(columns.map(({ field, index }) => [field, headers[index]] as const));
  const hasBuildingColumn = headerOf.has("building");
  const rowOfTag = new Map<string, number>();

  return ({ rowNumber, cells }) => {
    if (isPassedOver(cells, headers)) return null;
    const problems = new RowProblems(rowNumber, headerOf);
    const assumptions: Assumption[] = [];
    const values = readCells(columns, cells, problems);
    refuseSurplusCells(cells, headers.length, problems);

    const property = values.property ?? null;
    let building = values.building ?? null;
    if (building === null && property !== null && !hasBuildingColumn) {
      building = property;
      assumptions.push("building-is-property");
    }
    const tag = settleTag(values, building, assumptions, problems);
    const isKnown = tag !== null && (options.isKnownTag?.(tag) ?? false);
    if (!isKnown) {
      if (property === null && !problems.has("property")) {
        problems.add("property", "property is missing");
      }
      if (building === null && property !== null && !problems.has("building")) {
        problems.add("building", "building is missing");
      }
    }
    const kind = settleTechnology(values, isKnown, assumptions, problems);
    const input = settleInput(values, kind.technology, problems);
    checkVolume(values, problems);
    checkEnergyFactor(values, kind.technology, problems);
    const install = settleInstall(values, options.today, problems);
    const retirement = settleRetirement(values, install, options.today, problems);
    const lastFlush = settleCareDay(
      "lastFlush",
      values,
      install,
      options.today,
      assumptions,
      problems,
    );
    const lastAnodeReplacement = settleCareDay(
      "lastAnodeReplacement",
      values,
      install,
      options.today,
      assumptions,
      problems,
    );
    if (values.place === "other") assumptions.push("place-other");
    if (tag !== null) refuseDouble(tag, rowNumber, rowOfTag, assumptions, problems);

    if (problems.list.length > 0 || tag === null) {
      return { rowNumber, cells, record: null, problems: problems.list, assumptions: [] };
    }
    const record: HeaterRecord = {
      tag,
      property,
      building,
      unit: values.unit ?? null,
      floor: values.floor ?? null,
      riser: values.riser ?? null,
      bedrooms: values.bedrooms ?? null,
      bathrooms: values.bathrooms ?? null,
      occupants: values.occupants ?? null,
      homesServed: values.homesServed ?? null,
      technology: kind.technology,
      fuel: kind.fuel,
      installEarliest: install.earliest,
      installLatest: install.latest,
      installEvidence: values.installEvidence ?? null,
      manufacturer: values.manufacturer ?? null,
      model: values.model ?? null,
      serial: values.serial ?? null,
      volumeGal: values.volume ?? null,
      inputBtuPerHour: input.btuPerHour,
      inputWatts: input.watts,
      uniformEnergyFactor: values.uniformEnergyFactor ?? null,
      firstHourGal: values.firstHour ?? null,
      place: values.place ?? null,
      overFinishedSpace: values.overFinishedSpace ?? null,
      drainPan: values.drainPan ?? null,
      leakShutoff: values.leakShutoff ?? null,
      closedSystem: values.closedSystem ?? null,
      expansionControl: values.expansionControl ?? null,
      mixingValve: values.mixingValve ?? null,
      setpointF: values.setpoint ?? null,
      warrantyYears: values.warrantyYears ?? null,
      hardnessMgPerLitre: values.hardness ?? null,
      softened: values.softened ?? null,
      lastFlush,
      lastAnodeReplacement,
      status: retirement.status,
      retiredEarliest: retirement.earliest,
      retiredLatest: retirement.latest,
      retirementCause: values.retirementCause ?? null,
      notes: values.notes ?? null,
    };
    return { rowNumber, cells, record, problems: problems.list, assumptions };
  };
}

/** The problems of one row, each under the heading of its column. */
class RowProblems {
  readonly list: Problem[] = [];
  readonly #fields: (HeaterField | null)[] = [];
  readonly #rowNumber: number;
  readonly #headerOf: ReadonlyMap<HeaterField, string | undefined>;

  constructor(rowNumber: number, headerOf: ReadonlyMap<HeaterField, string | undefined>) {
    this.#rowNumber = rowNumber;
    this.#headerOf = headerOf;
  }

  /** `field` null is the row as a whole. */
  add(field: HeaterField | null, message: string): void {
    const path = field === null ? "row" : this.#headerOf.get(field) || heaterColumn(field).label;
    this.list.push({ path, message: `row ${this.#rowNumber}: ${message}` });
    this.#fields.push(field);
  }

  has(field: HeaterField): boolean {
    return this.#fields.includes(field);
  }
}

function columnReaders(mapping: ColumnMapping, options: HeaterRowOptions): ColumnReader[] {
  const readers: ColumnReader[] = [];
  const todayYear = yearOf(options.today);
  const readerOf = (field: HeaterField, match: ColumnMapping["matches"][number]) =>
    createCellReader(heaterColumn(field), {
      unit: match?.unit ?? null,
      dateOrder: match?.dateOrder ?? "mdy",
      todayYear,
      uses1904: options.uses1904,
    });
  mapping.matches.forEach((match, index) => {
    if (!match) return;
    const read = readerOf(match.field, match);
    const constant = mapping.constants[match.field];
    readers.push({
      index,
      field: match.field,
      read,
      fillDown: match.fillDown,
      constant: constant ? read(constant) : null,
      above: "",
    });
  });
  for (const field of HEATER_FIELDS) {
    const constant = mapping.constants[field];
    if (!constant || mapping.matches.some((match) => match?.field === field)) continue;
    const read = readerOf(field, null);
    readers.push({ index: -1, field, read, fillDown: false, constant: read(constant), above: "" });
  }
  return readers;
}

function readCells(
  columns: readonly ColumnReader[],
  cells: readonly string[],
  problems: RowProblems,
): FieldValues {
  const values: { [F in HeaterField]?: unknown } = {};
  for (const column of columns) {
    let text = cells[column.index] ?? "";
    if (column.fillDown) {
      if (text.trim() === "") text = column.above;
      else column.above = text;
    }
    let reading = column.read(text);
    if (column.constant && "value" in reading && reading.value === null) reading = column.constant;
    if ("problem" in reading) problems.add(column.field, reading.problem);
    else values[column.field] = reading.value;
  }
  // Each reader was made for its field's kind, which is what FieldValue says.
  return values as FieldValues;
}

/** True for rows without a text and for rows that repeat the headings, as printed pages do. */
function isPassedOver(cells: readonly string[], headers: readonly string[]): boolean {
  return (
    cells.every((cell) => cell === "" || cell.trim() === "") || repeatsHeadings(cells, headers)
  );
}

function repeatsHeadings(cells: readonly string[], headers: readonly string[]): boolean {
  return headers.every((header, index) => (cells[index] ?? "").trim() === header);
}

function refuseSurplusCells(
  cells: readonly string[],
  columnCount: number,
  problems: RowProblems,
): void {
  for (let index = columnCount; index < cells.length; index += 1) {
    if ((cells[index] as string).trim() === "") continue;
    problems.add(
      null,
      `has a value in column ${index + 1}, beyond the ${columnCount} headings; a value may hold a separator without quotes around it`,
    );
    return;
  }
}

/** What a tag is read or made from; where one of them cannot be read, that alone is the problem. */
const TAG_FIELDS = ["tag", "property", "building", "unit"] as const;

function settleTag(
  values: FieldValues,
  building: string | null,
  assumptions: Assumption[],
  problems: RowProblems,
): string | null {
  if (values.tag) return values.tag;
  if (TAG_FIELDS.some((field) => problems.has(field))) {
    return null;
  }
  const property = values.property;
  const unit = values.unit;
  if (!property || !building || !unit) {
    problems.add(
      "tag",
      "tag is missing, and property, building and unit to make one from are not all given",
    );
    return null;
  }
  const parts = building === property ? [property, unit] : [property, building, unit];
  const made = parts.join("/");
  if (made.length > LONGEST_TAG) {
    problems.add(
      "tag",
      `tag is missing, and "${made.slice(0, 30)}…" made from property, building and unit is too long`,
    );
    return null;
  }
  assumptions.push("tag-made");
  return made;
}

function refuseDouble(
  tag: string,
  rowNumber: number,
  rowOfTag: Map<string, number>,
  assumptions: readonly Assumption[],
  problems: RowProblems,
): void {
  const key = tag.toLowerCase();
  const earlier = rowOfTag.get(key);
  if (earlier === undefined) {
    rowOfTag.set(key, rowNumber);
    return;
  }
  problems.add(
    "tag",
    assumptions.includes("tag-made")
      ? `tag is missing, and "${tag}" made from property, building and unit is already that of row ${earlier}`
      : `tag "${tag}" is already that of row ${earlier}`,
  );
}

function settleTechnology(
  values: FieldValues,
  isKnown: boolean,
  assumptions: Assumption[],
  problems: RowProblems,
): Pick<HeaterRecord, "technology" | "fuel"> {
  const words = values.technology ?? null;
  const fuel = values.fuel ?? null;
  if (problems.has("technology") || problems.has("fuel")) return { technology: null, fuel: null };
  if (words === null && fuel === null) {
    if (!isKnown) problems.add("technology", "type is missing");
    return { technology: null, fuel: null };
  }
  // A fuel alone says nothing of the type of a heater that is on record.
  if (words === null && isKnown) return { technology: null, fuel };
  const resolved = resolveTechnology(words, fuel, values.volume ?? null);
  if ("problem" in resolved) {
    problems.add(resolved.problem.startsWith("fuel") ? "fuel" : "technology", resolved.problem);
    return { technology: null, fuel: null };
  }
  assumptions.push(...resolved.assumptions);
  return { technology: resolved.technology, fuel: resolved.fuel };
}

/** Limits for a heater of one home and for a plant of many (common practice, no source). */
const VOLUME_LIMIT_GAL = { one: 200, many: 10_000 };
const BURNER_LIMITS_BTU_PER_HOUR = { low: 5_000, one: 400_000, many: 5_000_000 };
const ELECTRIC_LIMITS_WATTS = { low: 150, one: 40_000, many: 1_000_000 };

function checkVolume(values: FieldValues, problems: RowProblems): void {
  const volumeGal = values.volume ?? null;
  if (volumeGal === null || servesMany(values) || volumeGal <= VOLUME_LIMIT_GAL.one) return;
  problems.add(
    "volume",
    `volume ${round(volumeGal)} gal is more than a heater of one home holds (${VOLUME_LIMIT_GAL.one} gal); say in homes served how many it serves`,
  );
}

function servesMany(values: FieldValues): boolean {
  return (values.homesServed ?? 1) > 1;
}

function settleInput(
  values: FieldValues,
  technology: Technology | null,
  problems: RowProblems,
): { readonly btuPerHour: number | null; readonly watts: number | null } {
  const burns = technology === null ? null : isCombustion(technology);
  let btuPerHour: number | null = null;
  let watts: number | null = null;
  for (const field of ["inputBtuPerHour", "inputWatts", "input"] as const) {
    const given = values[field];
    if (!given) continue;
    const unit = given.unit ?? (burns === null ? null : burns ? "Btu/h" : "W");
    if (unit === null) {
      if (problems.has("technology") || problems.has("fuel")) continue;
      problems.add(field, "input names no unit, and there is no type to tell Btu/h from watts");
      continue;
    }
    const givenBtuPerHour = UNITS[unit].toRecord(given.value);
    const isBurner = burns ?? (unit === "Btu/h" || unit === "kBtu/h");
    if (isBurner) {
      // The column of burner input goes before any other.
      btuPerHour ??= unit === "Btu/h" ? given.value : givenBtuPerHour;
      checkInput(field, givenBtuPerHour, "Btu/h", BURNER_LIMITS_BTU_PER_HOUR, values, problems);
    } else {
      const givenWatts = unit === "W" ? given.value : (givenBtuPerHour / BTU_PER_KWH) * 1000;
      watts ??= givenWatts;
      checkInput(field, givenWatts, "W", ELECTRIC_LIMITS_WATTS, values, problems);
    }
  }
  return { btuPerHour, watts };
}

function checkInput(
  field: HeaterField,
  value: number,
  unit: string,
  limits: { readonly low: number; readonly one: number; readonly many: number },
  values: FieldValues,
  problems: RowProblems,
): void {
  const high = servesMany(values) ? limits.many : limits.one;
  if (value >= limits.low && value <= high) return;
  const hint =
    value > high && value <= limits.many
      ? "; say in homes served how many it serves"
      : value > 0 && value * 1000 >= limits.low && value < limits.low
        ? "; if it is in thousands, name the unit in the heading or choose it in the matching"
        : "";
  problems.add(
    field,
    `input ${round(value)} ${unit} is outside ${limits.low} to ${high} ${unit}${hint}`,
  );
}

/** By their tests, burners and resistance stay at or below 1 and heat pumps come out above. */
function checkEnergyFactor(
  values: FieldValues,
  technology: Technology | null,
  problems: RowProblems,
): void {
  const factor = values.uniformEnergyFactor ?? null;
  if (factor === null || technology === null) return;
  if (isHeatPump(technology) ? factor <= 1 : factor > 1) {
    problems.add(
      "uniformEnergyFactor",
      `UEF ${factor} contradicts the type: a heat pump has more than 1, all others at most 1`,
    );
  }
}

const OPEN: DateBracket = { earliest: null, latest: null };

function settleInstall(
  values: FieldValues,
  today: CalendarDay,
  problems: RowProblems,
): DateBracket {
  const given: readonly (readonly [HeaterField, DateBracket | null | undefined])[] = [
    ["installDate", values.installDate],
    ["installYear", values.installYear],
    [
      "installEarliest",
      values.installEarliest && { earliest: values.installEarliest.earliest, latest: null },
    ],
    [
      "installLatest",
      values.installLatest && { earliest: null, latest: values.installLatest.latest },
    ],
  ];
  let known = OPEN;
  let knownFrom: HeaterField | null = null;
  for (const [field, bracket] of given) {
    if (!bracket) continue;
    const noun = heaterColumn(field).noun;
    if (bracket.earliest !== null && bracket.earliest > today) {
      problems.add(field, `${noun} ${describeBracket(bracket)} is in the future`);
      return OPEN;
    }
    if (bracket.latest !== null && bracket.latest < EARLIEST_INSTALL) {
      problems.add(
        field,
        `${noun} ${describeBracket(bracket)} is before ${EARLIEST_INSTALL.slice(0, 4)}`,
      );
      return OPEN;
    }
    const both = {
      earliest: laterOf(known.earliest, bracket.earliest),
      latest: earlierOf(known.latest, bracket.latest),
    };
    if (both.earliest !== null && both.latest !== null && both.earliest > both.latest) {
      problems.add(
        field,
        `${noun} ${describeBracket(bracket)} contradicts ${heaterColumn(knownFrom ?? field).noun} ${describeBracket(known)}`,
      );
      return OPEN;
    }
    known = both;
    knownFrom ??= field;
  }
  if (knownFrom === null && typeof values.ageYears === "number") {
    known = bracketOfAge(values.ageYears, today);
  }
  if (known.latest !== null) known = { ...known, latest: minDay(known.latest, today) };
  return known;
}

/** Whole years of age leave a year open: a heater of 8 was put in between 9 and 8 years ago. */
function bracketOfAge(ageYears: number, today: CalendarDay): DateBracket {
  const months = Math.round(ageYears * 12);
  const span = Number.isInteger(ageYears) ? 12 : 1;
  return {
    earliest: addDays(addMonths(today, -months - span), 1),
    latest: addMonths(today, -months),
  };
}

function settleRetirement(
  values: FieldValues,
  install: DateBracket,
  today: CalendarDay,
  problems: RowProblems,
): Pick<HeaterRecord, "status"> & DateBracket {
  const given = values.retiredOn ?? null;
  const status = values.status ?? (given ? "retired" : null);
  if (status === "retired" && (given === null || given.latest === null)) {
    if (given === null)
      problems.add("retiredOn", "status is retired, and no retirement date is given");
    else problems.add("retiredOn", `retirement date ${describeBracket(given)} has no end`);
  }
  if (status === "in-service" && given !== null) {
    problems.add("status", "status is in service, and yet there is a retirement date");
  }
  if (given === null) return { status, ...OPEN };
  if (given.earliest !== null && given.earliest > today) {
    problems.add("retiredOn", `retirement date ${describeBracket(given)} is in the future`);
  }
  if (install.earliest !== null && given.latest !== null && given.latest < install.earliest) {
    problems.add(
      "retiredOn",
      `retirement date ${describeBracket(given)} is before the install date ${describeBracket(install)}`,
    );
  }
  return {
    status,
    earliest: given.earliest ?? install.earliest,
    latest: given.latest && minDay(given.latest, today),
  };
}

function settleCareDay(
  field: "lastFlush" | "lastAnodeReplacement",
  values: FieldValues,
  install: DateBracket,
  today: CalendarDay,
  assumptions: Assumption[],
  problems: RowProblems,
): CalendarDay | null {
  const given = values[field];
  if (!given) return null;
  const noun = heaterColumn(field).noun;
  if (given.earliest === null) {
    problems.add(field, `${noun} ${describeBracket(given)} has no beginning`);
    return null;
  }
  if (given.earliest > today) {
    problems.add(field, `${noun} ${describeBracket(given)} is in the future`);
    return null;
  }
  if (install.earliest !== null && given.latest !== null && given.latest < install.earliest) {
    problems.add(
      field,
      `${noun} ${describeBracket(given)} is before the install date ${describeBracket(install)}`,
    );
    return null;
  }
  if (given.earliest === given.latest) return given.earliest;
  assumptions.push("care-day-earliest");
  // Within the month or year of the install, care cannot have come before it.
  return install.earliest === null ? given.earliest : maxDay(given.earliest, install.earliest);
}

function laterOf(a: CalendarDay | null, b: CalendarDay | null): CalendarDay | null {
  return a === null ? b : b === null ? a : maxDay(a, b);
}

function earlierOf(a: CalendarDay | null, b: CalendarDay | null): CalendarDay | null {
  return a === null ? b : b === null ? a : minDay(a, b);
}
