import { TRUE_LIFETIMES, TRUE_WEAR } from "@/demo-seed/truth";
import { TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import { addYears } from "@/lib/core/shared/calendar-day";
import { createRandom } from "@/lib/core/stats/random";
import { bandFailure } from "@/lib/core/survival/bands";
import { COVARIATES } from "@/lib/core/survival/covariates";
import { drawModels } from "@/lib/core/survival/draws";
import { fitRecords } from "@/lib/core/survival/fit-records";
import { failureAhead, lifeAsOf } from "@/lib/core/survival/life-as-of";
import { type AgeingModel, PRIOR_MODEL } from "@/lib/core/survival/model";
import {
  coefficientIndex,
  commonOf,
  parameterName,
  scaleIndex,
  shapeIndex,
} from "@/lib/core/survival/parameters";
import { aHeater } from "@/test/support/a-heater";
import { PORTFOLIO_TODAY, simulatePortfolio } from "@/test/support/simulate-portfolio";

const HEATERS = 1_000;
const PROPERTIES = 12;
const PROPERTY_SPREAD = 0.1;
const Z90 = 1.6449;

/**
 * The demo's truth in the model's terms. The demo counts from soft water, 120 °F and a live anode,
 * the model from an ordinary heater, which has about 0.39 more of ln(rate of wear): hardness 0.12,
 * setpoint 0.05, closed feed 0.04 and an anode that is spent for nearly half of its life 0.18.
 */
function demoTruth(seed: number): AgeingModel {
  const random = createRandom(seed);
  const ordinary = Math.exp(-0.39);
  const scaled = ({ shape, scaleYears }: { shape: number; scaleYears: number }) => ({
    shape,
    scaleYears: scaleYears * ordinary,
  });
  return {
    lifetimes: {
      ...PRIOR_MODEL.lifetimes,
      "gas-storage": scaled(TRUE_LIFETIMES["gas-storage"]),
      "electric-storage": scaled(TRUE_LIFETIMES["electric-storage"]),
    },
    coefficients: {
      hardness: TRUE_WEAR.hardnessPer100MgPerLitre,
      softened: TRUE_WEAR.softened,
      setpoint: TRUE_WEAR.setpointPer10F,
      closedSystem: TRUE_WEAR.closedWithoutExpansionControl,
      anodeProtected: -TRUE_WEAR.anodeSpent / 2,
      anodeSpent: TRUE_WEAR.anodeSpent / 2,
      flushed: TRUE_WEAR.flushed,
      highDraw: TRUE_WEAR.highDraw,
    },
    propertyEffects: Object.fromEntries(
      Array.from({ length: PROPERTIES }, (_, g) => [
        `property-${g}`,
        PROPERTY_SPREAD * random.nextNormal(),
      ]),
    ),
  };
}

/** Parameters that a portfolio of gas and electric tanks can teach. */
const LEARNABLE = [
  shapeIndex(TECHNOLOGIES.indexOf("gas-storage")),
  shapeIndex(TECHNOLOGIES.indexOf("electric-storage")),
  scaleIndex(TECHNOLOGIES.indexOf("gas-storage")),
  scaleIndex(TECHNOLOGIES.indexOf("electric-storage")),
  ...COVARIATES.map((_, j) => coefficientIndex(j)),
];

/**
 * How often 90 % intervals hold the truth, over portfolios drawn from it: for each parameter and for
 * the 12-month chance of an ordinary gas tank of 8, 12 and 16 years. `SURVIVAL_RECOVERY_PORTFOLIOS`
 * sets how many.
 */
export async function run(): Promise<void> {
  const portfolios = Number(process.env.SURVIVAL_RECOVERY_PORTFOLIOS ?? 20);
  const held = new Map<string, number>();
  const count = (name: string, holds: boolean) =>
    held.set(name, (held.get(name) ?? 0) + Number(holds));
  for (let seed = 1; seed <= portfolios; seed++) {
    const truth = demoTruth(seed);
    const records = simulatePortfolio({
      truth,
      seed: 10_000 + seed,
      heaters: HEATERS,
      properties: PROPERTIES,
      recordYears: 15,
    });
    const fit = fitRecords(records, { today: PORTFOLIO_TODAY, method: "recovery" });
    if (!fit.ok) throw new Error(JSON.stringify(fit.problems));
    const known = commonOf(truth.lifetimes, truth.coefficients);
    for (const i of LEARNABLE) {
      const { mean, standardDeviation } = fit.value.learning[i].posterior;
      count(parameterName(i), Math.abs(mean - known[i]) <= Z90 * standardDeviation);
    }
    const draws = drawModels(fit.value.model, { seed, propertyIds: ["property-0"] });
    for (const age of [8, 12, 16]) {
      const installed = addYears(PORTFOLIO_TODAY, -age);
      const heater = aHeater({
        propertyId: "property-0",
        install: { earliest: installed, latest: installed, evidence: "invoice" },
      });
      const chance = failureAhead(lifeAsOf(truth, heater, PORTFOLIO_TODAY), 1);
      const [band] = bandFailure(draws, heater, { today: PORTFOLIO_TODAY, horizonsYears: [1] });
      count(`12-month chance at ${age} years`, chance >= band.lower && chance <= band.upper);
    }
  }
  const shares = [...held].map(([name, holds]) => ({ name, share: holds / portfolios }));
  const mean = shares.reduce((sum, { share }) => sum + share, 0) / shares.length;
  console.log(
    `90 % intervals over ${portfolios} portfolios of ${HEATERS} heaters hold the truth in ${(100 * mean).toFixed(1)} % of cases`,
  );
  for (const { name, share } of shares) console.log(`  ${(100 * share).toFixed(0)} % ${name}`);
}
