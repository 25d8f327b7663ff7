import { normalizeHeading, normalizeWords } from "./cell-words";
import type { ColumnMapping, ColumnMatch, RememberedMapping } from "./column-mapping";
import { recallMapping } from "./column-mapping";
import type { ColumnProfile } from "./column-profile";
import { HEATER_FIELDS, type HeaterColumn, type HeaterField, heaterColumn } from "./heater-columns";
import { decideDateOrder } from "./parse-date";
import { findUnit, type Quantity, UNITS, type UnitCode } from "./quantities";
import { createCellReader } from "./read-cell";

/** What a column was taken for, how surely, and what a person should know about it. */
export type ColumnGuess = {
  readonly header: string;
  readonly match: ColumnMatch | null;
  /** From 0 to 1; below {@link SURE_ENOUGH} nothing is matched. */
  readonly confidence: number;
  /** Sentences about choices made for the whole column: units, order of dates, filling down. */
  readonly statements: readonly string[];
};

/** Least confidence with which a column is matched without being asked. */
export const SURE_ENOUGH = 0.5;

/** Rows at the top of a sheet among which the headings are looked for. */
export const HEADER_SEARCH_ROWS = 25;

/**
 * The place among a sheet's first rows of the row that holds the headings: the one most of whose
 * cells are names of columns that are known here; titles and blank lines may stand above it. Where
 * none is known, the first row with two or more cells.
 *
 * @returns null when no row has a cell
 */
export function findHeaderRow(rows: readonly (readonly string[])[]): number | null {
  let best: { index: number; score: number } | null = null;
  let firstWide: number | null = null;
  let firstFilled: number | null = null;
  for (const [index, cells] of rows.slice(0, HEADER_SEARCH_ROWS).entries()) {
    const filled = cells.filter((cell) => cell.trim() !== "");
    if (filled.length === 0) continue;
    firstFilled ??= index;
    if (filled.length >= 2) firstWide ??= index;
    const known = filled.filter((cell) => isKnownHeading(cell)).length;
    // A row of data can hold a word that is also a heading ("Closet"), a heading row mostly does.
    if (known === 0 || known < filled.length / 4) continue;
    const score = known + known / filled.length;
    if (!best || score > best.score) best = { index, score };
  }
  return best && (best.score >= 2.2 || firstWide === null)
    ? best.index
    : (firstWide ?? firstFilled);
}

/**
 * Guesses what each column holds, from its heading and from what its cells look like. A mapping that
 * was made by hand for the same headings overrides every guess.
 */
export function guessColumns(
  headers: readonly string[],
  profiles: readonly ColumnProfile[],
  {
    todayYear,
    remembered = null,
  }: {
    readonly todayYear: number;
    readonly remembered?: RememberedMapping | null;
  },
): readonly ColumnGuess[] {
  if (remembered) {
    const { matches } = recallMapping(headers, remembered);
    return headers.map((header, index) => ({
      header,
      match: matches[index] ?? null,
      confidence: matches[index] ? 1 : 0,
      statements: matches[index] ? ["matched as the last time a file had these headings"] : [],
    }));
  }
  const candidates = headers.flatMap((header, index) =>
    scoreColumn(header, profiles[index], todayYear).map((scored) => ({ ...scored, index })),
  );
  candidates.sort((a, b) => b.score - a.score || a.index - b.index);
  const fieldOf = new Map<number, { field: HeaterField; score: number }>();
  const taken = new Set<HeaterField>();
  for (const { index, field, score } of candidates) {
    if (score < SURE_ENOUGH || fieldOf.has(index) || taken.has(field)) continue;
    fieldOf.set(index, { field, score });
    taken.add(field);
  }
  return headers.map((header, index) => {
    const found = fieldOf.get(index);
    if (!found) return { header, match: null, confidence: 0, statements: [] };
    const column = heaterColumn(found.field);
    const profile = profiles[index];
    const { match, statements } = matchDetail(header, column, profile);
    const share = profile?.samples.length ? shareThatFits(column, header, profile, todayYear) : 1;
    const doubt =
      share < 0.8
        ? [`only ${Math.round(share * 100)} % of the cells looked at can be read so`]
        : [];
    return { header, match, confidence: found.score, statements: [...statements, ...doubt] };
  });
}

/** The mapping that the guesses amount to. */
export function mappingOfGuesses(
  guesses: readonly ColumnGuess[],
  remembered: RememberedMapping | null = null,
): ColumnMapping {
  return { matches: guesses.map((guess) => guess.match), constants: remembered?.constants ?? {} };
}

