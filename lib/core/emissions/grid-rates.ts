import type { Evidence } from "@/lib/core/shared/sourced";

/** Total output emission rate of a grid region for one year, lb per MWh. */
export type GridRate = {
  /** Code of the eGRID subregion, or US. */
  readonly region: string;
  readonly vintage: number;
  readonly co2: number;
  readonly ch4: number;
  readonly n2o: number;
  readonly source: string;
  readonly evidence: Evidence;
};

/** Names of the grid regions by code (eGRID subregions). */
export const GRID_REGION_NAMES: Readonly<Record<string, string>> = {
  US: "United States average",
  AKGD: "Alaska, grid",
  AKMS: "Alaska, elsewhere",
  AZNM: "Southwest",
  CAMX: "California",
  ERCT: "Texas",
  FRCC: "Florida",
  HIMS: "Hawaii, other islands",
  HIOA: "Hawaii, Oahu",
  MROE: "Upper Midwest, east",
  MROW: "Upper Midwest, west",
  NEWE: "New England",
  NWPP: "Northwest",
  NYCW: "New York City and Westchester",
  NYLI: "Long Island",
  NYUP: "Upstate New York",
  PRMS: "Puerto Rico",
  RFCE: "Mid-Atlantic",
  RFCM: "Michigan",
  RFCW: "Ohio Valley",
  RMPA: "Rocky Mountains",
  SPNO: "Plains, north",
  SPSO: "Plains, south",
  SRMV: "Mississippi Valley",
  SRMW: "Midwest, south",
  SRSO: "Southeast",
  SRTV: "Tennessee Valley",
  SRVC: "Virginia and Carolinas",
};

type Rates = readonly [region: string, co2: number, ch4: number, n2o: number];

/**
 * eGRID2022 subregion total output rates, US EPA Emission Factors Hub 2024 table 6, as quoted by a
 * public model source that copied the table.
 */
const EGRID_2022: readonly Rates[] = [
  ["AKGD", 1052.114, 0.088, 0.012],
  ["AKMS", 495.772, 0.023, 0.004],
  ["AZNM", 776.036, 0.051, 0.007],
  ["CAMX", 497.443, 0.03, 0.004],
  ["ERCT", 771.083, 0.049, 0.007],
  ["FRCC", 813.846, 0.048, 0.006],
  ["HIMS", 1155.486, 0.124, 0.019],
  ["HIOA", 1575.407, 0.163, 0.025],
  ["MROE", 1479.621, 0.133, 0.019],
  ["MROW", 936.485, 0.102, 0.015],
  ["NEWE", 536.428, 0.063, 0.008],
  ["NWPP", 602.088, 0.056, 0.008],
  ["NYCW", 885.233, 0.023, 0.003],
  ["NYLI", 1200.708, 0.135, 0.018],
  ["NYUP", 274.559, 0.015, 0.002],
  ["PRMS", 1593.481, 0.087, 0.014],
  ["RFCE", 657.386, 0.045, 0.006],
  ["RFCM", 1216.404, 0.116, 0.016],
  ["RFCW", 1000.053, 0.087, 0.012],
  ["RMPA", 1124.887, 0.101, 0.014],
  ["SPNO", 952.575, 0.1, 0.014],
  ["SPSO", 970.398, 0.072, 0.01],
  ["SRMV", 801.015, 0.04, 0.006],
  ["SRMW", 1369.887, 0.151, 0.022],
  ["SRSO", 893.29, 0.064, 0.009],
  ["SRTV", 933.067, 0.082, 0.012],
  ["SRVC", 622.987, 0.047, 0.007],
  ["US", 823.149, 0.066, 0.009],
];

/**
 * eGRID2023 revision 2 (12 June 2025), as quoted: only the regions whose three gases were seen. Enter
 * the other subregions from the published table as rows of your own.
 */
const EGRID_2023: readonly Rates[] = [
  ["CAMX", 428.464, 0.025, 0.003],
  ["PRMS", 1543.073, 0.077, 0.012],
  ["US", 767.209, 0.057, 0.008],
];

function ratesOf(vintage: number, source: string, rates: readonly Rates[]): readonly GridRate[] {
  return rates.map(([region, co2, ch4, n2o]) => ({
    region,
    vintage,
    co2,
    ch4,
    n2o,
    source,
    evidence: "quoted",
  }));
}

export const GRID_RATES: readonly GridRate[] = [
  ...ratesOf(
    2022,
    "US EPA eGRID2022 total output rate (Emission Factors Hub 2024 table 6), as quoted",
    EGRID_2022,
  ),
  ...ratesOf(2023, "US EPA eGRID2023 revision 2 total output rate, as quoted", EGRID_2023),
];
