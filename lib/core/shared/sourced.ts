/** How far a value may be trusted, said beside every value that is not the user's own. */
export type Evidence =
  /** Seen in the document named. */
  | "published"
  /** Seen quoted by another document than the one it comes from. */
  | "quoted"
  /** Common practice of the trade, no source. */
  | "trade"
  /** From memory; to be checked before it is relied on. */
  | "memory"
  /** An assumption of ours, to be edited by the user. */
  | "assumed"
  /** Entered by the user. */
  | "entered";

/** A number with its unit and where it comes from, as a screen shows it when the figure is opened. */
export type SourcedValue = {
  readonly value: number;
  readonly unit: string;
  readonly source: string;
  readonly evidence: Evidence;
};