/**
 * How a column is read once its field is settled, by guess or by hand: unit, order of dates, whether
 * empty cells repeat the one above; with the sentences that say so.
 */
export function matchDetail(
  header: string,
  column: HeaterColumn,
  profile: ColumnProfile | undefined,
): { readonly match: ColumnMatch; readonly statements: readonly string[] } {
  const statements: string[] = [];
  let unit: UnitCode | null = null;
  if (column.quantity) {
    const named = unitOfHeading(header, column.quantity);
    const bySize = profile ? unitOfNumbers(column.field, named, profile.medianNumber) : null;
    unit = bySize ?? named;
    if (bySize) {
      statements.push(
        `${named ? "as they stand they are too small" : "no unit is named"} and the middle value is ${profile?.medianNumber}; read as ${UNITS[bySize].label}`,
      );
    }
  }
  let dateOrder: ColumnMatch["dateOrder"] = null;
  if (column.kind === "date" && profile) {
    const decision = decideDateOrder(profile.dateOrder);
    dateOrder = decision.order;
    if (decision.statement) statements.push(decision.statement);
  }
  const fillDown =
    (column.field === "property" || column.field === "building") &&
    profile !== undefined &&
    profile.startsFilled &&
    profile.longestGap >= 2;
  if (fillDown) statements.push("an empty cell repeats the one above it");
  return { match: { field: column.field, unit, dateOrder, fillDown }, statements };
}

type Score = { readonly field: HeaterField; readonly score: number };

function scoreColumn(
  header: string,
  profile: ColumnProfile | undefined,
  todayYear: number,
): readonly Score[] {
  const named = [...headingScores(header)].filter(([, score]) => score >= SURE_ENOUGH);
  if (named.length === 0) return profile ? contentScores(profile, todayYear) : [];
  // A clear heading keeps its column even where no cell fits: its rows are then refused by name,
  // which is better than data left out in silence.
  return named.map(([field, score]) => {
    const fits = profile?.samples.length
      ? shareThatFits(heaterColumn(field), header, profile, todayYear)
      : 1;
    return { field, score: Math.round(score * (0.55 + 0.45 * fits) * 100) / 100 };
  });
}

/** Words that add nothing to what a column is called. */
const FILLER = new Set([
  "the",
  "of",
  "wh",
  "water",
  "heater",
  "hwh",
  "dhw",
  "current",
  "no",
  "number",
  "in",
  "is",
  "a",
]);

function withoutFiller(words: readonly string[]): readonly string[] {
  const meaningful = words.filter((word) => !FILLER.has(word));
  return meaningful.length > 0 ? meaningful : words;
}

/** A way to head a field's column, as its meaningful words. */
type Name = { readonly field: HeaterField; readonly words: readonly string[] };

const FIELD_OF_NAME = new Map<string, HeaterField>();
const NAMES_BY_FIRST_WORD = new Map<string, Name[]>();
const VOCABULARY = new Set<string>();
for (const field of HEATER_FIELDS) {
  const { label, noun, synonyms } = heaterColumn(field);
  for (const text of new Set([label, noun, field, ...synonyms].map(normalizeHeading))) {
    if (!FIELD_OF_NAME.has(text)) FIELD_OF_NAME.set(text, field);
    const words = withoutFiller(text.split(" "));
    for (const word of words) VOCABULARY.add(word);
    const first = words[0] as string;
    NAMES_BY_FIRST_WORD.set(first, [...(NAMES_BY_FIRST_WORD.get(first) ?? []), { field, words }]);
  }
}

/** Headings are short; what is longer is a sentence. */
const LONGEST_HEADING = 80;

/** How well a heading names each field, from 0 to 1; fields that it does not name are left out. */
function headingScores(header: string): ReadonlyMap<HeaterField, number> {
  const scores = new Map<HeaterField, number>();
  if (header.length > LONGEST_HEADING) return scores;
  const heading = normalizeHeading(header);
  if (heading === "") return scores;
  const whole = FIELD_OF_NAME.get(heading) ?? FIELD_OF_NAME.get(normalizeWords(header));
  if (whole) scores.set(whole, 0.98);

  const written = withoutFiller(heading.split(" "));
  const given = written.map(nearestKnownWord);
  for (const word of new Set(given)) {
    for (const { field, words } of (word && NAMES_BY_FIRST_WORD.get(word)) || []) {
      if (!words.every((part) => given.includes(part))) continue;
      // All words of the name are there; words beyond it make it less sure.
      const isExact = words.every((part) => written.includes(part));
      const surplus = given.length - words.length;
      const score = Math.min(0.97, (isExact ? 0.93 : 0.8) - 0.14 * surplus + 0.01 * words.length);
      if (score > (scores.get(field) ?? 0)) scores.set(field, score);
    }
  }
  return scores;
}

