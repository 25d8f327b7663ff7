import "server-only";
import { randomUUID } from "node:crypto";
import type { Heater } from "@/lib/core/heaters/heater";
import {
  effectiveAnswers,
  SURVEY_ITEMS,
  SURVEY_QUESTIONS,
  type SurveyAnswer,
  type SurveyItem,
  type SurveyProgress,
  surveyItemsOf,
  surveyProgress,
} from "@/lib/core/heaters/readiness";
import { whyNotAlike } from "@/lib/core/heaters/readiness-likeness";
import {
  judgeOption,
  type OptionVerdict,
  UNKNOWN_NEEDS_WORK,
} from "@/lib/core/planning/option-verdict";
import { addDays, type CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import { loadFleet } from "@/lib/data/fleet";
import { type CatalogueOption, ensureOptions, listOptions } from "@/lib/data/options";
import { listPhotos, type SurveyPhoto } from "@/lib/data/photos";
import { findSiteBuilding, listHeaterIdsOfBuilding, type SiteBuilding } from "@/lib/data/sites";
import {
  deleteInference,
  type Inference,
  inferAnswers,
  listInferences,
  listSurveyAnswers,
  updateRecordedPlace,
  writeSeenAnswers,
} from "@/lib/data/survey";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import { refreshHeaterRisk } from "./risk-scoring";
import { ServiceError } from "./service-error";
import { referenceOption } from "./sites-option";
import { surveyCopySchema, surveyEntrySchema } from "./survey-form";
import { requireAction, type Viewer } from "./viewer";

export type { SurveyPhoto } from "@/lib/data/photos";
export type { SiteBuilding } from "@/lib/data/sites";
export type { Inference } from "@/lib/data/survey";

/** A heater as the building's survey lists it. */
export type SurveyLine = {
  readonly heater: Heater;
  readonly progress: SurveyProgress;
  readonly answers: ReturnType<typeof effectiveAnswers>;
  readonly verdict: OptionVerdict;
};

export type LikeHeater = {
  readonly heaterId: string;
  readonly tag: string;
  readonly home: string | null;
  /** Why its place is not taken to be alike; empty when it is. */
  readonly why: readonly string[];
  /** Answers that it lacks and would get. */
  readonly gains: number;
};

export type BuildingSurvey = {
  readonly building: SiteBuilding;
  readonly option: CatalogueOption;
  readonly options: readonly CatalogueOption[];
  readonly lines: readonly SurveyLine[];
  readonly inferences: readonly Inference[];
  /** Heaters that the answers of the one chosen may be carried to; null when none is chosen. */
  readonly copy: {
    readonly from: Heater;
    readonly sameRiser: boolean;
    /** Answers seen there that may go to others, with what they go by. */
    readonly items: readonly {
      readonly item: SurveyItem;
      readonly answer: SurveyAnswer["answer"];
      readonly goesWithPlan: boolean;
    }[];
    readonly others: readonly LikeHeater[];
  } | null;
  readonly mayEdit: boolean;
};

/** The survey of a building, heater by heater, held against one option. */
export function readBuildingSurvey(
  viewer: Viewer,
  buildingId: string,
  choice: {
    readonly optionCode: string | null;
    readonly copyFromId: string | null;
    readonly sameRiser: boolean;
  },
  today: CalendarDay,
): Promise<BuildingSurvey> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const building = await requireSiteBuilding(client, buildingId);
    const options = await activeOptions(client, viewer);
    const option = referenceOption(options, choice.optionCode);
    const { heaters, surveys, siteOf } = await loadBuildingHeaters(client, buildingId);
    const lines = heaters.map((heater): SurveyLine => {
      const survey = surveys.get(heater.id) ?? [];
      const answers = effectiveAnswers(heater, survey);
      return {
        heater,
        answers,
        progress: surveyProgress(heater, survey),
        verdict: judgeOption(heater, option, {
          today,
          site: siteOf(heater),
          answers,
          headroomCircuits: building.headroomCircuits,
          unknownNeedsWorkShare: UNKNOWN_NEEDS_WORK.value,
        }),
      };
    });
    const from = heaters.find(({ id }) => id === choice.copyFromId) ?? null;
    return {
      building,
      option,
      options,
      lines,
      inferences: await listInferences(client, buildingId),
      copy: from && copyOf(from, heaters, surveys, choice.sameRiser),
      mayEdit: mayDo(viewer.role, "heater.edit"),
    };
  });
}

type Surveys = ReadonlyMap<string, readonly SurveyAnswer[]>;

