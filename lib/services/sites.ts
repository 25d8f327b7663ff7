import "server-only";
import type { Heater } from "@/lib/core/heaters/heater";
import { effectiveAnswers, surveyProgress } from "@/lib/core/heaters/readiness";
import {
  judgeOption,
  UNKNOWN_NEEDS_WORK,
  VERDICT_STATES,
  type VerdictState,
} from "@/lib/core/planning/option-verdict";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { loadFleet } from "@/lib/data/fleet";
import type { CatalogueOption } from "@/lib/data/options";
import { listSiteBuildings, type SiteBuilding } from "@/lib/data/sites";
import { listSurveyAnswers } from "@/lib/data/survey";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { listPropertyChoices, type PropertyChoice } from "@/lib/data/upkeep";
import { referenceOption } from "./sites-option";
import { activeOptions } from "./survey";
import { requireAction, type Viewer } from "./viewer";

export type { PropertyChoice } from "@/lib/data/upkeep";

/** Heaters up to which the whole portfolio is read at once. */
const WHOLE_PORTFOLIO_HEATERS = 5_000;

/** What the survey of a building's heaters adds up to. */
export type SurveySum = {
  readonly heaters: number;
  /** Heaters whose place somebody has seen. */
  readonly seen: number;
  /** Answers that are asked, that are not known, and that were inferred from a like home. */
  readonly asked: number;
  readonly unknown: number;
  readonly inferred: number;
  /** Work expected at these heaters for the option, and the part behind what is not known, cents. */
  readonly workCents: number;
  readonly unseenCents: number;
  readonly states: Readonly<Record<VerdictState, number>>;
  /** Heaters for whose home the option is too small. */
  readonly tooSmall: number;
};

export type SitesView = {
  readonly properties: readonly PropertyChoice[];
  /** The property shown; null for the whole portfolio. */
  readonly propertyId: string | null;
  /** True when the portfolio is too large to be shown whole. */
  readonly needsProperty: boolean;
  readonly option: CatalogueOption;
  readonly options: readonly CatalogueOption[];
  readonly buildings: readonly { readonly building: SiteBuilding; readonly sum: SurveySum }[];
  readonly total: SurveySum;
};

/** How far the survey has come, building by building, held against one option. */
export function readSites(
  viewer: Viewer,
  choice: { readonly propertyId: string | null; readonly optionCode: string | null },
  today: CalendarDay,
): Promise<SitesView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const place = await chooseProperty(client, choice.propertyId);
    const options = await activeOptions(client, viewer);
    const option = referenceOption(options, choice.optionCode);
    const buildings = await listSiteBuildings(client, place.propertyId);
    const byId = new Map(buildings.map((building) => [building.id, building]));
    const fleet = await loadFleet(client, { propertyId: place.propertyId });
    const surveys = await listSurveyAnswers(client, { propertyId: place.propertyId });
    const sums = new Map<string, SurveySum>();
    for (const heater of fleet.heaters) {
      const building = byId.get(heater.buildingId);
      const site = fleet.sites.get(heater.propertyId);
      if (!building || !site) continue;
      const survey = surveys.get(heater.id) ?? [];
      const answers = effectiveAnswers(heater, survey);
      const verdict = judgeOption(heater, option, {
        today,
        site,
        answers,
        headroomCircuits: building.headroomCircuits,
        unknownNeedsWorkShare: UNKNOWN_NEEDS_WORK.value,
      });
      sums.set(
        building.id,
        addSums(sums.get(building.id) ?? NOTHING, oneHeater(heater, survey, verdict)),
      );
    }
    const shown = buildings
      .filter(({ heaters }) => heaters > 0)
      .map((building) => ({ building, sum: sums.get(building.id) ?? NOTHING }));
    return {
      ...place,
      option,
      options,
      buildings: shown,
      total: shown.reduce((total, { sum }) => addSums(total, sum), NOTHING),
    };
  });
}

const NO_STATES = Object.fromEntries(VERDICT_STATES.map((state) => [state, 0])) as Record<
  VerdictState,
  number
>;

const NOTHING: SurveySum = {
  heaters: 0,
  seen: 0,
  asked: 0,
  unknown: 0,
  inferred: 0,
  workCents: 0,
  unseenCents: 0,
  states: NO_STATES,
  tooSmall: 0,
};

function oneHeater(
  heater: Heater,
  survey: Parameters<typeof surveyProgress>[1],
  verdict: ReturnType<typeof judgeOption>,
): SurveySum {
  const progress = surveyProgress(heater, survey);
  const isPossible = verdict.state !== "not-possible";
  return {
    heaters: 1,
    seen: progress.isSeen ? 1 : 0,
    asked: progress.asked,
    unknown: progress.unknown,
    inferred: progress.inferred,
    workCents: isPossible ? verdict.cost.workCents : 0,
    unseenCents: isPossible ? verdict.cost.unseenCents : 0,
    states: { ...NO_STATES, [verdict.state]: 1 },
    tooSmall: verdict.sizing.verdict === "short" ? 1 : 0,
  };
}

function addSums(a: SurveySum, b: SurveySum): SurveySum {
  return {
    heaters: a.heaters + b.heaters,
    seen: a.seen + b.seen,
    asked: a.asked + b.asked,
    unknown: a.unknown + b.unknown,
    inferred: a.inferred + b.inferred,
    workCents: a.workCents + b.workCents,
    unseenCents: a.unseenCents + b.unseenCents,
    states: Object.fromEntries(
      VERDICT_STATES.map((state) => [state, a.states[state] + b.states[state]]),
    ) as Record<VerdictState, number>,
    tooSmall: a.tooSmall + b.tooSmall,
  };
}

/** The property to look at: the one asked for, or the first where the whole is too large to be read. */
export async function chooseProperty(
  client: TenantClient,
  asked: string | null,
): Promise<Pick<SitesView, "properties" | "propertyId" | "needsProperty">> {
  const properties = await listPropertyChoices(client);
  const total = properties.reduce((sum, { heaterCount }) => sum + heaterCount, 0);
  const needsProperty = total > WHOLE_PORTFOLIO_HEATERS;
  const found = properties.find(({ id }) => id === asked)?.id ?? null;
  return {
    properties,
    needsProperty,
    propertyId: found ?? (needsProperty ? (properties[0]?.id ?? null) : null),
  };
}
