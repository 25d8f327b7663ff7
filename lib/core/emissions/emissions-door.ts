import { z } from "zod";
import { METER_HOLDERS } from "@/lib/core/energy/meters";
import { FUELS } from "@/lib/core/heaters/vocabulary";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { BASES } from "./annual-emissions";
import { type UpstreamMethane, upstreamMethane } from "./apart";
import {
  type FactorBook,
  type FactorRow,
  factorBookOf,
  isGridRegion,
  PUBLISHED_FACTORS,
  REFRIGERANTS,
} from "./factors";
import { DEFAULT_GWP_SET, GWP_SETS } from "./gases";
import { computeInventory, type Inventory, type InventoryItem } from "./inventory";
import { INSTRUMENT_KINDS } from "./market-instruments";

const share = z.number().min(0).max(1);
const meter = z.enum(METER_HOLDERS);
const year = z.int().min(1990).max(2150);

const itemSchema = z
  .strictObject({
    id: z.string().min(1),
    fuel: z.enum(FUELS).default("electricity"),
    therms: z.number().min(0).default(0),
    kwh: z.number().min(0).default(0),
    gridRegion: z.string().min(1),
    /** Where it stands, for instruments that cover one place only. */
    place: z.string().min(1).optional(),
    meteredBy: z.strictObject({ fuel: meter, electricity: meter }).optional(),
    basis: z.enum(BASES).default("modelled"),
    refrigerant: z
      .strictObject({
        refrigerant: z.enum(REFRIGERANTS),
        chargeKg: z.number().min(0),
        annualLeakShare: share,
        endOfLifeLossShare: share,
        basis: z.enum(BASES).optional(),
      })
      .transform(({ basis, ...use }) => ({ ...use, ...(basis && { basis }) }))
      .optional(),
  })
  .refine((item) => item.therms === 0 || item.fuel !== "electricity", {
    path: ["fuel"],
    message: "therms need a fuel that burns",
  });

const instrumentSchema = z.strictObject({
  id: z.string().min(1),
  kind: z.enum(INSTRUMENT_KINDS),
  covers: z
    .strictObject({ kwh: z.number().min(0).optional(), share: share.optional() })
    .transform((covers, context) => {
      if (covers.kwh !== undefined && covers.share === undefined) return { kwh: covers.kwh };
      if (covers.share !== undefined && covers.kwh === undefined) return { share: covers.share };
      context.addIssue({ code: "custom", message: "give either kwh or share" });
      return z.NEVER;
    }),
  kgCo2ePerKwh: z.number().min(0),
  vintage: year,
  market: z.string().min(1),
  conveysRate: z.boolean(),
  soleClaim: z.boolean(),
  retired: z.boolean(),
  source: z.string().min(1),
  place: z.string().min(1).nullable().default(null),
});

const contractsSchema = z.strictObject({
  market: z.string().min(1),
  residualMix: z
    .strictObject({ kgCo2ePerKwh: z.number().min(0), vintage: year, source: z.string().min(1) })
    .nullable(),
  instruments: z.array(instrumentSchema),
});

const gridFactorSchema = z.strictObject({
  region: z.string().min(1),
  vintage: year,
  co2LbPerMwh: z.number().min(0),
  ch4LbPerMwh: z.number().min(0),
  n2oLbPerMwh: z.number().min(0),
  source: z.string().min(1),
});

const inputSchema = z.strictObject({
  year,
  gwpSet: z.enum(GWP_SETS).default(DEFAULT_GWP_SET),
  items: z.array(itemSchema),
  contracts: contractsSchema.optional(),
  gridOutlook: z
    .strictObject({ shareOfTable: z.number().min(0), source: z.string().min(1) })
    .optional(),
  gridFactors: z.array(gridFactorSchema).default([]),
  upstreamLeakShare: z.number().min(0).max(0.5).optional(),
});

/** An inventory and, apart from it, the methane lost upstream of natural-gas meters where asked for. */
export type EmissionsAnswer = Inventory & {
  readonly gwpSet: string;
  readonly apart: { readonly upstreamMethane: UpstreamMethane | null };
};

/** `compute -- emissions`: energy by fuel to kilograms by gas and scope. Format: docs/compute.md. */
export function computeEmissionsDoor(input: unknown): Outcome<EmissionsAnswer> {
  const parsed = parseWith(inputSchema, input);
  if (!parsed.ok) return parsed;
  const asked = parsed.value;
  const factors = factorBookOf([...PUBLISHED_FACTORS, ...asked.gridFactors.flatMap(factorRowsOf)]);
  const problems = unusableItems(asked.items, factors);
  if (problems.length > 0) return failure(...problems);
  const items = asked.items.map(
    ({ therms, kwh, meteredBy, refrigerant, place, ...item }): InventoryItem => ({
      ...item,
      ...(place && { place }),
      thermsPerYear: therms,
      kwhPerYear: kwh,
      ...(meteredBy && { meteredBy }),
      ...(refrigerant && { refrigerant }),
    }),
  );
  const inventory = computeInventory({
    year: asked.year,
    gwpSet: asked.gwpSet,
    items,
    factors,
    ...(asked.contracts && { contracts: asked.contracts }),
    ...(asked.gridOutlook && { gridOutlook: asked.gridOutlook }),
  });
  return success({
    ...inventory,
    gwpSet: asked.gwpSet,
    apart: { upstreamMethane: upstreamOf(asked) },
  });
}

function upstreamOf({
  items,
  gwpSet,
  upstreamLeakShare,
}: z.output<typeof inputSchema>): UpstreamMethane | null {
  if (upstreamLeakShare === undefined) return null;
  const therms = items.reduce(
    (sum, item) => sum + (item.fuel === "natural-gas" ? item.therms : 0),
    0,
  );
  return upstreamMethane({ therms, leakShare: upstreamLeakShare, gwpSet });
}

function unusableItems(
  items: z.output<typeof inputSchema>["items"],
  factors: FactorBook,
): readonly Problem[] {
  const problems: Problem[] = [];
  const seen = new Set<string>();
  items.forEach((item, index) => {
    if (seen.has(item.id)) {
      problems.push({ path: `items[${index}].id`, message: `"${item.id}" is used twice` });
    }
    seen.add(item.id);
    if (!isGridRegion(factors, item.gridRegion)) {
      problems.push({
        path: `items[${index}].gridRegion`,
        message: `no factor for grid region "${item.gridRegion}"; enter one under gridFactors`,
      });
    }
  });
  return problems;
}

function factorRowsOf(entered: z.output<typeof gridFactorSchema>): readonly FactorRow[] {
  const { region, vintage, source } = entered;
  const row = (gas: string, value: number): FactorRow => ({
    id: `grid-electricity/${region}/${vintage}/${gas}/entered`,
    activity: "grid-electricity",
    region,
    gas,
    value,
    unit: "lb/MWh",
    vintage,
    source,
    evidence: "entered",
  });
  return [
    row("co2", entered.co2LbPerMwh),
    row("ch4", entered.ch4LbPerMwh),
    row("n2o", entered.n2oLbPerMwh),
  ];
}
