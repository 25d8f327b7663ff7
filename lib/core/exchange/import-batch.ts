import type { Answer } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { Assumption } from "./assumptions";
import type { ColumnProfile } from "./column-profile";
import type { ColumnGuess } from "./guess-columns";
import type { ChangeField } from "./record-changes";

/** What a batch keeps of its file besides the rows. */
export type ImportFile = {
  readonly format: "csv" | "xlsx";
  readonly byteCount: number;
  /** Encoding and delimiter of a CSV; null for a workbook. */
  readonly dialect: { readonly encoding: string; readonly delimiter: string } | null;
  readonly sheetName: string | null;
  readonly sheetNames: readonly string[];
  readonly headerRowNumber: number;
  readonly uses1904: boolean;
};

/** A column of the file: its guess carries the heading. */
export type ImportColumn = { readonly profile: ColumnProfile; readonly guess: ColumnGuess };

export type ImportOptions = {
  /** One refused row keeps all rows out. */
  readonly allOrNothing: boolean;
  /**
   * Day since when the file holds every heater that left service; null where nobody has said so.
   * The new heaters are then watched from that day (left truncation); else from the day of import.
   */
  readonly endsOnRecordSince: CalendarDay | null;
};

export const DEFAULT_IMPORT_OPTIONS: ImportOptions = {
  allOrNothing: false,
  endsOnRecordSince: null,
};

/** What becomes of a row. */
export type Verdict = "add" | "change" | "same" | "refuse" | "pass-over";

/** How a chunk of rows notes each verdict. */
export const VERDICT_LETTERS: Readonly<Record<Verdict, string>> = {
  add: "a",
  change: "c",
  same: "s",
  refuse: "r",
  "pass-over": "x",
};

export type VerdictCounts = Readonly<Record<Verdict, number>>;

/** A count with the first few names, for a list that may be long. */
export type NameList = { readonly count: number; readonly names: readonly string[] };

/** A property's water as the file gives it. */
export type WaterNote = {
  readonly propertyId: string;
  readonly property: string;
  readonly before: WaterFacts | null;
  readonly after: WaterFacts;
  /** Lowest and highest hardness that its rows give, where they differ. */
  readonly spread: readonly [low: number, high: number] | null;
  /** The test of the same day that the batch corrected instead of adding one. */
  readonly correctedTestId?: string;
};

export type WaterFacts = {
  /** Total hardness in mg/L as CaCO3. */
  readonly hardnessMgPerLitre: number | null;
  readonly softened: Answer;
};

/** What a check found beyond the counts. */
export type ImportSummary = {
  readonly passedOver: number;
  readonly assumptions: Readonly<Partial<Record<Assumption, number>>>;
  readonly changedFields: Readonly<Partial<Record<ChangeField, number>>>;
  readonly newProperties: NameList;
  readonly newBuildings: NameList;
  readonly newHomes: NameList;
  /** Homes on record whose floor, riser, rooms or occupants change. */
  readonly changedHomes: number;
  readonly waters: readonly WaterNote[];
  readonly careDays: number;
  /** New heaters that the file gives as retired, and the first day one of them was. */
  readonly retired: { readonly count: number; readonly firstDay: CalendarDay | null };
  readonly undone: UndoNote | null;
};

/** What an undo did, and what it left. */
export type UndoNote = {
  readonly removedHeaters: number;
  readonly restoredHeaters: number;
  readonly removedHomes: number;
  readonly removedBuildings: number;
  readonly removedProperties: number;
  readonly keptCount: number;
  readonly kept: readonly KeptHeater[];
};

export type KeptHeater = {
  readonly heaterId: string;
  readonly tag: string;
  readonly reason: KeptReason;
};

/** Why an undo leaves a heater as it is. */
export type KeptReason = "edited" | "visited" | "surveyed" | "retired" | "succeeded" | "planned";

export const KEPT_REASON_SENTENCES: Readonly<Record<KeptReason, string>> = {
  edited: "was changed after this file was brought in",
  visited: "has visits recorded since",
  surveyed: "has survey answers recorded since",
  retired: "was retired since",
  succeeded: "another heater succeeds it",
  planned: "is named in a round or another entry made since",
};

/** Names kept of a list that is only counted beyond them. */
export const NAMES_KEPT = 60;
