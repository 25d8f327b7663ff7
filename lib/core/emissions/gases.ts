/** Greenhouse gases of combustion; `co2e` stands for a mixture that its source states as one figure. */
export type Gas = "co2" | "ch4" | "n2o" | "co2e";

/** Sets of global warming potentials over 100 years, by assessment report of the IPCC. */
export const GWP_SETS = ["AR4", "AR5", "AR6"] as const;
export type GwpSet = (typeof GWP_SETS)[number];

export const DEFAULT_GWP_SET: GwpSet = "AR5";

/**
 * Potentials of methane and nitrous oxide, without climate-carbon feedbacks; methane of AR6 is the
 * fossil value. Published: US EPA, eGRID source, `global_warming_potential.csv`.
 */
export const GAS_GWP: Readonly<Record<GwpSet, Readonly<Record<Gas, number>>>> = {
  AR4: { co2: 1, ch4: 25, n2o: 298, co2e: 1 },
  AR5: { co2: 1, ch4: 28, n2o: 265, co2e: 1 },
  AR6: { co2: 1, ch4: 29.8, n2o: 273, co2e: 1 },
};
