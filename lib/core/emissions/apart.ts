/** Figures that stand beside an inventory and are never part of it. */
import { requireAtLeastZero } from "@/lib/core/shared/requirements";
import { type AnnualEmissions, locationTotal } from "./annual-emissions";
import { DEFAULT_GWP_SET, GAS_GWP, type GwpSet } from "./gases";

/**
 * Methane in a million Btu of natural gas: 974.66 standard cubic feet (1 / 1.026e-3 mmBtu per scf, 40
 * CFR 98 table C-1, as quoted), 93 % methane by volume (our assumption for pipeline gas), 0.01918 kg a
 * cubic foot (ideal gas at 60 °F and 1 atm, 16.04 g/mol).
 */
export const METHANE_KG_PER_MMBTU = (1 / 1.026e-3) * 0.93 * 0.01918;

/** Share of gas lost between well and meter: 2.3 % (Alvarez et al., Science 361, 2018, from memory). */
export const UPSTREAM_LEAK_SHARE = 0.023;

export type UpstreamMethane = {
  readonly kgCh4: number;
  readonly kgCo2e: number;
  readonly leakShare: number;
};

/**
 * Methane that escapes before the meter for gas that is burnt. Optional and apart: it belongs to scope
 * 3 category 3 and comes from a leak rate that is disputed. Do not mix with factors that already hold
 * it.
 */
export function upstreamMethane({
  therms,
  leakShare = UPSTREAM_LEAK_SHARE,
  gwpSet = DEFAULT_GWP_SET,
}: {
  readonly therms: number;
  readonly leakShare?: number;
  readonly gwpSet?: GwpSet;
}): UpstreamMethane {
  requireAtLeastZero("therms", therms);
  if (!(leakShare >= 0 && leakShare < 1)) {
    throw new RangeError(`leakShare must be from 0 to below 1, got ${leakShare}`);
  }
  // What arrives at the meter is (1 − leak) of what left the well.
  const kgCh4 = ((therms * 0.1) / (1 - leakShare)) * leakShare * METHANE_KG_PER_MMBTU;
  return { kgCh4, kgCo2e: kgCh4 * GAS_GWP[gwpSet].ch4, leakShare };
}

/** Emissions that do not happen because of a swap. A comparison with what would have been, not an inventory. */
export type AvoidedEmissions = {
  /** Positive when the swap lowers emissions; location-based, scopes 1 to 3 together. */
  readonly kgCo2e: number;
  readonly baselineKgCo2e: number;
  readonly projectKgCo2e: number;
};

/** Avoided emissions of one year: the account without the swap less the account with it. */
export function avoidedEmissions(
  baseline: AnnualEmissions,
  project: AnnualEmissions,
): AvoidedEmissions {
  if (baseline.gwpSet !== project.gwpSet || baseline.year !== project.year) {
    throw new RangeError(
      `baseline (${baseline.year}, ${baseline.gwpSet}) and project (${project.year}, ${project.gwpSet}) must share year and GWP set`,
    );
  }
  const baselineKgCo2e = locationTotal(baseline.kgCo2e);
  const projectKgCo2e = locationTotal(project.kgCo2e);
  return { kgCo2e: baselineKgCo2e - projectKgCo2e, baselineKgCo2e, projectKgCo2e };
}
