import type { RetirementCause, TaskKind } from "@/lib/core/heaters/vocabulary";
import { hasTank, isCombustion, isHeatPump } from "@/lib/core/heaters/vocabulary";
import { DAYS_PER_YEAR } from "@/lib/core/shared/calendar-day";
import type { Finding } from "@/lib/core/upkeep/findings";
import type { DemoBuilding, DemoHome } from "./places";
import type { DemoRandom } from "./random";
import {
  baseWearRate,
  type DemoTechnology,
  FLUSH_HOLDS_YEARS,
  FLUSHED_FACTOR,
  SPENT_FACTOR,
  TRUE_ANODE,
  TRUE_LEAK_SHARE,
  TRUE_LIFETIMES,
  TRUE_OTHER_ENDS,
} from "./truth";

/** A visit as it happened; days are day numbers. */
export type LifeVisit = {
  readonly day: number;
  readonly tasks: readonly Done[];
};

/** The life of one heater, whole or up to today; days are day numbers. */
export type Life = {
  readonly technology: DemoTechnology;
  readonly setpointF: number;
  readonly hasExpansionControl: boolean;
  readonly hasLeakShutoff: boolean;
  readonly installDay: number;
  /** The end, or today. */
  readonly endDay: number;
  /** Null while the heater stands. */
  readonly cause: RetirementCause | null;
  readonly exposureAtEntryYears: number;
  readonly exposureAtEndYears: number;
  readonly visits: readonly LifeVisit[];
};

/** From this age on a tank that was never flushed is left alone (common practice, no source). */
const LEAVE_ALONE_FROM_YEARS = 9;
/** Planned swaps take tanks from this age. */
const PLANNED_FROM_YEARS = 12;
const PLANNED_SHARE_PER_ROUND = 0.22;

/**
 * Lets heaters follow one another in one place from the day the building opened to today, and
 * returns those that lived on or after the day records begin. Living through the years before the
 * records is what makes the left truncation real: a heater that failed then is never seen.
 */
export function liveInSlot(
  random: DemoRandom,
  building: DemoBuilding,
  home: DemoHome,
  openedDay: number,
  today: number,
): Life[] {
  const seen: Life[] = [];
  let technology = firstTechnology(random, building);
  let installDay = openedDay;
  for (;;) {
    const life = liveOnce(random, building, home, { technology, installDay, today });
    if (life.endDay >= building.property.recordsBegin) seen.push(life);
    if (life.cause === null) return seen;
    const delayDays = life.cause === "leak" || life.cause === "no-heat" ? random.whole(0, 3) : 0;
    technology = nextTechnology(random, building, life);
    installDay = Math.min(today, life.endDay + delayDays);
  }
}

function firstTechnology(random: DemoRandom, building: DemoBuilding): DemoTechnology {
  if (building.isAllElectric) return "electric-storage";
  return building.prefersTankless && random.chance(0.25) ? "gas-instantaneous" : "gas-storage";
}

function nextTechnology(random: DemoRandom, building: DemoBuilding, life: Life): DemoTechnology {
  const { electrifiedOn } = building;
  if (electrifiedOn !== null && life.endDay >= electrifiedOn) return building.electrifiedWith;
  if (life.technology === "gas-storage" && building.prefersTankless && random.chance(0.3)) {
    return "gas-instantaneous";
  }
  return life.technology;
}

