import type { Calibration } from "@/lib/core/energy/calibration";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { Basis, EmissionLine, ScopeTotals } from "./annual-emissions";
import type { UpstreamMethane } from "./apart";
import type { BaseYearDecision } from "./base-year";
import type { Allocation } from "./market-instruments";
import type { PolicyFinding } from "./policies";
import type { ChangeCause } from "./property-account";
import type { Coverage } from "./target";

/** One year of the portfolio as it was achieved. */
export type AchievedYear = {
  readonly year: number;
  readonly kgCo2e: ScopeTotals;
  /** Location-based change since the base year, all scopes, by what it comes from. */
  readonly change: Readonly<Record<ChangeCause, number>>;
  /** What the year would be with the base year's heaters; no part of the account. */
  readonly kgCo2eWithoutSwaps: number;
  readonly heaters: number;
  readonly swaps: number;
  readonly swapsToHeatPump: number;
  /** Share of the energy, by heat, that meters read. */
  readonly meteredShare: number;
};

/** One year of the portfolio along the plan. */
export type PlannedPortfolioYear = {
  readonly year: number;
  readonly planned: ScopeTotals;
  readonly unchanged: ScopeTotals;
  readonly swaps: number;
  readonly burnersLeft: number;
};

/** What a rule finds in a year, over all properties. */
export type PolicyYearSummary = Pick<PolicyFinding, "policyId" | "year" | "kind"> & {
  readonly properties: number;
  readonly amount: number;
  readonly cents: number | null;
};

/** What pages and the statement show of a stored account, without its rows. */
export type AccountSummary = {
  readonly year: number;
  readonly baseYear: number;
  readonly coverage: Coverage;
  readonly gwpSet: string;
  readonly heaters: number;
  readonly homes: number;
  readonly properties: number;
  readonly entries: number;
  /** The reporting year's account. */
  readonly kgCo2e: ScopeTotals;
  readonly kgCo2eByBasis: Readonly<Record<Basis, number>>;
  readonly lines: readonly EmissionLine[];
  readonly allocation: Allocation | null;
  readonly notes: readonly string[];
  readonly assumed: readonly { readonly words: string; readonly heaters: number }[];
  readonly achieved: readonly AchievedYear[];
  readonly plan: {
    readonly runId: string;
    readonly scenarioName: string;
    readonly asOf: CalendarDay;
  } | null;
  readonly path: readonly PlannedPortfolioYear[];
  readonly base: {
    /** The base year by today's record and methods, by the coverage. */
    readonly computedKg: number;
    readonly adoptedKg: number | null;
    readonly decision: BaseYearDecision | null;
    /** What other years are compared with. */
    readonly comparedKg: number;
  };
  readonly target: readonly { readonly year: number; readonly kgCo2e: number }[];
  readonly policies: readonly PolicyYearSummary[];
  readonly apart: {
    readonly upstreamMethane: UpstreamMethane | null;
    /** What the swaps since the base year avoid in the reporting year. */
    readonly avoidedKg: number;
  };
};

/** What is kept of one property's achieved year besides its totals. */
export type AchievedDetail = {
  readonly gridRegion: string;
  readonly change: Readonly<Record<ChangeCause, number>>;
  readonly kgCo2eWithoutSwaps: number;
  readonly swapsToHeatPump: number;
  readonly meteredShare: number;
  readonly calibration: Calibration | null;
};

/** What is kept of one property's planned year besides its totals. */
export type PlannedDetail = {
  readonly burnersLeft: number;
  readonly findings: readonly PolicyFinding[];
};
