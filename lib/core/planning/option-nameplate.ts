import { TECHNOLOGY_DEFAULTS } from "@/lib/core/energy/defaults";
import { HEAT_PUMP_CIRCUIT_VA } from "@/lib/core/heaters/electrical";
import type { SizedHeater } from "@/lib/core/heaters/sizing";
import { isCombustion } from "@/lib/core/heaters/vocabulary";
import { BTU_PER_KWH } from "@/lib/core/shared/units";
import type { OptionTerms } from "./options";

/**
 * What sizing needs to know of an option. The catalogue's own first-hour rating and input come first; an
 * input that it does not hold is the usual one of the technology, and a shared plant's is the heat that
 * its electrical load gives.
 *
 * @param terms grown to the homes that the option would serve
 */
export function nameplateOfOption(terms: OptionTerms): SizedHeater["nameplate"] {
  const { technology, volumeGal } = terms;
  const factor = terms.uniformEnergyFactor.value;
  const usualWatts = (TECHNOLOGY_DEFAULTS[technology].inputBtuPerHour / BTU_PER_KWH) * 1000;
  // Sizing multiplies a plug-in's compressor input by its energy factor; all others give what they take.
  const watts =
    terms.perHome !== undefined
      ? terms.circuitLoad * HEAT_PUMP_CIRCUIT_VA.value * factor
      : usualWatts / (technology === "heat-pump-plug-in" ? factor : 1);
  return {
    volumeGal,
    firstHourGal: terms.firstHourGal?.value ?? null,
    inputBtuPerHour: isCombustion(technology)
      ? (terms.inputBtuPerHour?.value ?? TECHNOLOGY_DEFAULTS[technology].inputBtuPerHour)
      : null,
    inputWatts: isCombustion(technology) ? null : (terms.inputWatts?.value ?? watts),
    uniformEnergyFactor: factor,
  };
}
