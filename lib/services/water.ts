import "server-only";
import { z } from "zod";
import type { Heater, Water } from "@/lib/core/heaters/heater";
import { hasTank } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import type { SurvivalModel } from "@/lib/core/survival/model";
import { forecastFailure } from "@/lib/core/survival/predict";
import { flushWaterFactor } from "@/lib/core/upkeep/due-tasks";
import { classifyHardness, type HardnessClass } from "@/lib/core/upkeep/hardness";
import { anodeWaterFactor, type UpkeepRules } from "@/lib/core/upkeep/rules";
import { saturationAtTank, type TankSaturation } from "@/lib/core/upkeep/saturation-index";
import { writeAudit } from "@/lib/data/audit";
import { loadFleet } from "@/lib/data/fleet";
import { withSql } from "@/lib/data/tenant";
import { listPropertyChoices, type PropertyChoice } from "@/lib/data/upkeep";
import {
  deleteAnalysis,
  insertAnalysis,
  listAnalyses,
  listLatestAnalyses,
  type WaterAnalysis,
  type WaterAnalysisRow,
} from "@/lib/data/water";
import { mayDo } from "./permissions";
import { loadCurrentModel } from "./risk-model";
import { requestRiskPass } from "./risk-scoring";
import { loadUpkeepRules } from "./upkeep-rules";
import { requireAction, type Viewer } from "./viewer";
import { waterFormSchema } from "./water-form";

export type { WaterAnalysis, WaterAnalysisRow } from "@/lib/data/water";

/** Tank temperature where no setpoint is on record: that of the federal test procedure, °F (from memory). */
const ASSUMED_TANK_F = 125;

export type PropertyWater = PropertyChoice & {
  readonly latest: WaterAnalysis | null;
  /** USGS class; null where hardness was never measured. */
  readonly usgsClass: HardnessClass | null;
};

/** What an analysis says of scale in the tank: the index, or the names of the values that it lacks. */
export type Scale = { readonly value: TankSaturation } | { readonly missing: readonly string[] };

export type WaterEffects = {
  readonly tankF: number;
  /** True when no heater of the property has a setpoint on record. */
  readonly isTankAssumed: boolean;
  readonly flushMonths: number;
  readonly flushReason: string | null;
  readonly anodeInspectionMonths: number;
  readonly anodeMedianMonths: number;
  /** Mean 12-month failure probability of the property's heaters, as the water is and as others would be. */
  readonly risk: {
    readonly now: number;
    /** In soft water that is not softened, which adds no wear. */
    readonly soft: number;
    /** In softened water: no scale, and anodes used up faster. */
    readonly softened: number;
    readonly heaters: number;
  } | null;
};

export type WaterView = {
  readonly properties: readonly PropertyWater[];
  readonly chosen: {
    readonly property: PropertyWater;
    readonly analyses: readonly (WaterAnalysisRow & { readonly scale: Scale })[];
    readonly effects: WaterEffects;
  } | null;
  readonly mayEdit: boolean;
};

/** The water of all properties, and of one with its trend and what it does to care and risk. */
export function readWater(
  viewer: Viewer,
  propertyId: string | null,
  today: CalendarDay,
): Promise<WaterView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const latest = await listLatestAnalyses(client);
    const properties = (await listPropertyChoices(client)).map((choice): PropertyWater => {
      const analysis = latest.get(choice.id) ?? null;
      const hardness = analysis?.hardnessMgPerLitre ?? null;
      return {
        ...choice,
        latest: analysis,
        usgsClass: hardness === null ? null : classifyHardness(hardness),
      };
    });
    const property = properties.find(({ id }) => id === propertyId) ?? properties[0];
    const mayEdit = mayDo(viewer.role, "heater.edit");
    if (!property) return { properties, chosen: null, mayEdit };
    const { heaters } = await loadFleet(client, { propertyId: property.id });
    const rules = (await loadUpkeepRules(client, property.id))(property.id);
    const effects = effectsOf(
      heaters,
      property.latest,
      rules,
      await loadCurrentModel(client),
      today,
    );
    const analyses = await listAnalyses(client, property.id);
    return {
      properties,
      mayEdit,
      chosen: {
        property,
        analyses: analyses.map((analysis) => ({
          ...analysis,
          scale: saturationAtTank(analysis, effects.tankF),
        })),
        effects,
      },
    };
  });
}

function effectsOf(
  heaters: readonly Heater[],
  latest: WaterAnalysis | null,
  rules: UpkeepRules,
  model: SurvivalModel,
  today: CalendarDay,
): WaterEffects {
  const setpoints = heaters
    .filter(({ technology }) => hasTank(technology))
    .flatMap(({ setpointF }) => (setpointF === null ? [] : [setpointF]))
    .sort((a, b) => a - b);
  const middle = setpoints[Math.floor(setpoints.length / 2)];
  const water = {
    hardnessMgPerLitre: latest?.hardnessMgPerLitre ?? null,
    softened: latest?.softened ?? ("unknown" as const),
  };
  const flush = flushWaterFactor({ water }, rules);
  const anode = anodeWaterFactor(rules, water.softened);
  const meanRisk = (changed: Partial<Water>) =>
    heaters.reduce((sum, heater) => {
      const one = { ...heater, water: { ...heater.water, ...changed } };
      return (
        sum + forecastFailure(model, one, { today, horizonsYears: [1] }).failureProbabilities[0]
      );
    }, 0) / heaters.length;
  return {
    tankF: middle ?? ASSUMED_TANK_F,
    isTankAssumed: middle === undefined,
    flushMonths: Math.round(rules.intervalMonths.flush.value * flush.factor),
    flushReason: flush.reason,
    anodeInspectionMonths: Math.round(rules.intervalMonths["anode-inspection"].value * anode),
    anodeMedianMonths: Math.round(rules.intervalMonths["anode-replacement"].value * anode),
    risk:
      heaters.length === 0
        ? null
        : {
            now: meanRisk({}),
            soft: meanRisk({ hardnessMgPerLitre: 60, softened: "no" }),
            softened: meanRisk({ softened: "yes" }),
            heaters: heaters.length,
          },
  };
}

/** Adds an analysis; the latest of a property sets its water, so the fleet is scored anew. */
export async function addAnalysis(
  viewer: Viewer,
  input: unknown,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "heater.edit");
  const parsed = parseWith(waterFormSchema, input);
  if (!parsed.ok) return parsed;
  const { propertyId, analysis } = parsed.value;
  if (analysis.sampledOn > today) {
    return failure({ path: "sampledOn", message: "The day of the sample is in the future." });
  }
  return withSql(viewer, async (client) => {
    const properties = await listPropertyChoices(client);
    if (!properties.some(({ id }) => id === propertyId)) {
      return failure({ path: "", message: "There is no such property any more." });
    }
    const id = await insertAnalysis(client, viewer.organizationId, propertyId, analysis);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "water-test.add",
      entity: "WaterTest",
      entityId: id,
      after: { propertyId, ...analysis },
    });
    await requestRiskPass(client, viewer, today);
    return success(null);
  });
}

/** Takes an analysis off the record; the log keeps what it said. */
export async function removeAnalysis(
  viewer: Viewer,
  id: string,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "heater.edit");
  const isId = z.uuid().safeParse(id).success;
  return withSql(viewer, async (client) => {
    const before = isId ? await deleteAnalysis(client, id) : null;
    if (!before) return failure({ path: "", message: "It is not on record any more." });
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "water-test.remove",
      entity: "WaterTest",
      entityId: id,
      before,
    });
    await requestRiskPass(client, viewer, today);
    return success(null);
  });
}