function liveOnce(
  random: DemoRandom,
  building: DemoBuilding,
  home: DemoHome,
  terms: {
    readonly technology: DemoTechnology;
    readonly installDay: number;
    readonly today: number;
  },
): Life {
  const { technology, installDay, today } = terms;
  const { property } = building;
  const tank = hasTank(technology);
  const setpointF = random.pickWeighted([
    [120, 58],
    [125, 16],
    [130, 12],
    [140, 14],
  ]);
  const hasExpansionControl = random.chance(building.isClosedSystem ? 0.4 : 0.1);
  const hasLeakShutoff = random.chance(0.08);
  const lifetime = TRUE_LIFETIMES[technology];
  const failureExposureYears = lifetime.scaleYears * random.exponential() ** (1 / lifetime.shape);
  const wear = new Wear(random, {
    day: installDay,
    baseRate: baseWearRate({
      hardnessMgPerLitre: property.hardnessMgPerLitre,
      softened: property.softened,
      setpointF,
      closedWithoutExpansionControl: building.isClosedSystem && !hasExpansionControl,
      highDraw: home.people >= 5,
    }),
    anodeMedianYears: property.softened ? TRUE_ANODE.softenedMedianYears : TRUE_ANODE.medianYears,
    tank,
    failureExposureYears,
  });

  // The earliest of the ends that have nothing to do with wear.
  let stopDay = today;
  let stopCause: RetirementCause | null = null;
  const otherEnds = TRUE_OTHER_ENDS.otherPerYear + TRUE_OTHER_ENDS.damagePerYear;
  const otherDay = installDay + 1 + Math.floor((random.exponential() / otherEnds) * DAYS_PER_YEAR);
  if (otherDay < stopDay) {
    stopDay = otherDay;
    stopCause = random.chance(TRUE_OTHER_ENDS.damagePerYear / otherEnds) ? "damage" : "other";
  }
  const { electrifiedOn } = building;
  if (electrifiedOn !== null && installDay < electrifiedOn) {
    const swapDay = electrifiedOn + random.whole(0, 20);
    if (swapDay < stopDay) {
      stopDay = swapDay;
      stopCause = "planned";
    }
  }

  wear.advance(Math.min(property.recordsBegin, stopDay));
  const exposureAtEntryYears = wear.exposureYears;
  const visits: LifeVisit[] = [];
  const history = { wasFlushed: false, lastAnodeDay: installDay };
  for (const round of building.rounds) {
    if (wear.failedOn !== null || round >= stopDay) break;
    if (round <= installDay) continue;
    const day = Math.min(round + random.whole(0, 2), stopDay - 1);
    if (day <= wear.day || !wear.advance(day)) continue;
    const ageYears = (day - installDay) / DAYS_PER_YEAR;
    if (random.chance(property.care.reached)) {
      const tasks = workOnVisit(random, {
        technology,
        building,
        wear,
        ageYears,
        history,
        hasExpansionControl,
        hasLeakShutoff,
      });
      if (tasks.length > 0) visits.push({ day, tasks });
    }
    if (
      property.plansSwaps &&
      ageYears >= PLANNED_FROM_YEARS &&
      random.chance(PLANNED_SHARE_PER_ROUND)
    ) {
      const swapDay = day + random.whole(10, 90);
      if (swapDay < stopDay) {
        stopDay = swapDay;
        stopCause = "planned";
      }
    }
  }
  wear.advance(stopDay);
  const lasting = {
    technology,
    setpointF,
    hasExpansionControl,
    hasLeakShutoff,
    installDay,
    exposureAtEntryYears,
    visits,
  };
  if (wear.failedOn === null) {
    return {
      ...lasting,
      endDay: stopDay,
      cause: stopCause,
      exposureAtEndYears: wear.exposureYears,
    };
  }
  const leaks = random.chance(tank ? TRUE_LEAK_SHARE.tank : TRUE_LEAK_SHARE.tankless);
  return {
    ...lasting,
    endDay: wear.failedOn,
    cause: leaks ? "leak" : "no-heat",
    exposureAtEndYears: failureExposureYears,
  };
}

/** Gathers exposure day by day under the conditions of the day. */
class Wear {
  day: number;
  exposureYears = 0;
  /** Day number of the failure, once it has come. */
  failedOn: number | null = null;
  private anodeSpentOn: number;
  private flushHoldsUntil = Number.NEGATIVE_INFINITY;

  constructor(
    private readonly random: DemoRandom,
    private readonly terms: {
      readonly day: number;
      readonly baseRate: number;
      readonly anodeMedianYears: number;
      readonly tank: boolean;
      readonly failureExposureYears: number;
    },
  ) {
    this.day = terms.day;
    this.anodeSpentOn = this.drawAnodeEnd();
  }

  get isAnodeSpent(): boolean {
    return this.day >= this.anodeSpentOn;
  }

  flush(): void {
    this.flushHoldsUntil = this.day + FLUSH_HOLDS_YEARS * DAYS_PER_YEAR;
  }

  replaceAnode(): void {
    this.anodeSpentOn = this.drawAnodeEnd();
  }

  /** Wears on until `day`; false when the heater fails before it. */
  advance(day: number): boolean {
    while (this.failedOn === null && this.day < day) {
      let until = day;
      if (this.anodeSpentOn > this.day) until = Math.min(until, this.anodeSpentOn);
      if (this.flushHoldsUntil > this.day) until = Math.min(until, this.flushHoldsUntil);
      let rate = this.terms.baseRate;
      if (this.terms.tank) {
        if (this.day >= this.anodeSpentOn) rate *= SPENT_FACTOR;
        if (this.day < this.flushHoldsUntil) rate *= FLUSHED_FACTOR;
      }
      const leftYears = (this.terms.failureExposureYears - this.exposureYears) / rate;
      if (leftYears * DAYS_PER_YEAR <= until - this.day) {
        this.failedOn = Math.min(
          Math.floor(day),
          Math.max(this.terms.day + 1, Math.floor(this.day + leftYears * DAYS_PER_YEAR)),
        );
      } else {
        this.exposureYears += (rate * (until - this.day)) / DAYS_PER_YEAR;
        this.day = until;
      }
    }
    return this.failedOn === null;
  }

