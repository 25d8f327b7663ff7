import { z } from "zod";
import { RECALCULATION_THRESHOLD, STRUCTURAL_REASONS } from "./base-year";
import { DEFAULT_GWP_SET, GWP_SETS } from "./gases";
import { ASSUMED_REFRIGERANT_TERMS } from "./refrigerant-account";
import { COVERAGES } from "./target";

const year = z.int("must be a year").min(1990, "must be 1990 or later").max(2150);
const share = z.number().min(0, "must be 0 or more").max(1, "must be 1 (100 %) or less");
const kg = z.number("must be a number of kilograms");

/** The rules of an organisation's emissions account, as they are stored. */
export const emissionsTermsSchema = z
  .strictObject({
    gwpSet: z.enum(GWP_SETS),
    /** Market in which electricity is bought; instruments of another are refused. */
    market: z.string().trim().min(1, "name the market, for example US").max(40),
    /** Share of natural gas lost before the meter, told apart from the inventory; null leaves it out. */
    upstreamLeakShare: z.number().min(0).max(0.5).nullable(),
    refrigerant: z.strictObject({ annualLeakShare: share, endOfLifeLossShare: share }),
    coverage: z.enum(COVERAGES),
    /** Year that others are compared with; null takes the first year of the account. */
    baseYear: year.nullable(),
    /** The base year's emissions by the coverage as they were adopted; null while nothing is adopted. */
    adopted: z
      .strictObject({ kgCo2e: kg.min(0), fingerprint: z.string(), adoptedOn: z.string() })
      .nullable(),
    recalculationThreshold: share,
    changes: z.array(
      z.strictObject({
        reason: z.enum(STRUCTURAL_REASONS),
        description: z.string().trim().min(1, "say what changed").max(300),
        kgCo2e: kg,
      }),
    ),
    target: z
      .array(z.strictObject({ year, cutShare: share }))
      .refine(
        (points) => new Set(points.map((point) => point.year)).size === points.length,
        "each year can have one target",
      ),
    gridOutlook: z.strictObject({
      source: z.string().trim().max(300),
      points: z.array(
        z.strictObject({
          region: z.string().min(1).nullable(),
          year,
          shareOfTable: z.number().min(0, "must be 0 or more").max(3, "must be 3 (300 %) or less"),
        }),
      ),
    }),
  })
  .refine(({ baseYear, target }) => target.every((point) => point.year > (baseYear ?? 0)), {
    path: ["target"],
    message: "target years lie after the base year",
  });

export type EmissionsTerms = z.output<typeof emissionsTermsSchema>;

/** Where an organisation begins: published defaults, nothing adopted. */
export const DEFAULT_EMISSIONS_TERMS: EmissionsTerms = {
  gwpSet: DEFAULT_GWP_SET,
  market: "US",
  upstreamLeakShare: null,
  refrigerant: ASSUMED_REFRIGERANT_TERMS,
  coverage: "all-location",
  baseYear: null,
  adopted: null,
  recalculationThreshold: RECALCULATION_THRESHOLD,
  changes: [],
  target: [],
  gridOutlook: { source: "", points: [] },
};