function isKnownHeading(text: string): boolean {
  for (const score of headingScores(text).values()) if (score >= 0.75) return true;
  return false;
}

/** The word itself where headings use it, else one that is nearly the same, else null. */
function nearestKnownWord(word: string): string | null {
  if (VOCABULARY.has(word)) return word;
  if (word.length < 4) return null;
  for (const known of VOCABULARY) if (isNearly(word, known)) return known;
  return null;
}

/** One letter wrong, missing, doubled, or two exchanged, in a word of five or more. */
function isNearly(a: string, b: string): boolean {
  if (Math.max(a.length, b.length) < 5 || Math.abs(a.length - b.length) > 1) return false;
  let start = 0;
  while (start < a.length && a[start] === b[start]) start += 1;
  let end = 0;
  while (
    end < Math.min(a.length, b.length) - start &&
    a[a.length - 1 - end] === b[b.length - 1 - end]
  ) {
    end += 1;
  }
  const restA = a.length - start - end;
  const restB = b.length - start - end;
  if (restA <= 1 && restB <= 1) return true;
  return restA === 2 && restB === 2 && a[start] === b[start + 1] && a[start + 1] === b[start];
}

/** Share of the sampled cells that can be read as the field, in whatever unit and order. */
function shareThatFits(
  column: HeaterColumn,
  header: string,
  profile: ColumnProfile,
  todayYear: number,
): number {
  const { match } = matchDetail(header, column, profile);
  const read = createCellReader(column, {
    unit: match.unit,
    dateOrder: match.dateOrder ?? "mdy",
    todayYear,
    uses1904: false,
  });
  const fitting = profile.samples.filter((text) => !("problem" in read(text))).length;
  return fitting / profile.samples.length;
}

/** Weak scores for a column whose heading says nothing but whose cells are unmistakable. */
function contentScores(profile: ColumnProfile, todayYear: number): readonly Score[] {
  if (profile.samples.length < 2) return [];
  const allFit = (field: HeaterField) =>
    shareThatFits(heaterColumn(field), "", profile, todayYear) === 1;
  if (allFit("technology")) return [{ field: "technology", score: 0.52 }];
  if (allFit("fuel")) return [{ field: "fuel", score: 0.51 }];
  const isDates = profile.medianNumber === null && allFit("installDate");
  return isDates ? [{ field: "installDate", score: 0.5 }] : [];
}

/** The unit that a heading names: `Volume (L)`, `Input kBtu/h`, `Setpoint °C`. */
function unitOfHeading(header: string, quantity: Quantity): UnitCode | null {
  for (const bracketed of header.matchAll(/[([]([^)\]]{1,30})[)\]]/g)) {
    const unit = findUnit(bracketed[1] ?? "", quantity);
    if (unit) return unit;
  }
  const words = header
    .replace(/[()[\],;:_]/g, " ")
    .trim()
    .split(/\s+/);
  for (let index = words.length - 1; index >= 0; index -= 1) {
    const word = words[index] ?? "";
    const two = index > 0 ? findUnit(`${words[index - 1]}${word}`, quantity) : null;
    const unit = two ?? findUnit(word, quantity);
    if (unit) return unit;
  }
  return null;
}

/**
 * A unit told by size alone, where the heading is silent: a middle volume of 130 or more is in
 * litres (30 to 80 gal are 114 to 303 L), a setpoint below 70 in degrees Celsius. An input of less
 * than 500 Btu/h or 60 W is in thousands even where the heading says otherwise, as no heater is so
 * small (common practice, no source).
 */
function unitOfNumbers(
  field: HeaterField,
  named: UnitCode | null,
  median: number | null,
): UnitCode | null {
  if (median === null || median <= 0) return null;
  if (field === "volume" && named === null && median >= 130) return "L";
  if (field === "setpoint" && named === null && median < 70) return "C";
  if (field === "inputBtuPerHour" && (named ?? "Btu/h") === "Btu/h" && median < 500)
    return "kBtu/h";
  if (field === "inputWatts" && (named ?? "W") === "W" && median < 60) return "kW";
  return null;
}