  private drawAnodeEnd(): number {
    const years =
      this.terms.anodeMedianYears * Math.exp(TRUE_ANODE.logSpread * this.random.normal());
    return this.day + years * DAYS_PER_YEAR;
  }
}

/** A task with what was found. The pairs are shared by all visits: a large portfolio has millions. */
type Done = readonly [task: TaskKind, finding: Finding];

/** Findings of a task with their weights. */
function findings(task: TaskKind, weights: Partial<Record<Finding, number>>) {
  return (Object.entries(weights) as [Finding, number][]).map(
    ([finding, weight]): readonly [Done, number] => [[task, finding], weight],
  );
}

const FLUSHED_SOFT = findings("flush", { clear: 60, "some-sediment": 35, "heavy-sediment": 5 });
const FLUSHED_HARD = findings("flush", { clear: 20, "some-sediment": 35, "heavy-sediment": 45 });
const ANODE_PROTECTED: Done = ["anode-inspection", "protected"];
const ANODE_SPENT: Done = ["anode-inspection", "spent"];
const ANODE_REPLACED: Done = ["anode-replacement", "replaced"];
const RELIEF_VALVE = findings("relief-valve-test", { works: 94, weeps: 5, stuck: 1 });
const BURNER = findings("burner-vent-check", { clean: 70, dirty: 28, spillage: 2 });
const FILTER = findings("filter-condensate", { clean: 35, dirty: 60, blocked: 5 });
const EXPANSION = findings("expansion-tank-pressure", { holds: 80, low: 15, waterlogged: 5 });
const LEAK_SENSOR = findings("leak-sensor-test", { works: 85, "dead-battery": 12, fails: 3 });
const SETPOINT = findings("setpoint-mixing-check", {
  "in-range": 80,
  adjusted: 17,
  "scald-risk": 3,
});
const STRAPS = findings("strap-check", { sound: 85, loose: 10, missing: 5 });

function workOnVisit(
  random: DemoRandom,
  terms: {
    readonly technology: DemoTechnology;
    readonly building: DemoBuilding;
    readonly wear: Wear;
    readonly ageYears: number;
    readonly history: { wasFlushed: boolean; lastAnodeDay: number };
    readonly hasExpansionControl: boolean;
    readonly hasLeakShutoff: boolean;
  },
): Done[] {
  const { technology, building, wear, ageYears, history } = terms;
  const { care, hardnessMgPerLitre } = building.property;
  const done: Done[] = [];
  const tank = hasTank(technology);
  const mayFlush = !tank || history.wasFlushed || ageYears < LEAVE_ALONE_FROM_YEARS;
  if (mayFlush && random.chance(care.flushes)) {
    done.push(random.pickWeighted(hardnessMgPerLitre > 120 ? FLUSHED_HARD : FLUSHED_SOFT));
    history.wasFlushed = true;
    wear.flush();
  }
  const anodeYears = (wear.day - history.lastAnodeDay) / DAYS_PER_YEAR;
  if (tank && mayFlush && anodeYears >= 2.5 && random.chance(care.inspectsAnode)) {
    history.lastAnodeDay = wear.day;
    const spent = wear.isAnodeSpent;
    done.push(spent ? ANODE_SPENT : ANODE_PROTECTED);
    if (spent && random.chance(0.7)) {
      done.push(ANODE_REPLACED);
      wear.replaceAnode();
    }
  }
  if (tank && random.chance(0.65)) done.push(random.pickWeighted(RELIEF_VALVE));
  if (isCombustion(technology) && random.chance(0.5)) done.push(random.pickWeighted(BURNER));
  if (isHeatPump(technology) && random.chance(0.9)) done.push(random.pickWeighted(FILTER));
  if (terms.hasExpansionControl && random.chance(0.3)) done.push(random.pickWeighted(EXPANSION));
  if (terms.hasLeakShutoff && random.chance(0.4)) done.push(random.pickWeighted(LEAK_SENSOR));
  if (random.chance(0.2)) done.push(random.pickWeighted(SETPOINT));
  if (tank && random.chance(0.1)) done.push(random.pickWeighted(STRAPS));
  return done;
}
