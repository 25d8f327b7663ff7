import type { HazardousAct } from "@/lib/core/heaters/cautions";
import type { Heater, InstallDay, Water } from "@/lib/core/heaters/heater";
import {
  hasTank,
  isCombustion,
  isHeatPump,
  TASK_KINDS,
  TASK_LABELS,
  type TaskKind,
} from "@/lib/core/heaters/vocabulary";
import {
  addDays,
  addMonths,
  type CalendarDay,
  DAYS_PER_YEAR,
  daysBetween,
  maxDay,
  minDay,
} from "@/lib/core/shared/calendar-day";
import { type AnodeForecast, forecastAnode } from "./anode-forecast";
import type { LastFindings } from "./care-history";
import { FINDING_LABELS } from "./findings";
import { classifyHardness } from "./hardness";
import { anodeWaterFactor, DEFAULT_UPKEEP_RULES, type UpkeepRules } from "./rules";
import { cautionOfTask } from "./task-cautions";

/** `leave-alone`: not to be done on this tank any more; plan its replacement instead. */
export const DUE_STATES = ["overdue", "due", "soon", "later", "leave-alone"] as const;
export type DueState = (typeof DUE_STATES)[number];

export type DueTask = {
  readonly task: TaskKind;
  readonly dueOn: CalendarDay;
  readonly state: DueState;
  /** Months from one time to the next under present water and findings; 0 when due at once. */
  readonly intervalMonths: number;
  /** Why then, in a sentence. */
  readonly why: string;
  /** True when no record says that it was ever done. */
  readonly neverDone: boolean;
  /** The caution that belongs beside the task, in lib/core/heaters/cautions.ts. */
  readonly caution: HazardousAct | null;
};

/** What upkeep needs to know of a heater. */
export type UpkeepHeater = Pick<
  Heater,
  "technology" | "warrantyYears" | "expansionControl" | "leakShutoff" | "care"
> & {
  readonly install: Pick<InstallDay, "earliest" | "latest">;
  readonly water: Pick<Water, "hardnessMgPerLitre" | "softened">;
};

export type DueTerms = {
  readonly rules?: UpkeepRules;
  readonly lastFindings?: LastFindings;
};

/** True when the task belongs to a heater of this kind with these fittings. */
export function taskApplies(
  task: TaskKind,
  heater: Pick<Heater, "technology" | "expansionControl" | "leakShutoff">,
): boolean {
  switch (task) {
    case "anode-inspection":
    case "anode-replacement":
    case "relief-valve-test":
    case "strap-check":
      return hasTank(heater.technology);
    case "expansion-tank-pressure":
      return heater.expansionControl === "yes";
    case "burner-vent-check":
    case "combustion-safety":
      return isCombustion(heater.technology);
    case "filter-condensate":
      return isHeatPump(heater.technology);
    case "leak-sensor-test":
      return heater.leakShutoff === "yes";
    case "flush":
    case "setpoint-mixing-check":
      return true;
  }
}

/**
 * The recurring care of a heater with the day each task falls due: first what must be put right at
 * once, then the soonest.
 *
 * The interval is the base interval of the rules, changed by the water and by what was found last;
 * a task never done is counted from the installation (the middle of its bracket). Anodes follow the
 * forecast of their depletion (anode-forecast.ts). A tank that was never serviced and is old is left
 * alone: flushing or opening it now does more harm than good, its replacement is the answer.
 *
 * @param today decides the state of each task, nothing else.
 */
export function dueTasks(
  heater: UpkeepHeater,
  today: CalendarDay,
  { rules = DEFAULT_UPKEEP_RULES, lastFindings = {} }: DueTerms = {},
): readonly DueTask[] {
  const terms: HeaterTerms = {
    heater,
    rules,
    lastFindings,
    installedOn: addDays(
      heater.install.earliest,
      Math.floor(daysBetween(heater.install.earliest, heater.install.latest) / 2),
    ),
    forecast: hasTank(heater.technology) ? anodeForecastOf(heater, today, rules) : null,
  };
  const leftAlone = mustLeaveAlone(heater, terms.installedOn, today, rules);
  return TASK_KINDS.filter((task) => taskApplies(task, heater))
    .map((task): DueTask => {
      const schedule = scheduleOf(task, terms);
      const common = {
        task,
        dueOn: schedule.dueOn,
        intervalMonths: schedule.intervalMonths,
        neverDone: heater.care.lastDone[task] === undefined,
        caution: cautionOfTask(task),
      };
      if (leftAlone && LEFT_ALONE_TASKS.has(task)) {
        return { ...common, state: "leave-alone", why: LEAVE_ALONE_WHY };
      }
      return { ...common, state: stateOf(schedule.dueOn, today, rules), why: schedule.why };
    })
    .sort(byUrgency);
}

type HeaterTerms = {
  readonly heater: UpkeepHeater;
  readonly rules: UpkeepRules;
  readonly lastFindings: LastFindings;
  readonly installedOn: CalendarDay;
  readonly forecast: AnodeForecast | null;
};

type Schedule = {
  readonly dueOn: CalendarDay;
  readonly intervalMonths: number;
  readonly why: string;
};

