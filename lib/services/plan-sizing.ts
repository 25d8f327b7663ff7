import type { Heater, Site } from "@/lib/core/heaters/heater";
import { checkSizing } from "@/lib/core/heaters/sizing";
import type { PricedHeater } from "@/lib/core/planning/costing";
import { nameplateOfOption } from "@/lib/core/planning/option-nameplate";
import { type ReplacementOption, termsForHomes } from "@/lib/core/planning/options";

export type SizedOptions = {
  /** Codes of the options that are not to be planned here. */
  readonly tooSmall: ReadonlySet<string>;
  /** True when even the largest option falls short of the busiest hour; it is offered all the same. */
  readonly largestIsShort: boolean;
};

/**
 * Options whose first-hour rating falls short of the home's busiest hour. Where all fall short, those
 * with the best rating stay: a heater must be replaceable. What is not known counts as enough.
 */
export function sizeOptions(
  heater: Heater,
  site: Site,
  options: readonly ReplacementOption[],
): SizedOptions {
  const { homesServed } = heater.home;
  // A plant for several homes is not offered where there is one; it must not stand for the others.
  const offered = options.filter(({ terms }) => terms.perHome === undefined || homesServed > 1);
  const checked = offered.map((option) => {
    const terms = termsForHomes(option.terms, homesServed);
    return {
      code: option.code,
      check: checkSizing(
        { technology: terms.technology, nameplate: nameplateOfOption(terms), home: heater.home },
        { demandLevel: site.demandLevel },
      ),
    };
  });
  const short = checked.filter(({ check }) => check.verdict === "short");
  if (short.length < checked.length) {
    return { tooSmall: new Set(short.map(({ code }) => code)), largestIsShort: false };
  }
  const best = Math.max(...short.map(({ check }) => check.marginGal ?? 0));
  const smaller = short.filter(({ check }) => (check.marginGal ?? 0) < best - 1);
  return { tooSmall: new Set(smaller.map(({ code }) => code)), largestIsShort: short.length > 0 };
}

/** A priced heater without the options that are too small for its home. */
export function withoutTooSmall(heater: PricedHeater, tooSmall: ReadonlySet<string>): PricedHeater {
  if (tooSmall.size === 0) return heater;
  return {
    ...heater,
    choices: heater.choices.filter(({ option }) => !tooSmall.has(option)),
    refused: [
      ...heater.refused,
      ...[...tooSmall].map((option) => ({ option, reason: "too small for this home" })),
    ],
  };
}
