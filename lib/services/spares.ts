import "server-only";
import type { Heater } from "@/lib/core/heaters/heater";
import { planSpares, type SparesDemand } from "@/lib/core/heaters/spares";
import type { Technology } from "@/lib/core/heaters/vocabulary";
import type { EmergencyChoice } from "@/lib/core/planning/emergency-choice";
import { type CalendarDay, DAYS_PER_YEAR } from "@/lib/core/shared/calendar-day";
import { type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import type { SurvivalModel } from "@/lib/core/survival/model";
import { forecastFailure } from "@/lib/core/survival/predict";
import { writeAudit } from "@/lib/data/audit";
import { loadFleet } from "@/lib/data/fleet";
import type { CatalogueOption } from "@/lib/data/options";
import { readOrganization, updateSettingsSection } from "@/lib/data/settings";
import { listSiteBuildings, readExpectedDraws } from "@/lib/data/sites";
import { listSurveyAnswers } from "@/lib/data/survey";
import { withSql } from "@/lib/data/tenant";
import { judgeForEmergency, loadTerms } from "./emergency-card";
import type { EmergencyTerms } from "./emergency-form";
import { mayDo } from "./permissions";
import { loadCurrentModel } from "./risk-model";
import { chooseProperty, type SitesView } from "./sites";
import { readSparesTerms, type SparesTerms, sparesFormSchema } from "./spares-form";
import { activeOptions } from "./survey";
import { requireAction, type Viewer } from "./viewer";

/** How many of one kind to keep, for what fails as places are and as they could be. */
export type SparesLine = {
  readonly code: string;
  readonly name: string;
  readonly technology: Technology;
  readonly leadDays: number;
  /** What failing heaters get as their places are today. */
  readonly today: SparesNeed;
  /** The same if every place were made ready for the first approved option that can go there. */
  readonly whenReady: SparesNeed;
  readonly onHand: number;
};

export type SparesNeed = {
  readonly heaters: number;
  /** Expected failures within the lead time. */
  readonly expected: number;
  readonly stock: number;
  readonly chanceAllMet: number;
  readonly shareMetFromStock: number;
};

export type SparesView = Pick<SitesView, "properties" | "propertyId" | "needsProperty"> & {
  readonly lines: readonly SparesLine[];
  readonly terms: SparesTerms;
  readonly emergency: EmergencyTerms;
  /** Heaters for which no listed option can go in. */
  readonly unmet: number;
  readonly heaters: number;
  readonly method: string;
  /** Draws of the risk model that its doubt is taken from; 0 before the first pass. */
  readonly draws: number;
  readonly mayEdit: boolean;
};

const NO_NEED: SparesNeed = {
  heaters: 0,
  expected: 0,
  stock: 0,
  chanceAllMet: 1,
  shareMetFromStock: 1,
};

/** How many heaters of each kind to keep ordered ahead at the chance asked. */
export function readSpares(
  viewer: Viewer,
  asked: string | null,
  today: CalendarDay,
): Promise<SparesView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const place = await chooseProperty(client, asked);
    const options = await activeOptions(client, viewer);
    const emergency = await loadTerms(client);
    const { settings } = await readOrganization(client);
    const terms = readSparesTerms(settings.spares);
    const buildings = new Map(
      (await listSiteBuildings(client, place.propertyId)).map((each) => [each.id, each]),
    );
    const fleet = await loadFleet(client, { propertyId: place.propertyId });
    const surveys = await listSurveyAnswers(client, { propertyId: place.propertyId });
    const model = await loadCurrentModel(client);
    const draws = await readExpectedDraws(client);
    const chances = new LeadTimeChances(model, terms, today);
    const asIs: SparesDemand[] = [];
    const asReady: SparesDemand[] = [];
    let unmet = 0;
    for (const heater of fleet.heaters) {
      const building = buildings.get(heater.buildingId);
      const site = fleet.sites.get(heater.propertyId);
      if (!building || !site) continue;
      const { choice, verdicts } = judgeForEmergency(heater, surveys.get(heater.id) ?? [], {
        building,
        options,
        terms: emergency,
        today,
        site,
      });
      if (choice.verdict === null) unmet += 1;
      else asIs.push(chances.demand(heater, choice.verdict.code));
      const aim = aimOf(choice, verdicts, emergency);
      if (aim !== null) asReady.push(chances.demand(heater, aim));
    }
    const plan = { serviceLevel: terms.servicePercent / 100, doubt: doubtOf(draws) };
    const need = (demands: readonly SparesDemand[]) =>
      new Map(planSpares(demands, plan).map(({ kind, ...each }) => [kind, each]));
    const [now, then] = [need(asIs), need(asReady)];
    return {
      ...place,
      terms,
      emergency,
      unmet,
      heaters: fleet.heaters.length,
      method: model.method,
      draws: draws.length,
      mayEdit: mayDo(viewer.role, "plan.edit"),
      lines: linesOf(options, emergency, terms, now, then),
    };
  });
}

