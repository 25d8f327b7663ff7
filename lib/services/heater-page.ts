import "server-only";
import { type AnnualEmissions, annualEmissions } from "@/lib/core/emissions/annual-emissions";
import { isGridRegion, PUBLISHED_BOOK } from "@/lib/core/emissions/factors";
import { computeEnergy, type EnergyResult, energyInputOf } from "@/lib/core/energy/annual-energy";
import type { Heater, Site } from "@/lib/core/heaters/heater";
import type { HeaterEntry } from "@/lib/core/heaters/heater-form";
import { checkSizing, type SizingCheck } from "@/lib/core/heaters/sizing";
import { READINESS_ITEMS, type ReadinessItem } from "@/lib/core/heaters/vocabulary";
import {
  addDays,
  type CalendarDay,
  DAYS_PER_YEAR,
  daysBetween,
  yearOf,
  yearsBetween,
} from "@/lib/core/shared/calendar-day";
import {
  type ConsequenceAssumptions,
  type ExpectedLoss,
  estimateLoss,
} from "@/lib/core/survival/consequence";
import { heaterCurve } from "@/lib/core/survival/curves";
import type { ModelDraw } from "@/lib/core/survival/draws";
import type { SurvivalModel } from "@/lib/core/survival/model";
import { type FailureForecast, forecastFailure } from "@/lib/core/survival/predict";
import { explainRisk, type RiskExplanation } from "@/lib/core/survival/reasons";
import { type DueTask, dueTasks } from "@/lib/core/upkeep/due-tasks";
import { loadFleet } from "@/lib/data/fleet";
import {
  type ChainLink,
  findHeater,
  findPlannedLine,
  findRetirement,
  findRiskBand,
  type HeaterChange,
  type HeaterRecord,
  listChain,
  listChangesOf,
  listReadinessOf,
  listVisits,
  type PlannedLine,
  type ReadinessRecord,
  type RetirementRecord,
  type RiskBand,
  type VisitRecord,
} from "@/lib/data/heaters";
import { withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import { type FitRow, findFitName } from "./risk-fits";
import { loadCurrentModel } from "./risk-model";
import { drawForBands, loadAssumptions } from "./risk-scoring";
import { requireAction, type Viewer } from "./viewer";

/** Survival on a day: of a heater like this from new, and of this one given that it stands today. */
export type SurvivalPoint = {
  readonly day: CalendarDay;
  readonly fromNew: number;
  /** null before today. */
  readonly givenToday: number | null;
  /** Band of 90 % on that: what is not known about the model; null before today. */
  readonly band: { readonly lower: number; readonly upper: number } | null;
};

export type HeaterRisk = {
  readonly method: string;
  /** The fit that says it; null when published lifetimes do. */
  readonly fit: Pick<FitRow, "id" | "number" | "asOf" | "failures"> | null;
  readonly forecast: FailureForecast;
  /** Years of the forecast's probabilities. */
  readonly horizonsYears: readonly number[];
  readonly explanation: RiskExplanation;
  readonly loss: ExpectedLoss;
  readonly assumptions: ConsequenceAssumptions;
  /** Of the last pass over the fleet; null until there was one. */
  readonly band: RiskBand | null;
  readonly curve: readonly SurvivalPoint[];
};

export type HeaterYear = {
  readonly energy: EnergyResult;
  readonly emissions: AnnualEmissions;
  readonly gridRegion: string;
};

/** An item of the site survey with its answer; what was never asked is not known. */
export type ReadinessLine = Omit<ReadinessRecord, "item"> & {
  readonly item: ReadinessItem;
  readonly isAsked: boolean;
};

export type HeaterPage = {
  readonly id: string;
  readonly status: HeaterRecord["status"];
  readonly entry: HeaterEntry;
  readonly place: Pick<
    HeaterRecord,
    "propertyId" | "propertyName" | "street" | "city" | "buildingName" | "builtYear"
  >;
  readonly recordedFrom: CalendarDay;
  readonly water: Heater["water"];
  readonly demandLevel: Site["demandLevel"];
  readonly retirement: RetirementRecord | null;
  /** null for a retired heater. */
  readonly risk: HeaterRisk | null;
  readonly sizing: SizingCheck;
  /** null for a retired heater. */
  readonly year: HeaterYear | null;
  readonly due: readonly DueTask[];
  readonly readiness: readonly ReadinessLine[];
  readonly visits: readonly VisitRecord[];
  readonly chain: readonly ChainLink[];
  readonly planned: PlannedLine | null;
  readonly changes: readonly HeaterChange[];
  readonly mayEdit: boolean;
  readonly mayRecordVisits: boolean;
};

const HORIZONS_YEARS = [1, 3, 5, 10];
const CHANGES_SHOWN = 20;

/** Everything about one heater; null when the tenant has none with this id. */
export function readHeaterPage(
  viewer: Viewer,
  id: string,
  today: CalendarDay,
): Promise<HeaterPage | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const record = await findHeater(client, id);
    if (!record) return null;
    const fleet = await loadFleet(client, { heaterIds: [id] });
    const [heater] = fleet.heaters;
    const site = fleet.sites.get(record.propertyId);
    if (!heater || !site) return null;
    const inService = record.status === "in-service";
    const model = await loadCurrentModel(client);
    const scoring = {
      model,
      draws: await drawForBands(client, model),
      fit: await findFitName(client),
      assumptions: await loadAssumptions(client),
      band: await findRiskBand(client, id),
    };
    const { propertyId, propertyName, street, city, buildingName, builtYear } = record;
    return {
      id,
      status: record.status,
      entry: record.entry,
      place: { propertyId, propertyName, street, city, buildingName, builtYear },
      recordedFrom: record.recordedFrom,
      water: heater.water,
      demandLevel: site.demandLevel,
      retirement: await findRetirement(client, id),
      risk: inService ? riskOf(heater, scoring, today) : null,
      sizing: checkSizing(heater, { demandLevel: site.demandLevel }),
      year: inService ? yearNow(heater, site, today) : null,
      due: inService
        ? dueTasks(heater, today, { lastFindings: fleet.lastFindings.get(id) ?? {} })
        : [],
      readiness: readinessLines(await listReadinessOf(client, id)),
      visits: await listVisits(client, id),
      chain: await listChain(client, id),
      planned: inService ? await findPlannedLine(client, id) : null,
      changes: await listChangesOf(client, id, CHANGES_SHOWN),
      mayEdit: mayDo(viewer.role, "heater.edit"),
      mayRecordVisits: mayDo(viewer.role, "visit.record"),
    };
  });
}

