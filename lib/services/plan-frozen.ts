import { createHash } from "node:crypto";
import { promisify } from "node:util";
import { gunzip, gzip } from "node:zlib";
import { buildPlanProblem } from "@/lib/core/planning/build-problem";
import { checkPlan } from "@/lib/core/planning/check-plan";
import { type CostingInput, prepareCosting, priceHeater } from "@/lib/core/planning/costing";
import type { ReplacementOption } from "@/lib/core/planning/options";
import type { ConversionGroup } from "@/lib/core/planning/plant-conversion";
import type { PlanAssignment, PlanBuilding, PlanSchedule } from "@/lib/core/planning/problem";
import type { ScenarioTerms } from "@/lib/core/planning/scenario";
import type { PlanModels } from "./plan-inputs";
import { withoutTooSmall } from "./plan-sizing";

/** Everything that a plan is computed from. Equal inputs give equal bytes and an equal fingerprint. */
export type FrozenInputs = {
  readonly method: string;
  readonly terms: ScenarioTerms;
  readonly seed: number;
  readonly limits: { readonly gap: number; readonly seconds: number };
  readonly models: Pick<PlanModels, "survival" | "consequences">;
  readonly options: readonly ReplacementOption[];
  readonly buildings: readonly PlanBuilding[];
  readonly conversions: readonly ConversionGroup[];
  /** Heaters with the codes of the options that are too small for their homes. */
  readonly heaters: readonly (CostingInput & { readonly tooSmall: readonly string[] })[];
};

type Row =
  | {
      readonly head: Pick<FrozenInputs, "method" | "terms" | "seed" | "limits" | "models">;
    }
  | { readonly option: ReplacementOption }
  | { readonly building: PlanBuilding }
  | { readonly conversion: ConversionGroup }
  | { readonly heater: FrozenInputs["heaters"][number] };

/** Inputs ready to be stored, and their SHA-256 fingerprint. */
export async function freezeInputs(
  inputs: FrozenInputs,
): Promise<{ readonly bytes: Buffer; readonly fingerprint: string }> {
  const { method, terms, seed, limits, models } = inputs;
  const hash = createHash("sha256");
  const lines: Buffer[] = [];
  const add = (row: Row) => {
    const line = Buffer.from(`${canonicalJson(row)}\n`);
    hash.update(line);
    lines.push(line);
  };
  add({ head: { method, terms, seed, limits, models } });
  for (const option of byKey(inputs.options, ({ code }) => code)) add({ option });
  for (const building of byKey(inputs.buildings, ({ id }) => id)) add({ building });
  for (const conversion of inputs.conversions) add({ conversion });
  for (const heater of byKey(inputs.heaters, ({ id }) => id)) add({ heater });
  return { bytes: await promisify(gzip)(Buffer.concat(lines)), fingerprint: hash.digest("hex") };
}

/** What stored inputs say of themselves when they are read again. */
export async function thawInputs(
  bytes: Buffer,
): Promise<{ readonly inputs: FrozenInputs; readonly fingerprint: string }> {
  const text = await promisify(gunzip)(bytes);
  const options: ReplacementOption[] = [];
  const buildings: PlanBuilding[] = [];
  const conversions: ConversionGroup[] = [];
  const heaters: FrozenInputs["heaters"][number][] = [];
  let head: Extract<Row, { head: unknown }>["head"] | null = null;
  let from = 0;
  while (from < text.length) {
    const end = text.indexOf("\n", from);
    // Written by freezeInputs only; the fingerprint says whether it is what was written.
    const row = JSON.parse(text.toString("utf8", from, end < 0 ? text.length : end)) as Row;
    if ("head" in row) head = row.head;
    else if ("option" in row) options.push(row.option);
    else if ("building" in row) buildings.push(row.building);
    else if ("conversion" in row) conversions.push(row.conversion);
    else heaters.push(row.heater);
    from = end < 0 ? text.length : end + 1;
  }
  if (head === null) throw new RangeError("frozen inputs must begin with their terms");
  return {
    inputs: { ...head, options, buildings, conversions, heaters },
    fingerprint: createHash("sha256").update(text).digest("hex"),
  };
}

export type Recomputed = {
  readonly fingerprint: string;
  readonly objectiveCents: number;
  /** Rules that the plan breaks; empty for one that was stored as it was found. */
  readonly violations: readonly string[];
};

/**
 * Prices every choice anew from frozen inputs and costs a stored schedule by the rules alone: what an
 * auditor needs to believe the stored figures without believing the record of today.
 */
export async function recomputePlan(
  bytes: Buffer,
  lines: readonly {
    readonly heaterId: string;
    readonly optionCode: string | null;
    readonly period: string | null;
  }[],
  upgrades: PlanSchedule["upgrades"],
): Promise<Recomputed> {
  const { inputs, fingerprint } = await thawInputs(bytes);
  const context = prepareCosting(inputs.terms, inputs.options);
  const priced = inputs.heaters.map(({ tooSmall, ...input }) =>
    withoutTooSmall(priceHeater(context, input), new Set(tooSmall)),
  );
  const problem = buildPlanProblem(
    context,
    priced,
    inputs.buildings,
    inputs.conversions.map(({ id, heaters }) => ({ id, heaters })),
  );
  const lineOf = new Map(lines.map((line) => [line.heaterId, line]));
  const visits = new Map<string, PlanSchedule["mobilisations"][number]>();
  const assignments = inputs.heaters.map(({ id, building }): PlanAssignment => {
    const line = lineOf.get(id);
    if (!line || line.optionCode === null || line.period === null) {
      return { heater: id, never: true };
    }
    visits.set(JSON.stringify([building, line.period]), { building, period: line.period });
    return { heater: id, option: line.optionCode, period: line.period };
  });
  const { objectiveCents, violations } = checkPlan(problem, {
    assignments,
    upgrades,
    mobilisations: [...visits.values()],
  });
  const known = new Set(inputs.heaters.map(({ id }) => id));
  const strangers = lines.filter(({ heaterId }) => !known.has(heaterId));
  return {
    fingerprint,
    objectiveCents,
    violations: [
      ...violations,
      ...strangers.map(({ heaterId }) => `Heater ${heaterId} is not among the inputs`),
    ],
  };
}

function byKey<T>(items: readonly T[], key: (item: T) => string): readonly T[] {
  return [...items].sort((a, b) => (key(a) < key(b) ? -1 : 1));
}

/** JSON whose keys are in order, so that equal values give equal text. */
function canonicalJson(value: unknown): string {
  return JSON.stringify(value, (_key, each: unknown) =>
    each !== null && typeof each === "object" && !Array.isArray(each)
      ? Object.fromEntries(Object.entries(each).sort(([a], [b]) => (a < b ? -1 : 1)))
      : each,
  );
}
