import type { HazardousAct } from "@/lib/core/heaters/cautions";
import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import type { Finding } from "./findings";

/** What cannot wait for the next round, the most pressing first. */
export const URGENT_KINDS = ["gas-smell", "flue-gas", "leak", "scald", "relief-valve"] as const;
export type UrgentKind = (typeof URGENT_KINDS)[number];

export const URGENT_LABELS: Readonly<Record<UrgentKind, string>> = {
  "gas-smell": "Gas smell",
  "flue-gas": "Flue gas in the room",
  leak: "Leak",
  scald: "Tap hot enough to scald",
  "relief-valve": "Relief valve failed",
};

/** What to do first, before anything is written down. The cautions say the rest. */
export const URGENT_FIRST: Readonly<Record<UrgentKind, string>> = {
  "gas-smell":
    "Leave now and take everybody with you. No switch, no flame, no phone inside. Call the gas company or 911 from outside.",
  "flue-gas":
    "Get everybody into fresh air. Shut the heater off if you can do it on the way out. Call 911 if anybody is dizzy or has a headache.",
  leak: "Shut off the cold water to the heater and its power or gas. Keep out of hot or standing water near anything electric.",
  scald:
    "Tell the residents now: no child and no old person alone at this tap. Have the mixing valve or the setpoint put right today.",
  "relief-valve":
    "Do not plug or cap the valve. Keep away from its discharge; shut the heater off where it does not open. The valve is replaced before the heater goes on.",
};

/** The cautions that belong to each, the first one first. */
export const URGENT_CAUTIONS: Readonly<Record<UrgentKind, readonly HazardousAct[]>> = {
  "gas-smell": ["gas-capoff"],
  "flue-gas": ["combustion-air"],
  leak: ["electrical", "setpoint"],
  scald: ["setpoint", "legionella"],
  "relief-valve": ["relief-valve"],
};

/**
 * Hottest tap that raises nothing, degrees Fahrenheit: the scald-limit setpoint that the CPSC
 * recommends, as quoted. A tap may be limited lower where children or old people live.
 */
export const SCALD_ABOVE_F = 120;

type FoundTask = { readonly task: TaskKind; readonly finding: Finding | null };

/**
 * The urgent matters of a visit: those named by the person, and those that a finding or a measured tap
 * is by itself. A relief valve that weeps or sticks has failed, flue gas that spills or a failed
 * combustion test can poison, a tap above 120 °F scalds.
 */
export function urgentMattersOf({
  named,
  tasks,
  tapF,
}: {
  readonly named: readonly UrgentKind[];
  readonly tasks: readonly FoundTask[];
  readonly tapF: number | null;
}): readonly UrgentKind[] {
  const found = new Set<UrgentKind>(named);
  for (const { task, finding } of tasks) {
    const kind = finding === null ? null : urgentByFinding(task, finding);
    if (kind !== null) found.add(kind);
  }
  if (tapF !== null && tapF > SCALD_ABOVE_F) found.add("scald");
  return URGENT_KINDS.filter((kind) => found.has(kind));
}

/** The urgent matter that a finding is by itself, or null. */
export function urgentByFinding(task: TaskKind, finding: Finding): UrgentKind | null {
  if (task === "relief-valve-test" && (finding === "stuck" || finding === "weeps")) {
    return "relief-valve";
  }
  if (finding === "spillage" || (task === "combustion-safety" && finding === "fail")) {
    return "flue-gas";
  }
  return finding === "scald-risk" ? "scald" : null;
}
