import "server-only";
import { z } from "zod";
import { csvFile, csvLine } from "@/lib/core/exchange/csv";
import { INSTALL_EVIDENCE_LABELS, TECHNOLOGY_LABELS } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { explainRisk, type RiskExplanation } from "@/lib/core/survival/reasons";
import { loadFleet } from "@/lib/data/fleet";
import {
  listScoredProperties,
  type RankedRow,
  type RankingOrder,
  type RiskGroups,
  type RiskYearRow,
  readRanking,
  readRiskGroups,
  readRiskYears,
} from "@/lib/data/risk";
import { listFits } from "@/lib/data/survival-fits";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import { type FitDetail, type FitRow, findFitInUse } from "./risk-fits";
import { loadCurrentModel } from "./risk-model";
import {
  type CountBand,
  compareWithRecord,
  countBand,
  type RecordComparison,
  type RecordYear,
} from "./risk-record";
import { ensureFreshRisk, loadAssumptions, type RiskFreshness } from "./risk-scoring";
import { requireAction, type Viewer } from "./viewer";

export type { RankingOrder } from "@/lib/data/risk";

/** Lines of one page of the ranking. */
export const RANKING_PAGE_SIZE = 50;
const CSV_PAGE_SIZE = 500;

/** What the address of the risk page may ask for; what cannot be read counts as not asked. */
export const riskQuerySchema = z.object({
  order: z.enum(["chance", "loss"]).catch("chance"),
  property: z.uuid().nullable().catch(null),
  page: z.coerce.number().int().min(1).max(1_000_000).catch(1),
});
export type RiskQuery = z.output<typeof riskQuerySchema>;

export type RankedHeater = RankedRow & {
  readonly rank: number;
  /** True when the install day is a bracket or rests on an estimate. */
  readonly ageIsEstimated: boolean;
  /** Why: the ordinary heater of its age, then what sets this one apart the most. */
  readonly reason: string;
};

export type YearAhead = {
  /** 1 is the 12 months from the day of the pass. */
  readonly year: number;
  readonly expected: number;
  readonly band: CountBand;
};

export type RiskView = {
  readonly freshness: RiskFreshness;
  /** The fit that ranks; null when published lifetimes do. */
  readonly inUse: FitDetail | null;
  /** A later fit than the one in use: under way, or waiting for a person to look. */
  readonly newer: FitRow | null;
  readonly mayRun: boolean;
  readonly properties: readonly { readonly id: string; readonly name: string }[];
  readonly ranking: readonly RankedHeater[];
  /** Heaters in the ranking, all pages. */
  readonly total: number;
  readonly groups: RiskGroups;
  readonly ahead: readonly YearAhead[];
  readonly comparison: RecordComparison;
  /** Assumptions behind expected loss: all, and those that the organisation entered itself. */
  readonly assumptions: { readonly count: number; readonly entered: number };
};

/** Everything the risk page shows; asks for a new pass when the ranking is not of today. */
export function readRisk(viewer: Viewer, query: RiskQuery, today: CalendarDay): Promise<RiskView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const freshness = await ensureFreshRisk(client, viewer, today);
    const groups = await readRiskGroups(client, query.property);
    const years = await readRiskYears(client, query.property);
    const assumptions = Object.values(await loadAssumptions(client));
    const inUse = await findFitInUse(client);
    const [latest] = await listFits(client);
    const newer = latest && latest.number > (inUse?.fit.number ?? 0) ? latest : null;
    return {
      freshness,
      inUse,
      newer,
      mayRun: mayDo(viewer.role, "risk.run"),
      properties: await listScoredProperties(client),
      ranking: await readRankedHeaters(client, today, {
        order: query.order,
        propertyId: query.property,
        limit: RANKING_PAGE_SIZE,
        offset: (query.page - 1) * RANKING_PAGE_SIZE,
      }),
      total: groups.byTechnology.reduce((count, { heaters }) => count + heaters, 0),
      groups,
      ahead: years
        .filter(({ kind }) => kind === "ahead")
        .map(({ year, expected, draws }) => ({ year, expected, band: countBand(draws) })),
      comparison: compareWithRecord(pastYears(years)),
      assumptions: {
        count: assumptions.length,
        entered: assumptions.filter(({ evidence }) => evidence === "entered").length,
      },
    };
  });
}