const LEFT_ALONE_TASKS: ReadonlySet<TaskKind> = new Set([
  "flush",
  "anode-inspection",
  "anode-replacement",
]);

const LEAVE_ALONE_WHY =
  "Leave it: an old tank with no service on record can start to leak when it is flushed or its anode is turned. Plan its replacement instead.";

function mustLeaveAlone(
  heater: UpkeepHeater,
  installedOn: CalendarDay,
  today: CalendarDay,
  rules: UpkeepRules,
): boolean {
  const { flushDays, anodeReplacementDays, anodeInspection } = heater.care;
  return (
    hasTank(heater.technology) &&
    flushDays.length === 0 &&
    anodeReplacementDays.length === 0 &&
    anodeInspection === null &&
    daysBetween(installedOn, today) >= rules.leaveAloneFromYears.value * DAYS_PER_YEAR
  );
}

/** Forecast of the anode that is in the tank now. */
export function anodeForecastOf(
  heater: UpkeepHeater,
  today: CalendarDay,
  rules: UpkeepRules = DEFAULT_UPKEEP_RULES,
): AnodeForecast {
  const replacedOn = heater.care.anodeReplacementDays.at(-1);
  const inspection = heater.care.anodeInspection;
  const isOfThisAnode =
    inspection !== null &&
    inspection.state !== "unknown" &&
    (replacedOn === undefined || inspection.day > replacedOn);
  return forecastAnode(
    {
      fitted: replacedOn ? { earliest: replacedOn, latest: replacedOn } : heater.install,
      medianYears:
        (rules.intervalMonths["anode-replacement"].value / 12) *
        anodeWaterFactor(rules, heater.water.softened),
      logSpread: rules.anodeLogSpread.value,
      inspections: isOfThisAnode
        ? [
            {
              day: inspection.day,
              state: inspection.state === "spent" ? "spent" : "protected",
              remainingFraction: null,
            },
          ]
        : [],
    },
    today,
    rules.anodeSpentChance.value,
  );
}

function scheduleOf(task: TaskKind, terms: HeaterTerms): Schedule {
  if (terms.forecast !== null) {
    if (task === "anode-inspection") return scheduleAnodeInspection(terms, terms.forecast);
    if (task === "anode-replacement") return scheduleAnodeReplacement(terms, terms.forecast);
  }
  const { heater, rules, lastFindings } = terms;
  const base = rules.intervalMonths[task].value;
  const finding = lastFindings[task];
  const reasons: string[] = [];
  let factor = 1;
  if (task === "flush") {
    const water = flushWaterFactor(heater, rules);
    factor *= water.factor;
    if (water.reason) reasons.push(water.reason);
    if (!hasTank(heater.technology)) reasons.push("scale is flushed out of the heat exchanger");
  }
  const findingFactor = finding ? rules.findingFactors[finding]?.value : undefined;
  if (finding && findingFactor !== undefined && findingFactor !== 1) {
    factor *= findingFactor;
    reasons.push(`last time: ${FINDING_LABELS[finding].toLowerCase()}`);
  }
  if (factor === 0) {
    const foundOn = heater.care.lastDone[task] ?? terms.installedOn;
    return {
      dueOn: foundOn,
      intervalMonths: 0,
      why: `To be put right at once; ${reasons.join("; ")} on ${foundOn}.`,
    };
  }
  const intervalMonths = boundedMonths(base * factor, rules);
  return sinceLast(task, terms, intervalMonths, reasons);
}

function sinceLast(
  task: TaskKind,
  { heater, installedOn }: HeaterTerms,
  intervalMonths: number,
  reasons: readonly string[],
): Schedule {
  const last = heater.care.lastDone[task];
  const every = `every ${intervalMonths} ${intervalMonths === 1 ? "month" : "months"}`;
  const since = last
    ? `last done ${last}`
    : `never on record, counted from the installation (${installWords(heater)})`;
  return {
    dueOn: addMonths(last ?? installedOn, intervalMonths),
    intervalMonths,
    why: `${TASK_LABELS[task]} ${[every, ...reasons].join("; ")}; ${since}.`,
  };
}

