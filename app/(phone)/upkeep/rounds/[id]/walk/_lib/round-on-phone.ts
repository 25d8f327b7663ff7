import type { TaskKind } from "@/lib/core/heaters/vocabulary";

/** A round as a phone holds it: plain data in the page, so that it is there without a signal. */
export type RoundOnPhone = {
  readonly id: string;
  readonly name: string;
  readonly property: string;
  readonly dayInWords: string;
  readonly status: "planned" | "done" | "cancelled";
  readonly stops: readonly StopOnPhone[];
};

export type StopOnPhone = {
  readonly id: string;
  readonly number: number;
  readonly building: string;
  readonly label: string;
  readonly floor: number | null;
  readonly arrive: string;
  readonly access: string | null;
  readonly status: "open" | "done" | "no-access";
  readonly minutes: number;
  readonly heaters: readonly HeaterOnPhone[];
  /** Keys of what is on the server for this stop, with who recorded it. */
  readonly entries: readonly {
    readonly key: string;
    readonly personName: string;
    readonly outcome: "done" | "no-access";
    readonly lines: readonly string[];
  }[];
};

export type HeaterOnPhone = {
  readonly id: string;
  readonly tag: string;
  readonly kind: string;
  readonly place: string;
  readonly tasks: readonly { readonly task: TaskKind; readonly minutes: number }[];
};
