import { TECHNOLOGY_DEFAULTS } from "@/lib/core/energy/defaults";
import type { Heater, Site } from "@/lib/core/heaters/heater";
import { checkSizing } from "@/lib/core/heaters/sizing";
import { isCombustion } from "@/lib/core/heaters/vocabulary";
import type { PricedHeater } from "@/lib/core/planning/costing";
import type { ReplacementOption } from "@/lib/core/planning/options";
import { BTU_PER_KWH } from "@/lib/core/shared/units";

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
  const checked = options.map((option) => ({
    code: option.code,
    check: checkSizing(
      { technology: option.terms.technology, nameplate: nameplateOf(option), home: heater.home },
      { demandLevel: site.demandLevel },
    ),
  }));
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

/** The catalogue holds no input rating: the usual one of the technology stands for it. */
function nameplateOf({ terms }: ReplacementOption) {
  const { technology, volumeGal } = terms;
  const factor = terms.uniformEnergyFactor.value;
  const { inputBtuPerHour } = TECHNOLOGY_DEFAULTS[technology];
  const heatPerInput = technology === "heat-pump-plug-in" ? factor : 1;
  return {
    volumeGal,
    firstHourGal: null,
    inputBtuPerHour: isCombustion(technology) ? inputBtuPerHour : null,
    inputWatts: isCombustion(technology)
      ? null
      : ((inputBtuPerHour / BTU_PER_KWH) * 1000) / heatPerInput,
    uniformEnergyFactor: factor,
  };
}