/** The ranking as comma-separated values, page by page. */
export async function* rankingCsv(
  viewer: Viewer,
  { order, property }: Pick<RiskQuery, "order" | "property">,
  today: CalendarDay,
): AsyncGenerator<string> {
  requireAction(viewer, "record.read");
  yield* csvFile(CSV_HEADING, []);
  for (let offset = 0; ; offset += CSV_PAGE_SIZE) {
    const rows = await withSql(viewer, (client) =>
      readRankedHeaters(client, today, {
        order,
        propertyId: property,
        limit: CSV_PAGE_SIZE,
        offset,
      }),
    );
    for (const row of rows) yield csvLine(csvCells(row));
    if (rows.length < CSV_PAGE_SIZE) return;
  }
}

const CSV_HEADING = [
  "Rank",
  "Heater",
  "Property",
  "Building",
  "Home",
  "Technology",
  "Installed, earliest",
  "Installed, latest",
  "Install day rests on",
  "Age, years",
  "Chance of failing within 12 months",
  "Chance, low (90 % band)",
  "Chance, high (90 % band)",
  "Median remaining life, years",
  "Expected loss, dollars a year",
  "Reason",
  "As of",
  "Method",
];

function csvCells(row: RankedHeater): readonly (string | number | null)[] {
  return [
    row.rank,
    row.tag,
    row.propertyName,
    row.buildingName,
    row.unitLabel,
    TECHNOLOGY_LABELS[row.technology],
    row.installEarliest,
    row.installLatest,
    INSTALL_EVIDENCE_LABELS[row.installEvidence],
    Number(row.ageYears.toFixed(2)),
    Number(row.failureProbability.toFixed(5)),
    Number(row.failureLower.toFixed(5)),
    Number(row.failureUpper.toFixed(5)),
    Number(row.medianRemainingYears.toFixed(2)),
    row.expectedLossCents / 100,
    row.reason,
    row.asOf,
    row.method,
  ];
}

type RankingPage = {
  readonly order: RankingOrder;
  readonly propertyId: string | null;
  readonly limit: number;
  readonly offset: number;
};

async function readRankedHeaters(
  client: TenantClient,
  today: CalendarDay,
  page: RankingPage,
): Promise<readonly RankedHeater[]> {
  const rows = await readRanking(client, page);
  const model = await loadCurrentModel(client);
  const { heaters } = await loadFleet(client, { heaterIds: rows.map((row) => row.heaterId) });
  const heaterOf = new Map(heaters.map((heater) => [heater.id, heater]));
  return rows.map((row, index) => {
    const heater = heaterOf.get(row.heaterId);
    return {
      ...row,
      rank: page.offset + index + 1,
      ageIsEstimated: isEstimated(row),
      reason: heater ? reasonInWords(explainRisk(model, heater, today)) : "",
    };
  });
}

function isEstimated(row: RankedRow): boolean {
  const guesses = ["staff-estimate", "building-age", "none"];
  return row.installEarliest !== row.installLatest || guesses.includes(row.installEvidence);
}

/** The ordinary heater of its kind and age, then the factor that sets this one apart the most. */
export function reasonInWords({ baselineSentence, factors }: RiskExplanation): string {
  const [first] = factors;
  return first ? `${baselineSentence} ${first.sentence}` : baselineSentence;
}

/** The calendar years on record; those at the start in which nothing was seen say nothing. */
function pastYears(rows: readonly RiskYearRow[]): readonly RecordYear[] {
  const past = rows
    .filter(({ kind }) => kind === "past")
    .map((row) => ({ ...row, happened: row.happened ?? 0 }));
  const first = past.findIndex(({ heaterYears }) => heaterYears > 0);
  return first === -1 ? [] : past.slice(first);
}
