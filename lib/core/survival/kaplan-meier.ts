import type { Interval } from "@/lib/core/stats/binomial";
import { normalQuantile } from "@/lib/core/stats/normal";

/** A lifetime for the Kaplan-Meier curve: watched from age `entry` to `exit`. */
export type WatchedLifetime = {
  readonly entry: number;
  readonly exit: number;
  readonly failed: boolean;
};

/** The curve just after an age at which something failed. */
export type KaplanMeierStep = {
  /** Age, in the unit of the lifetimes. */
  readonly t: number;
  /** Estimated share that lives beyond `t`. */
  readonly survival: number;
  /** Greenwood's standard error of `survival`; null once the curve is at zero. */
  readonly standardError: number | null;
  /** Watched and alive just before `t`. */
  readonly atRisk: number;
  readonly events: number;
};

/**
 * Kaplan and Meier's product-limit curve (JASA 53, 1958), with lifetimes that are watched only from
 * a later age (left truncation; Klein and Moeschberger, 2nd ed., section 4.6) and Greenwood's
 * standard errors. A lifetime is at risk at t when entry < t ≤ exit.
 *
 * With late entries few may be watched at young ages, and one early failure can pull the whole
 * curve to zero; read it beside `atRisk`.
 */
export function kaplanMeier(lifetimes: readonly WatchedLifetime[]): readonly KaplanMeierStep[] {
  const entries = Float64Array.from(lifetimes, ({ entry }) => entry).sort();
  const exits = Float64Array.from(lifetimes, ({ exit }) => exit).sort();
  const failures = Float64Array.from(
    lifetimes.filter(({ failed }) => failed),
    ({ exit }) => exit,
  ).sort();

  const steps: KaplanMeierStep[] = [];
  let survival = 1;
  let greenwood = 0;
  let entered = 0;
  let left = 0;
  for (let i = 0; i < failures.length; ) {
    const t = failures[i];
    let events = 0;
    for (; i < failures.length && failures[i] === t; i++) events++;
    while (entered < entries.length && entries[entered] < t) entered++;
    while (left < exits.length && exits[left] < t) left++;
    const atRisk = entered - left;
    survival *= 1 - events / atRisk;
    greenwood += events / (atRisk * (atRisk - events));
    const standardError = survival > 0 ? survival * Math.sqrt(greenwood) : null;
    steps.push({ t, survival, standardError, atRisk, events });
  }
  return steps;
}

/**
 * Band around a step of the curve, symmetric in ln(−ln S) (Kalbfleisch and Prentice), so that it
 * stays within 0 and 1.
 */
export function kaplanMeierBand(
  { survival, standardError }: KaplanMeierStep,
  confidence: number,
): Interval {
  if (standardError === null || survival <= 0) return { lower: 0, upper: 1 };
  const half =
    (normalQuantile(0.5 + confidence / 2) * standardError) /
    (survival * Math.abs(Math.log(survival)));
  return { lower: survival ** Math.exp(half), upper: survival ** Math.exp(-half) };
}
