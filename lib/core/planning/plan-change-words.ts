import { formatCents } from "@/lib/core/shared/money";
import type { ChangeReason, ComparedLine, PlanLineChange } from "./plan-changes";

/** What options are called; a code without a name stands for itself. */
export type OptionNames = Readonly<Record<string, string>>;

/** What happened to a line: `moved from 2027 Q2 to 2028 Q1`. */
export function changeInWords(
  { kind, before, after }: PlanLineChange,
  optionNames: OptionNames,
): string {
  const name = (line: ComparedLine | null) => optionName(line?.option ?? "", optionNames);
  const when = (line: ComparedLine | null) => periodInWords(line?.period ?? "");
  switch (kind) {
    case "moved":
      return `moved from ${when(before)} to ${when(after)}`;
    case "option":
      return `option changed from ${name(before)} to ${name(after)}, ${when(after)}`;
    case "moved-and-option":
      return `moved from ${when(before)} to ${when(after)}, and from ${name(before)} to ${name(after)}`;
    case "new":
      return `new line: ${name(after)} in ${when(after)}`;
    case "left":
      return `no longer replaced within the horizon; was ${when(before)}`;
    case "gone":
      return `dropped; was ${when(before)}`;
  }
}

/** Why, as one clause without a full stop. */
export function reasonInWords(reason: ChangeReason, optionNames: OptionNames): string {
  switch (reason.kind) {
    case "out-of-service":
      return `it ${reason.wasEmergency ? "failed and " : ""}was ${reason.isReplaced ? "replaced" : "taken out of service"} on ${reason.day}`;
    case "done":
      return `it was done on ${reason.day}`;
    case "given-up":
      return "the line had been dropped by a person";
    case "not-planned-for":
      return "its heater is not in the record that was planned for";
    case "new-heater":
      return "the heater was not in the earlier plan";
    case "period-passed":
      return `${periodInWords(reason.period)} has passed`;
    case "option-not-allowed":
      return `${optionName(reason.option, optionNames)} is no longer allowed here${reason.why === null ? "" : `: ${reason.why}`}`;
    case "not-possible-then":
      return `${optionName(reason.option, optionNames)} is not possible in ${periodInWords(reason.period)} any more`;
    case "budget": {
      const isLower =
        reason.afterCents !== null &&
        (reason.beforeCents === null || reason.afterCents < reason.beforeCents);
      return `the budget of ${reason.year} is ${isLower ? "lower" : "higher"}: ${money(reason.afterCents)} instead of ${money(reason.beforeCents)}`;
    }
    case "chance":
      return `its chance of failing within a year ${reason.after > reason.before ? "rose" : "fell"} from ${percent(reason.before)} to ${percent(reason.after)}`;
    case "cheaper":
      return `it saves ${money(Math.round(reason.savesCents))} in present value at this heater`;
    case "makes-room":
      return `it costs ${reason.costsCents < 100 ? "no" : money(Math.round(reason.costsCents))} more at this heater and makes room for what saves more elsewhere, or keeps a limit`;
  }
}

/** `2027-Q2` is read as `2027 Q2`. */
export function periodInWords(period: string): string {
  return period.replace("-", " ");
}

function optionName(code: string, names: OptionNames): string {
  return names[code] ?? code;
}

function money(cents: number | null): string {
  return cents === null ? "no limit" : formatCents(cents, { whole: true });
}

function percent(share: number): string {
  return `${(share * 100).toFixed(1)} %`;
}