function linesOf(
  options: readonly CatalogueOption[],
  { preApproved, otherwise }: EmergencyTerms,
  terms: SparesTerms,
  now: ReadonlyMap<string, SparesNeed>,
  then: ReadonlyMap<string, SparesNeed>,
): readonly SparesLine[] {
  return [...preApproved, ...otherwise].flatMap((code) => {
    const option = options.find((each) => each.code === code);
    if (!option) return [];
    return [
      {
        code,
        name: option.name,
        technology: option.terms.technology,
        leadDays: leadDaysOf(terms, code),
        today: now.get(code) ?? NO_NEED,
        whenReady: then.get(code) ?? NO_NEED,
        onHand: terms.onHand[code] ?? 0,
      },
    ];
  });
}

/**
 * What a heater would get if its place were made ready: the first approved option that can go there and
 * is large enough, else what it gets today.
 */
function aimOf(
  choice: EmergencyChoice,
  verdicts: ReturnType<typeof judgeForEmergency>["verdicts"],
  { preApproved }: EmergencyTerms,
): string | null {
  const possible = preApproved.find((code) => {
    const verdict = verdicts.get(code);
    return (
      verdict !== undefined &&
      verdict.state !== "not-possible" &&
      verdict.sizing.verdict !== "short"
    );
  });
  return possible ?? choice.verdict?.code ?? null;
}

const leadDaysOf = (terms: SparesTerms, code: string): number =>
  terms.leadDays[code] ?? terms.generalLeadDays;

/** What the risk model does not know of itself, as factors on the expected number, each equally likely. */
function doubtOf(draws: readonly number[]): readonly number[] {
  const mean = draws.reduce((sum, draw) => sum + draw, 0) / draws.length;
  return draws.length === 0 || !(mean > 0) ? [1] : draws.map((draw) => draw / mean);
}

/** Chances of failing within a kind's lead time, each looked up once a heater and lead time. */
class LeadTimeChances {
  readonly #known = new Map<string, number>();

  constructor(
    private readonly model: SurvivalModel,
    private readonly terms: SparesTerms,
    private readonly today: CalendarDay,
  ) {}

  demand(heater: Heater, code: string): SparesDemand {
    const days = leadDaysOf(this.terms, code);
    const key = `${heater.id} ${days}`;
    let chance = this.#known.get(key);
    if (chance === undefined) {
      [chance = 0] = forecastFailure(this.model, heater, {
        today: this.today,
        horizonsYears: [days / DAYS_PER_YEAR],
      }).failureProbabilities;
      this.#known.set(key, chance);
    }
    return { kind: code, failureProbability: chance };
  }
}

/** Keeps lead times, stock and the chance asked. */
export function saveSparesTerms(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "plan.edit");
  return withSql(viewer, async (client) => {
    const parsed = parseWith(sparesFormSchema, input);
    if (!parsed.ok) return parsed;
    const offered = new Set((await activeOptions(client, viewer)).map(({ code }) => code));
    const known = (given: Readonly<Record<string, number | null>>) =>
      Object.fromEntries(
        Object.entries(given).filter(([code, value]) => offered.has(code) && value !== null),
      );
    const { settings } = await readOrganization(client, { forUpdate: true });
    const after = {
      servicePercent: parsed.value.servicePercent,
      generalLeadDays: parsed.value.generalLeadDays,
      leadDays: known(parsed.value.leadDays),
      onHand: known(parsed.value.onHand),
    };
    await updateSettingsSection(client, viewer.organizationId, "spares", after);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "spares.edit",
      entity: "Organization",
      entityId: viewer.organizationId,
      before: settings.spares ?? null,
      after,
    });
    return success(null);
  });
}