function riskOf(
  heater: Heater,
  {
    model,
    draws,
    fit,
    assumptions,
    band,
  }: {
    readonly model: SurvivalModel;
    readonly draws: readonly ModelDraw[];
    readonly fit: HeaterRisk["fit"];
    readonly assumptions: ConsequenceAssumptions;
    readonly band: RiskBand | null;
  },
  today: CalendarDay,
): HeaterRisk {
  const forecast = forecastFailure(model, heater, {
    today,
    horizonsYears: HORIZONS_YEARS,
  });
  const [probability = 0] = forecast.failureProbabilities;
  return {
    method: model.method,
    fit,
    forecast,
    horizonsYears: HORIZONS_YEARS,
    explanation: explainRisk(model, heater, today),
    loss: estimateLoss(heater, probability, assumptions),
    assumptions,
    band,
    curve: survivalCurve(model, draws, heater, today, forecast.medianRemainingYears),
  };
}

/** Points of each part of the curve. */
const POINTS_BACK = 24;
const POINTS_AHEAD = 48;
const LEAST_YEARS_AHEAD = 10;
const MOST_YEARS_AHEAD = 30;

/** Survival from the middle of the install bracket to well past the median remaining life. */
function survivalCurve(
  model: SurvivalModel,
  draws: readonly ModelDraw[],
  heater: Heater,
  today: CalendarDay,
  medianRemainingYears: number,
): readonly SurvivalPoint[] {
  const { earliest, latest } = heater.install;
  const installed = addDays(earliest, Math.floor(daysBetween(earliest, latest) / 2));
  const start = installed < today ? installed : today;
  const yearsBack = Math.max(0, yearsBetween(start, today));
  const yearsAhead = Math.min(
    MOST_YEARS_AHEAD,
    Math.max(LEAST_YEARS_AHEAD, Math.ceil(2 * medianRemainingYears)),
  );
  const back = steps(0, yearsBack, POINTS_BACK);
  const ahead = steps(0, yearsAhead, POINTS_AHEAD);
  const fromNew = forecastFailure(model, heater, {
    today: start,
    horizonsYears: [...back, ...ahead.map((years) => yearsBack + years)],
  }).failureProbabilities;
  const fromToday = forecastFailure(model, heater, {
    today,
    horizonsYears: ahead,
  }).failureProbabilities;
  const bands = heaterCurve(draws, heater, { today, years: ahead });
  const dayAt = (years: number) => addDays(today, Math.round(years * DAYS_PER_YEAR));
  return [
    // The last step back is today, with which the other part begins.
    ...back.slice(0, -1).map((years, index) => ({
      day: dayAt(years - yearsBack),
      fromNew: 1 - (fromNew[index] ?? 0),
      givenToday: null,
      band: null,
    })),
    ...ahead.map((years, index) => ({
      day: dayAt(years),
      fromNew: 1 - (fromNew[back.length + index] ?? 0),
      givenToday: 1 - (fromToday[index] ?? 0),
      band: bands[index]?.survival ?? null,
    })),
  ];
}

/** `count + 1` values from `from` to `to`, evenly spaced. */
function steps(from: number, to: number, count: number): readonly number[] {
  return Array.from({ length: count + 1 }, (_, index) => from + ((to - from) * index) / count);
}

/** A year's energy, cost and emissions as the heater stands. What no heater can be is put aside and named. */
function yearNow(heater: Heater, site: Site, today: CalendarDay): HeaterYear {
  const gridRegion = isGridRegion(PUBLISHED_BOOK, site.gridRegion) ? site.gridRegion : "US";
  const input = energyInputOf(heater, site, { today });
  const energy = computeEnergy(input);
  const emissions = annualEmissions({
    thermsPerYear: energy.thermsPerYear,
    kwhPerYear: energy.kwhPerYear,
    fuel: input.fuel,
    gridRegion,
    year: yearOf(today),
  });
  return { energy, emissions, gridRegion };
}

function readinessLines(answers: readonly ReadinessRecord[]): readonly ReadinessLine[] {
  const answerOf = new Map(answers.map((answer) => [answer.item, answer]));
  return READINESS_ITEMS.map((item) => {
    const answer = answerOf.get(item);
    return answer
      ? { ...answer, isAsked: true }
      : { item, answer: "unknown", observedOn: null, observedBy: null, note: null, isAsked: false };
  });
}