function copyOf(
  from: Heater,
  heaters: readonly Heater[],
  surveys: Surveys,
  sameRiser: boolean,
): BuildingSurvey["copy"] {
  const seen = (surveys.get(from.id) ?? []).filter(
    ({ basis, answer }) => basis === "seen" && answer !== "unknown",
  );
  const items = SURVEY_ITEMS.flatMap((item) => {
    const answer = seen.find((each) => each.item === item);
    const { goesWithPlan } = SURVEY_QUESTIONS[item];
    return answer ? [{ item, answer: answer.answer, goesWithPlan }] : [];
  });
  return {
    from,
    sameRiser,
    items,
    others: heaters
      .filter(({ id }) => id !== from.id)
      .map((other) => {
        const known = new Set((surveys.get(other.id) ?? []).map(({ item }) => item));
        return {
          heaterId: other.id,
          tag: other.tag,
          home: other.home.label,
          why: whyNotAlike(from, other, { sameRiser }),
          gains: items.filter(({ item }) => !known.has(item)).length,
        };
      }),
  };
}

/** One heater's place: what is known of it, and every option held against it. */
export type HeaterSite = {
  readonly heater: Heater;
  readonly building: SiteBuilding;
  readonly survey: readonly SurveyAnswer[];
  readonly answers: ReturnType<typeof effectiveAnswers>;
  readonly progress: SurveyProgress;
  readonly items: readonly SurveyItem[];
  readonly photos: readonly SurveyPhoto[];
  readonly verdicts: readonly OptionVerdict[];
  /** Tag of each heater that an answer was inferred from. */
  readonly inferredFrom: ReadonlyMap<string, string>;
  /** The next heater of the building whose place nobody has seen yet. */
  readonly next: { readonly id: string; readonly label: string } | null;
  readonly mayEdit: boolean;
};

/** Everything that the place of one heater is known for; null when the tenant has no such heater. */
export function readHeaterSite(
  viewer: Viewer,
  heaterId: string,
  today: CalendarDay,
): Promise<HeaterSite | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    if (!isId(heaterId)) return null;
    const fleet = await loadFleet(client, { heaterIds: [heaterId] });
    const [heater] = fleet.heaters;
    const site = heater && fleet.sites.get(heater.propertyId);
    if (!heater || !site) return null;
    const building = await requireSiteBuilding(client, heater.buildingId);
    const { heaters, surveys } = await loadBuildingHeaters(client, heater.buildingId);
    const survey = (await listSurveyAnswers(client, { heaterIds: [heaterId] })).get(heaterId) ?? [];
    const answers = effectiveAnswers(heater, survey);
    const options = await activeOptions(client, viewer);
    const tagOf = new Map(heaters.map(({ id, tag }) => [id, tag]));
    const place = heaters.findIndex(({ id }) => id === heaterId);
    const next = [...heaters.slice(place + 1), ...heaters.slice(0, Math.max(0, place))].find(
      (other) => !(surveys.get(other.id) ?? []).some(({ basis }) => basis === "seen"),
    );
    return {
      heater,
      building,
      survey,
      answers,
      progress: surveyProgress(heater, survey),
      items: surveyItemsOf(heater.technology),
      photos: await listPhotos(client, heaterId),
      verdicts: options.map((option) =>
        judgeOption(heater, option, {
          today,
          site,
          answers,
          headroomCircuits: building.headroomCircuits,
          unknownNeedsWorkShare: UNKNOWN_NEEDS_WORK.value,
        }),
      ),
      inferredFrom: new Map(
        survey.flatMap(({ inferredFromId }) =>
          inferredFromId === null ? [] : [[inferredFromId, tagOf.get(inferredFromId) ?? "–"]],
        ),
      ),
      next: next ? { id: next.id, label: next.home.label ?? next.tag } : null,
      mayEdit: mayDo(viewer.role, "heater.edit"),
    };
  });
}

/**
 * Keeps what was seen at a heater. Only the answers that were given change; what the survey saw of pan
 * and shut-off goes into the heater's own record, and its risk is scored anew.
 */
export async function saveSurvey(
  viewer: Viewer,
  heaterId: string,
  input: unknown,
  today: CalendarDay,
): Promise<Outcome<{ readonly answers: number }>> {
  requireAction(viewer, "heater.edit");
  const parsed = parseWith(surveyEntrySchema(addDays(today, 1)), input);
  if (!parsed.ok) return parsed;
  const { observedOn, answers } = parsed.value;
  return withSql(viewer, async (client) => {
    const heater = await requireHeater(client, heaterId);
    const asked = new Set(surveyItemsOf(heater.technology));
    const foreign = answers.find(({ item }) => !asked.has(item));
    if (foreign) {
      return failure({ path: "answers", message: "This is not asked of an electric heater." });
    }
    const before = (await listSurveyAnswers(client, { heaterIds: [heaterId] })).get(heaterId) ?? [];
    await writeSeenAnswers(client, viewer.organizationId, heaterId, answers, {
      observedOn,
      observedBy: viewer.name,
    });
    const given = new Map(answers.map(({ item, answer }) => [item, answer]));
    const known = (item: SurveyItem) => {
      const answer = given.get(item);
      return answer === "unknown" ? undefined : answer;
    };
    const isChanged = await updateRecordedPlace(client, heaterId, {
      drainPan: known("drain-pan"),
      leakShutoff: known("leak-shutoff"),
    });
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "survey.record",
      entity: "Heater",
      entityId: heaterId,
      before: Object.fromEntries(
        before.filter(({ item }) => given.has(item)).map(({ item, answer }) => [item, answer]),
      ),
      after: { tag: heater.tag, observedOn, ...Object.fromEntries(given) },
    });
    if (isChanged) await refreshHeaterRisk(client, viewer, [heaterId], today);
    return success({ answers: answers.length });
  });
}