function scheduleAnodeInspection(terms: HeaterTerms, forecast: AnodeForecast): Schedule {
  const { heater, rules, installedOn } = terms;
  const waterFactor = anodeWaterFactor(rules, heater.water.softened);
  const reasons = waterFactor === 1 ? [] : ["softened water uses anodes up faster"];
  const replacedOn = heater.care.anodeReplacementDays.at(-1);
  const inspectedOn = heater.care.lastDone["anode-inspection"] ?? heater.care.anodeInspection?.day;
  const lastLook = [replacedOn, inspectedOn].reduce<CalendarDay | undefined>(
    (latest, day) => (latest && day ? maxDay(latest, day) : (latest ?? day)),
    undefined,
  );
  const from = lastLook ?? installedOn;
  let byInterval = boundedMonths(
    rules.intervalMonths["anode-inspection"].value * waterFactor,
    rules,
  );
  let intervalDay = addMonths(from, byInterval);
  if (heater.warrantyYears !== null) {
    const warrantyEnds = addMonths(installedOn, Math.round(12 * heater.warrantyYears));
    const afterwards = boundedMonths(rules.anodeAfterWarrantyMonths.value * waterFactor, rules);
    const afterwardsDay = maxDay(warrantyEnds, addMonths(from, afterwards));
    if (afterwardsDay < intervalDay) {
      intervalDay = afterwardsDay;
      byInterval = afterwards;
      reasons.push(`out of warranty from ${warrantyEnds}`);
    }
  }
  const holds = boundedMonths(rules.anodeInspectionHoldsMonths * waterFactor, rules);
  const forecastDay = lastLook
    ? maxDay(forecast.dueOn, addMonths(lastLook, holds))
    : forecast.dueOn;
  const dueOn = minDay(intervalDay, forecastDay);
  if (forecastDay < intervalDay) {
    reasons.push(
      `the chance that it is spent passes ${percent(rules.anodeSpentChance.value)} on ${forecast.dueOn}`,
    );
  }
  const since = lastLook
    ? `last seen or replaced ${lastLook}`
    : `never on record, counted from the installation (${installWords(heater)})`;
  return {
    dueOn,
    intervalMonths: byInterval,
    why: `${TASK_LABELS["anode-inspection"]} every ${byInterval} months at the latest; ${[...reasons, since].join("; ")}. Chance that it is spent today: ${percent(forecast.chanceSpentToday)}.`,
  };
}

function scheduleAnodeReplacement(terms: HeaterTerms, forecast: AnodeForecast): Schedule {
  const { heater, rules } = terms;
  const { anodeInspection, anodeReplacementDays } = heater.care;
  const replacedOn = anodeReplacementDays.at(-1);
  if (
    anodeInspection?.state === "spent" &&
    (replacedOn === undefined || replacedOn < anodeInspection.day)
  ) {
    return {
      dueOn: anodeInspection.day,
      intervalMonths: 0,
      why: `The anode was found spent on ${anodeInspection.day} and no new one is on record.`,
    };
  }
  const intervalMonths = boundedMonths(
    rules.intervalMonths["anode-replacement"].value *
      anodeWaterFactor(rules, heater.water.softened),
    rules,
  );
  const seen =
    anodeInspection?.state === "protected" && (!replacedOn || replacedOn < anodeInspection.day)
      ? `metal left on ${anodeInspection.day}`
      : replacedOn
        ? `fitted ${replacedOn}`
        : `never on record as replaced`;
  return {
    dueOn: forecast.likelySpentOn,
    intervalMonths,
    why: `Likelier spent than not from ${forecast.likelySpentOn}; ${seen}. Chance today: ${percent(forecast.chanceSpentToday)}. Inspect first where the anode can be reached.`,
  };
}

/** How water changes the flush interval. */
export function flushWaterFactor(
  heater: Pick<UpkeepHeater, "water">,
  rules: UpkeepRules = DEFAULT_UPKEEP_RULES,
): { readonly factor: number; readonly reason: string | null } {
  const { hardnessMgPerLitre, softened } = heater.water;
  if (softened === "yes") {
    return { factor: rules.softWaterFactor.value, reason: "softened water leaves little sediment" };
  }
  if (hardnessMgPerLitre === null) return { factor: 1, reason: "hardness not known" };
  if (hardnessMgPerLitre > rules.hardFromMgPerLitre.value) {
    return {
      factor: rules.hardWaterFactor.value,
      reason: `hard water, ${Math.round(hardnessMgPerLitre)} mg/L`,
    };
  }
  if (classifyHardness(hardnessMgPerLitre) === "soft") {
    return {
      factor: rules.softWaterFactor.value,
      reason: `soft water, ${Math.round(hardnessMgPerLitre)} mg/L`,
    };
  }
  return { factor: 1, reason: null };
}

/** State of a due day: overdue from the day after it. */
export function stateOf(
  dueOn: CalendarDay,
  today: CalendarDay,
  rules: UpkeepRules = DEFAULT_UPKEEP_RULES,
): Exclude<DueState, "leave-alone"> {
  const days = daysBetween(today, dueOn);
  if (days < 0) return "overdue";
  if (days <= rules.dueWithinDays) return "due";
  return days <= rules.soonWithinDays ? "soon" : "later";
}

/** What must be put right at once first, then by day; what is left alone comes last. */
function byUrgency(a: DueTask, b: DueTask): number {
  const rank = (due: DueTask) =>
    due.state === "leave-alone" ? 2 : due.intervalMonths === 0 ? 0 : 1;
  return rank(a) - rank(b) || (a.dueOn < b.dueOn ? -1 : a.dueOn > b.dueOn ? 1 : 0);
}

function boundedMonths(months: number, rules: UpkeepRules): number {
  return Math.min(rules.longestMonths, Math.max(rules.shortestMonths, Math.round(months)));
}

function installWords({ install }: UpkeepHeater): string {
  return install.earliest === install.latest
    ? install.earliest
    : `between ${install.earliest} and ${install.latest}`;
}

function percent(share: number): string {
  return `${Math.round(100 * share)} %`;
}
