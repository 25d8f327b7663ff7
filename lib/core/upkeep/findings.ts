import type { TaskKind } from "@/lib/core/heaters/vocabulary";

/** What a person can find on a task, best first. The words are ours. */
export const FINDINGS = {
  flush: ["clear", "some-sediment", "heavy-sediment"],
  "anode-inspection": ["protected", "spent"],
  "anode-replacement": ["replaced"],
  "relief-valve-test": ["works", "weeps", "stuck"],
  "expansion-tank-pressure": ["holds", "low", "waterlogged"],
  "burner-vent-check": ["clean", "dirty", "spillage"],
  "combustion-safety": ["pass", "fail"],
  "filter-condensate": ["clean", "dirty", "blocked"],
  "strap-check": ["sound", "loose", "missing"],
  "leak-sensor-test": ["works", "dead-battery", "fails"],
  "setpoint-mixing-check": ["in-range", "adjusted", "scald-risk"],
} as const satisfies Readonly<Record<TaskKind, readonly string[]>>;

export type Finding = (typeof FINDINGS)[TaskKind][number];

export const FINDING_LABELS: Readonly<Record<Finding, string>> = {
  clear: "Ran clear",
  "some-sediment": "Some sediment",
  "heavy-sediment": "Heavy sediment",
  protected: "Metal left on the anode",
  spent: "Anode spent",
  replaced: "New anode fitted",
  works: "Works",
  weeps: "Weeps after the test",
  stuck: "Does not open or close",
  holds: "Pressure holds",
  low: "Pressure low, set again",
  waterlogged: "Waterlogged",
  clean: "Clean",
  dirty: "Dirty, cleaned",
  spillage: "Flue gas spills into the room",
  pass: "Passed",
  fail: "Failed",
  blocked: "Blocked",
  sound: "Sound",
  loose: "Loose, tightened",
  missing: "Missing",
  "dead-battery": "Battery dead, changed",
  fails: "Does not work",
  "in-range": "In range",
  adjusted: "Adjusted",
  "scald-risk": "Tap hotter than 120 °F",
};

/** True when `finding` is one of the findings of `task`. */
export function isFindingOf(task: TaskKind, finding: string): finding is Finding {
  return (FINDINGS[task] as readonly string[]).includes(finding);
}
