import type { HazardousAct } from "@/lib/core/heaters/cautions";
import type { TaskKind } from "@/lib/core/heaters/vocabulary";

const CAUTION_OF_TASK: Readonly<Record<TaskKind, HazardousAct | null>> = {
  flush: "setpoint",
  "anode-inspection": "setpoint",
  "anode-replacement": "setpoint",
  "relief-valve-test": "relief-valve",
  "expansion-tank-pressure": null,
  "burner-vent-check": "combustion-air",
  "combustion-safety": "combustion-air",
  "filter-condensate": "electrical",
  "strap-check": null,
  "leak-sensor-test": null,
  "setpoint-mixing-check": "setpoint",
};

/** The caution that belongs beside a task, or null; lib/core/heaters/cautions.ts has its words. */
export function cautionOfTask(task: TaskKind): HazardousAct | null {
  return CAUTION_OF_TASK[task];
}
