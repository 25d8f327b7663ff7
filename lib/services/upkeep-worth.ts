import type { Heater } from "@/lib/core/heaters/heater";
import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { type ConsequenceAssumptions, estimateLoss } from "@/lib/core/survival/consequence";
import type { SurvivalModel } from "@/lib/core/survival/model";
import { forecastFailure } from "@/lib/core/survival/predict";
import { anodeForecastOf, type DueTask } from "@/lib/core/upkeep/due-tasks";
import type { UpkeepRules } from "@/lib/core/upkeep/rules";
import { faultShare, type TaskWorth, worthOfTask } from "@/lib/core/upkeep/task-worth";
import type { WorkTerms } from "@/lib/core/upkeep/work-terms";
import type { SqlClient } from "@/lib/data/tenant";
import { countFaults } from "@/lib/data/upkeep";
import { loadCurrentModel } from "./risk-model";
import { loadAssumptions } from "./risk-scoring";

export type WorthContext = {
  readonly model: SurvivalModel;
  readonly assumptions: ConsequenceAssumptions;
  readonly work: WorkTerms;
  readonly today: CalendarDay;
  /** Share of checks that find the expansion tank low or waterlogged, and the leak sensor dead. */
  readonly expansionFaultShare: number;
  readonly sensorFaultShare: number;
};

export async function loadWorthContext(
  client: SqlClient,
  work: WorkTerms,
  today: CalendarDay,
): Promise<WorthContext> {
  return {
    model: await loadCurrentModel(client),
    assumptions: await loadAssumptions(client),
    work,
    today,
    expansionFaultShare: faultShare(
      await countFaults(client, "expansion-tank-pressure", ["low", "waterlogged"]),
    ),
    sensorFaultShare: faultShare(
      await countFaults(client, "leak-sensor-test", ["dead-battery", "fails"]),
    ),
  };
}

/**
 * What doing a task on a heater today is worth; null for tasks that guard people or comfort and are
 * not priced.
 *
 * The chance of failing until the task would come again is taken twice from the risk model, as the
 * record stands and as it would stand with the task done, times what a failure of this heater costs.
 * An inspection by itself changes nothing; it is worth that a spent anode is found and replaced. A
 * check of an expansion tank or a leak sensor is worth what a fault would cost, times how often checks
 * find one.
 */
export function worthOfDueTask(
  heater: Heater,
  due: DueTask,
  context: WorthContext,
  rules: UpkeepRules,
): TaskWorth | null {
  const years = Math.min(5, Math.max(1, due.intervalMonths / 12));
  const at = (one: Heater) => ({
    failureProbability: failureWithin(one, years, context),
    lossIfItFailsCents: estimateLoss(one, 1, context.assumptions).ifItFails.totalCents,
  });
  const { work, today } = context;
  const cost = (task: TaskKind) => ({
    minutes: work.taskMinutes[task].value,
    partsCents: work.taskPartsCents[task].value,
    labourCentsPerHour: work.labourCentsPerHour.value,
  });
  switch (due.task) {
    case "flush":
      return worthOfTask({
        without: at(heater),
        with: at(flushed(heater, today)),
        ...cost("flush"),
      });
    case "anode-replacement":
      return worthOfTask({
        without: at(heater),
        with: at(anodeReplaced(heater, today)),
        ...cost("anode-replacement"),
      });
    case "anode-inspection": {
      const spent = anodeForecastOf(heater, today, rules).chanceSpentToday;
      const found = at(anodeFoundSpent(heater, today));
      const renewed = at(anodeReplaced(heater, today));
      const [inspection, replacement] = [cost("anode-inspection"), cost("anode-replacement")];
      return worthOfTask({
        without: scaled(found, spent),
        with: scaled(renewed, spent),
        minutes: inspection.minutes + spent * replacement.minutes,
        partsCents: inspection.partsCents + spent * replacement.partsCents,
        labourCentsPerHour: inspection.labourCentsPerHour,
      });
    }
    case "expansion-tank-pressure": {
      if (heater.closedSystem === "no") return null;
      const share = context.expansionFaultShare;
      const without = at({ ...heater, closedSystem: "yes", expansionControl: "no" });
      return worthOfTask({
        without: scaled(without, share),
        with: scaled(at(heater), share),
        ...cost("expansion-tank-pressure"),
      });
    }
    case "leak-sensor-test": {
      const share = context.sensorFaultShare;
      return worthOfTask({
        without: scaled(at({ ...heater, leakShutoff: "no" }), share),
        with: scaled(at(heater), share),
        ...cost("leak-sensor-test"),
      });
    }
    case "relief-valve-test":
    case "burner-vent-check":
    case "combustion-safety":
    case "filter-condensate":
    case "strap-check":
    case "setpoint-mixing-check":
      return null;
  }
}

type At = { readonly failureProbability: number; readonly lossIfItFailsCents: number };

/** An outlook that matters only with a chance: as when the fault is there at all. */
function scaled(at: At, share: number): At {
  return { ...at, failureProbability: at.failureProbability * share };
}

function failureWithin(heater: Heater, years: number, { model, today }: WorthContext): number {
  return forecastFailure(model, heater, { today, horizonsYears: [years] }).failureProbabilities[0];
}

function flushed(heater: Heater, day: CalendarDay): Heater {
  const { care } = heater;
  return { ...heater, care: { ...care, flushDays: [...care.flushDays, day] } };
}

function anodeReplaced(heater: Heater, day: CalendarDay): Heater {
  const { care } = heater;
  return {
    ...heater,
    care: { ...care, anodeReplacementDays: [...care.anodeReplacementDays, day] },
  };
}

function anodeFoundSpent(heater: Heater, day: CalendarDay): Heater {
  return { ...heater, care: { ...heater.care, anodeInspection: { day, state: "spent" } } };
}
