import "server-only";
import { CAUTIONS, type HazardousAct } from "@/lib/core/heaters/cautions";
import type { Heater } from "@/lib/core/heaters/heater";
import { effectiveAnswers, type SurveyAnswer } from "@/lib/core/heaters/readiness";
import { chooseForEmergency, type EmergencyChoice } from "@/lib/core/planning/emergency-choice";
import {
  judgeOption,
  UNKNOWN_NEEDS_WORK,
  type VerdictContext,
} from "@/lib/core/planning/option-verdict";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import { loadFleet } from "@/lib/data/fleet";
import type { CatalogueOption } from "@/lib/data/options";
import { readOrganization, updateSettingsSection } from "@/lib/data/settings";
import { listSiteBuildings, type SiteBuilding } from "@/lib/data/sites";
import { listSurveyAnswers } from "@/lib/data/survey";
import { type SqlClient, withSql } from "@/lib/data/tenant";
import {
  type EmergencyContact,
  type EmergencyTerms,
  emergencyFormSchema,
  readEmergencyTerms,
} from "./emergency-form";
import { mayDo } from "./permissions";
import { chooseProperty, type SitesView } from "./sites";
import { activeOptions, loadBuildingHeaters, requireSiteBuilding } from "./survey";
import { requireAction, type Viewer } from "./viewer";

/** What to do today if one heater fails now. */
export type EmergencyCard = {
  readonly heater: Heater;
  readonly choice: EmergencyChoice;
  readonly answers: ReturnType<typeof effectiveAnswers>;
  /** Hazards of the work, each once. */
  readonly cautions: readonly HazardousAct[];
};

export type BuildingCards = {
  readonly building: SiteBuilding;
  readonly terms: EmergencyTerms;
  /** People for this property and for all. */
  readonly contacts: readonly EmergencyContact[];
  readonly cards: readonly EmergencyCard[];
};

/** The cards of a building, or of one heater of it, for the wall of the office. */
export function readBuildingCards(
  viewer: Viewer,
  buildingId: string,
  today: CalendarDay,
  heaterId: string | null = null,
): Promise<BuildingCards> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const building = await requireSiteBuilding(client, buildingId);
    const options = await activeOptions(client, viewer);
    const terms = await loadTerms(client);
    const { heaters, surveys, siteOf } = await loadBuildingHeaters(client, buildingId);
    return {
      building,
      terms,
      contacts: terms.contacts.filter(
        ({ propertyId }) => propertyId === null || propertyId === building.propertyId,
      ),
      cards: heaters
        .filter(({ id }) => heaterId === null || id === heaterId)
        .map((heater) =>
          cardOf(heater, surveys.get(heater.id) ?? [], {
            building,
            options,
            terms,
            today,
            site: siteOf(heater),
          }),
        ),
    };
  });
}

/** What an emergency at a heater is judged from. */
export type EmergencyPlace = {
  readonly building: Pick<SiteBuilding, "headroomCircuits">;
  readonly options: readonly CatalogueOption[];
  readonly terms: Pick<EmergencyTerms, "preApproved" | "otherwise">;
  readonly today: CalendarDay;
  readonly site: VerdictContext["site"];
};

function cardOf(
  heater: Heater,
  survey: readonly SurveyAnswer[],
  place: EmergencyPlace,
): EmergencyCard {
  const { choice, answers } = judgeForEmergency(heater, survey, place);
  return { heater, choice, answers, cautions: choice.verdict?.cautions ?? [] };
}

/** The listed options held against a heater, and the one that goes in if it fails today. */
export function judgeForEmergency(
  heater: Heater,
  survey: readonly SurveyAnswer[],
  { building, options, terms, today, site }: EmergencyPlace,
) {
  const answers = effectiveAnswers(heater, survey);
  const wanted = new Set([...terms.preApproved, ...terms.otherwise]);
  const verdicts = new Map(
    options
      .filter(({ code }) => wanted.has(code))
      .map((option) => [
        option.code,
        judgeOption(heater, option, {
          today,
          site,
          answers,
          headroomCircuits: building.headroomCircuits,
          unknownNeedsWorkShare: UNKNOWN_NEEDS_WORK.value,
        }),
      ]),
  );
  return { answers, verdicts, choice: chooseForEmergency(verdicts, terms) };
}