/**
 * Carries answers over to like homes, marked as inferred until somebody looks. What is on record already
 * stays; homes that are not alike are refused.
 */
export async function copySurvey(
  viewer: Viewer,
  input: unknown,
): Promise<
  Outcome<{ readonly inferenceId: string; readonly heaters: number; readonly answers: number }>
> {
  requireAction(viewer, "heater.edit");
  const parsed = parseWith(surveyCopySchema, input);
  if (!parsed.ok) return parsed;
  const { fromId, toIds, items, sameRiser } = parsed.value;
  return withSql(viewer, async (client) => {
    const from = await requireHeater(client, fromId);
    const { heaters } = await loadFleet(client, { heaterIds: toIds });
    if (heaters.length < new Set(toIds).size) {
      return failure({ path: "toIds", message: "A heater is not on record any more." });
    }
    const unlike = heaters.find(
      (other) => other.id === fromId || whyNotAlike(from, other, { sameRiser }).length > 0,
    );
    if (unlike) {
      const why = whyNotAlike(from, unlike, { sameRiser }).join(", ") || "the heater itself";
      return failure({ path: "toIds", message: `${unlike.tag} is not alike: ${why}.` });
    }
    const inferenceId = randomUUID();
    const got = await inferAnswers(client, viewer.organizationId, {
      inferenceId,
      fromId,
      toIds,
      items,
    });
    const answers = [...got.values()].reduce((total, count) => total + count, 0);
    if (answers === 0) {
      return failure({
        path: "",
        message: "Nothing was carried over: these homes have answers of their own already.",
      });
    }
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "survey.infer",
      entity: "Heater",
      entityId: fromId,
      after: { tag: from.tag, inferenceId, items, heaters: got.size, answers },
    });
    return success({ inferenceId, heaters: got.size, answers });
  });
}

/** Takes a copying back; answers that somebody has seen since stay. */
export function takeBackCopy(viewer: Viewer, inferenceId: string): Promise<Outcome<null>> {
  requireAction(viewer, "heater.edit");
  return withSql(viewer, async (client) => {
    const answers = isId(inferenceId) ? await deleteInference(client, inferenceId) : 0;
    if (answers === 0) return failure({ path: "", message: "It is taken back already." });
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "survey.infer-take-back",
      entity: "Heater",
      entityId: null,
      before: { inferenceId, answers },
    });
    return success(null);
  });
}

/** @throws {ServiceError} `not-found` when the organisation has no such building. */
export async function requireSiteBuilding(
  client: TenantClient,
  buildingId: string,
  options: { readonly lock?: boolean } = {},
): Promise<SiteBuilding> {
  const building = isId(buildingId) ? await findSiteBuilding(client, buildingId, options) : null;
  if (!building) throw new ServiceError("not-found", "There is no such building.");
  return building;
}

async function requireHeater(client: TenantClient, heaterId: string): Promise<Heater> {
  const { heaters } = isId(heaterId)
    ? await loadFleet(client, { heaterIds: [heaterId] })
    : { heaters: [] };
  const [heater] = heaters;
  if (!heater) throw new ServiceError("not-found", "This heater is not on record any more.");
  return heater;
}

/** The heaters in service of a building in the order of their homes, with their surveys. */
export async function loadBuildingHeaters(client: TenantClient, buildingId: string) {
  const ids = await listHeaterIdsOfBuilding(client, buildingId);
  const fleet = await loadFleet(client, { heaterIds: ids });
  const byId = new Map(fleet.heaters.map((heater) => [heater.id, heater]));
  return {
    heaters: ids.flatMap((id) => byId.get(id) ?? []),
    surveys: await listSurveyAnswers(client, { heaterIds: ids }),
    siteOf: ({ propertyId }: Heater) => {
      const site = fleet.sites.get(propertyId);
      if (!site) throw new RangeError(`property ${propertyId} has no record`);
      return site;
    },
  };
}

/** Options that are offered; the starting catalogue on first use. */
export async function activeOptions(
  client: TenantClient,
  viewer: Viewer,
): Promise<readonly CatalogueOption[]> {
  await ensureOptions(client, viewer.organizationId);
  return (await listOptions(client)).filter(({ isActive }) => isActive);
}

function isId(text: string): boolean {
  return /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i.test(text);
}