/** How many heaters of a building would meet what. */
export type CardSum = {
  readonly building: SiteBuilding;
  readonly heaters: number;
  readonly preApproved: number;
  readonly otherwise: number;
  readonly nothing: number;
};

export type EmergencyBoard = Pick<SitesView, "properties" | "propertyId" | "needsProperty"> & {
  readonly terms: EmergencyTerms;
  readonly buildings: readonly CardSum[];
  readonly options: readonly CatalogueOption[];
  readonly mayEdit: boolean;
};

/** Building by building, what a failure today would meet. */
export function readEmergencyBoard(
  viewer: Viewer,
  asked: string | null,
  today: CalendarDay,
): Promise<EmergencyBoard> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const place = await chooseProperty(client, asked);
    const options = await activeOptions(client, viewer);
    const terms = await loadTerms(client);
    const buildings = await listSiteBuildings(client, place.propertyId);
    const byId = new Map(buildings.map((building) => [building.id, building]));
    const fleet = await loadFleet(client, { propertyId: place.propertyId });
    const surveys = await listSurveyAnswers(client, { propertyId: place.propertyId });
    const sums = new Map<string, { preApproved: number; otherwise: number; nothing: number }>();
    for (const heater of fleet.heaters) {
      const building = byId.get(heater.buildingId);
      const site = fleet.sites.get(heater.propertyId);
      if (!building || !site) continue;
      const { choice } = judgeForEmergency(heater, surveys.get(heater.id) ?? [], {
        building,
        options,
        terms,
        today,
        site,
      });
      const sum = sums.get(building.id) ?? { preApproved: 0, otherwise: 0, nothing: 0 };
      if (choice.verdict === null) sum.nothing += 1;
      else if (choice.isPreApproved) sum.preApproved += 1;
      else sum.otherwise += 1;
      sums.set(building.id, sum);
    }
    return {
      ...place,
      terms,
      options,
      mayEdit: mayDo(viewer.role, "plan.edit"),
      buildings: buildings
        .filter(({ heaters }) => heaters > 0)
        .map((building) => ({
          building,
          heaters: building.heaters,
          ...(sums.get(building.id) ?? { preApproved: 0, otherwise: 0, nothing: 0 }),
        })),
    };
  });
}

export async function loadTerms(client: SqlClient): Promise<EmergencyTerms> {
  return readEmergencyTerms((await readOrganization(client)).settings.emergency);
}

/** Keeps what is approved for failures and whom to call, under the name of who decided. */
export function saveEmergencyTerms(
  viewer: Viewer,
  input: unknown,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "plan.edit");
  return withSql(viewer, async (client) => {
    const parsed = parseWith(emergencyFormSchema, input);
    if (!parsed.ok) return parsed;
    const form = parsed.value;
    const offered = new Set((await activeOptions(client, viewer)).map(({ code }) => code));
    const unknown = [...form.preApproved, ...form.otherwise].find((code) => !offered.has(code));
    if (unknown !== undefined) {
      return failure({ path: "", message: `The catalogue does not offer "${unknown}" any more.` });
    }
    const { settings } = await readOrganization(client, { forUpdate: true });
    await updateSettingsSection(client, viewer.organizationId, "emergency", {
      ...form,
      approvedBy: viewer.name,
      approvedOn: today,
    });
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "emergency.edit",
      entity: "Organization",
      entityId: viewer.organizationId,
      before: settings.emergency ?? null,
      after: { ...form, approvedOn: today },
    });
    return success(null);
  });
}

/** The words of the cautions, for a page that prints them once. */
export function cautionsOf(cards: readonly EmergencyCard[]): readonly string[] {
  const acts = new Set(cards.flatMap(({ cautions }) => cautions));
  return [...acts].map((act) => CAUTIONS[act]);
}
