import { describe, expect, test } from "vitest";
import type { Heater } from "@/lib/core/heaters/heater";
import { effectiveAnswers, type SurveyAnswer } from "@/lib/core/heaters/readiness";
import { type CostingInput, prepareCosting, priceHeater } from "@/lib/core/planning/costing";
import { chooseForEmergency } from "@/lib/core/planning/emergency-choice";
import { judgeOption, type OptionVerdict } from "@/lib/core/planning/option-verdict";
import {
  DEFAULT_OPTIONS,
  optionTermsSchema,
  type ReplacementOption,
  termsForHomes,
} from "@/lib/core/planning/options";
import { defaultScenario } from "@/lib/core/planning/scenario";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { aHeater } from "@/test/support/a-heater";

const TODAY = calendarDay("2026-11-25");

function option(code: string): ReplacementOption {
  const found = DEFAULT_OPTIONS.find((each) => each.code === code);
  if (!found) throw new Error(code);
  return found;
}

const home = { ...aHeater().home, bedrooms: 2, bathrooms: 1, occupants: 2 };
const closet = (changes: Partial<Heater> = {}) =>
  aHeater({ home, mixingValve: "yes", expansionControl: "yes", ...changes });

const said = (
  answers: Partial<Record<SurveyAnswer["item"], SurveyAnswer["answer"]>>,
  basis: SurveyAnswer["basis"] = "seen",
) =>
  Object.entries(answers).map(([item, answer]) => ({
    item: item as SurveyAnswer["item"],
    answer,
    basis,
  }));

/** Everything a 240 V heat pump needs. */
const ALL_THERE = {
  "circuit-240v": "yes",
  "circuit-120v": "yes",
  "panel-space": "yes",
  "air-volume": "yes",
  "condensate-route": "yes",
  clearance: "yes",
  "drain-pan": "yes",
  "relief-discharge": "yes",
  "seismic-straps": "yes",
  "common-vent": "no",
} as const;

function verdict(
  heater: Heater,
  code: string,
  survey: ReturnType<typeof said>,
  { headroomCircuits = null as number | null, terms = option(code).terms } = {},
): OptionVerdict {
  return judgeOption(
    heater,
    { ...option(code), terms },
    {
      today: TODAY,
      site: { demandLevel: "medium" },
      answers: effectiveAnswers(heater, survey),
      headroomCircuits,
      unknownNeedsWorkShare: 0.5,
    },
  );
}

describe("the state of an option at a heater", () => {
  test("is ready when everything it needs has been seen", () => {
    const ready = verdict(closet(), "hp240-50", said(ALL_THERE));
    expect(ready).toMatchObject({ state: "ready", missing: [], unknown: [], inferred: [] });
    expect(ready.cost.workCents).toBe(0);
  });

  test("is not seen yet while an answer is unknown or inferred from a like home", () => {
    const { "circuit-240v": _, ...rest } = ALL_THERE;
    expect(verdict(closet(), "hp240-50", said(rest))).toMatchObject({
      state: "not-seen",
      unknown: ["circuit-240v"],
    });
    const inferred = verdict(closet(), "hp240-50", [
      ...said(rest),
      ...said({ "circuit-240v": "yes" }, "inferred"),
    ]);
    expect(inferred).toMatchObject({ state: "not-seen", unknown: [], inferred: ["circuit-240v"] });
    expect(inferred.cost.workCents).toBe(0);
  });

  test("needs work where a priced part is missing, and is not possible where nothing puts it right", () => {
    const noCircuit = verdict(closet(), "hp240-50", said({ ...ALL_THERE, "circuit-240v": "no" }));
    expect(noCircuit.state).toBe("needs-work");
    expect(noCircuit.cost.workCents).toBe(option("hp240-50").terms.costs.circuit?.likelyCents);
    const noRoom = verdict(closet(), "hp240-50", said({ ...ALL_THERE, clearance: "no" }));
    expect(noRoom.state).toBe("not-possible");
    expect(noRoom.against.join(" ")).toMatch(/Clearance/);
  });

  test("is not possible without gas, past its dates, or where a rule forbids it", () => {
    const electric = closet({ technology: "electric-storage", fuel: "electricity" });
    expect(verdict(electric, "gas-40", said(ALL_THERE)).against.join(" ")).toMatch(/no gas/);
    const dated = { ...option("gas-40").terms, validTo: calendarDay("2026-11-24") };
    expect(verdict(closet(), "gas-40", said(ALL_THERE), { terms: dated }).against).toHaveLength(1);
    const ruled = {
      ...option("gas-40").terms,
      policyDates: [{ notFrom: TODAY, rule: "an air district's rule", source: "invented" }],
    };
    expect(
      verdict(closet(), "gas-40", said(ALL_THERE), { terms: ruled }).against.join(" "),
    ).toMatch(/air district/);
  });

  test("says whether the building's service still carries it", () => {
    const at = (headroomCircuits: number | null) =>
      verdict(closet(), "hp240-50", said(ALL_THERE), { headroomCircuits }).fitsService;
    expect([at(null), at(0), at(1)]).toEqual([null, false, true]);
    expect(
      verdict(closet(), "hp120-65", said(ALL_THERE), { headroomCircuits: 0 }).fitsService,
    ).toBe(null);
  });
});

describe("what an option costs at a heater", () => {
  // By hand from the starting catalogue: circuit $900 in full, panel $2,000 by half; swap: equipment
  // 1,900, labour 1,200, permit 180, disposal 80, cap-off 200 = $3,560.
  test("adds the whole price of what is missing and the share of what is not known", () => {
    const { "panel-space": _, ...rest } = ALL_THERE;
    const { cost } = verdict(closet(), "hp240-50", said({ ...rest, "circuit-240v": "no" }));
    expect(cost.swapCents).toBe(356_000);
    expect(cost.workCents).toBe(90_000 + 100_000);
    expect(cost.unseenCents).toBe(100_000);
    expect(cost.workLowCents).toBe(50_000);
    expect(cost.workHighCents).toBe(180_000 + 350_000);
    expect(cost.totalCents).toBe(546_000);
  });

  test("takes off what a programme pays on the day, within its dates and its share", () => {
    const incentive = {
      programme: "An invented programme",
      cents: 500_000,
      maximumShare: 0.5,
      validFrom: TODAY,
      validTo: null,
      evidence: "entered" as const,
      source: "",
    };
    const terms = { ...option("hp240-50").terms, incentives: [incentive] };
    const at = (validFrom: string) =>
      verdict(closet(), "hp240-50", said(ALL_THERE), {
        terms: { ...terms, incentives: [{ ...incentive, validFrom: calendarDay(validFrom) }] },
      }).cost.incentiveCents;
    expect(at("2026-11-25")).toBe(178_000);
    expect(at("2026-11-26")).toBe(0);
  });

  test("prices the vent of the appliances that stay, and warns of their draft", () => {
    const shared = verdict(closet(), "hp240-50", said({ ...ALL_THERE, "common-vent": "yes" }));
    expect(shared.cost.workCents).toBe(45_000);
    expect(shared.remarks.join(" ")).toMatch(/tested for spillage/);
    expect(shared.cautions).toContain("combustion-air");
    expect(
      verdict(closet(), "gas-40", said({ ...ALL_THERE, "common-vent": "yes" })).cost.workCents,
    ).toBe(0);
  });
});

describe("size and cautions", () => {
  test("tells the option that is too small for the home, and leaves it possible", () => {
    const large = closet({ home: { ...home, bedrooms: 4, bathrooms: 2, occupants: 12 } });
    const small = verdict(large, "gas-40", said(ALL_THERE));
    expect(small.sizing.verdict).toBe("short");
    expect(small.sizing.meetsMinimumStorage).toBe(true);
    expect(small.state).toBe("ready");
  });

  test("takes the catalogue's own first-hour rating where it has one", () => {
    const terms = {
      ...option("hp240-50").terms,
      firstHourGal: { value: 67, evidence: "entered" as const, source: "label" },
    };
    expect(verdict(closet(), "hp240-50", said(ALL_THERE), { terms }).sizing).toMatchObject({
      firstHourGal: 67,
      firstHourEvidence: "nameplate",
    });
  });

  test("warns of pressure where the cold feed may be closed and nothing controls the expansion", () => {
    const cautionsOf = (closedSystem: "yes" | "no" | "unknown", expansionControl: "yes" | "no") =>
      verdict({ ...closet(), closedSystem, expansionControl }, "hp240-50", said(ALL_THERE))
        .cautions;
    expect(cautionsOf("yes", "no")).toContain("pressure");
    expect(cautionsOf("unknown", "no")).toContain("pressure");
    expect(cautionsOf("yes", "yes")).not.toContain("pressure");
    expect(cautionsOf("no", "no")).not.toContain("pressure");
  });

  test("names each hazard of the work once", () => {
    const { cautions } = verdict(closet(), "hp240-50", said(ALL_THERE));
    expect(cautions).toEqual([
      "gas-capoff",
      "electrical",
      "lifting",
      "relief-valve",
      "setpoint",
      "legionella",
      "refrigerant",
    ]);
  });

  test("asks for expansion control on a closed feed", () => {
    const closed = closet({ closedSystem: "yes", expansionControl: "no" });
    expect(verdict(closed, "hp240-50", said(ALL_THERE)).remarks.join(" ")).toMatch(
      /thermal expansion control/,
    );
  });
});

describe("a plant for several homes", () => {
  const shared = closet({
    unitId: null,
    home: { ...home, bedrooms: 8, bathrooms: 4, occupants: 9, homesServed: 4 },
  });

  test("grows with the homes behind the heater", () => {
    const { terms } = option("hp-central");
    const grown = termsForHomes(terms, 4);
    expect(grown.volumeGal).toBe(200);
    expect(grown.circuitLoad).toBeCloseTo(0.98, 10);
    expect(grown.crewHours.value).toBe(60);
    expect(grown.costs.equipment?.likelyCents).toBe(900_000 + 4 * 140_000);
    expect(termsForHomes(option("gas-40").terms, 4)).toBe(option("gas-40").terms);
  });

  test("is judged for all of them, and is not for a heater of one home", () => {
    const plant = verdict(
      shared,
      "hp-central",
      said({ ...ALL_THERE, structure: "yes", noise: "yes" }),
    );
    expect(plant.state).toBe("ready");
    expect(plant.sizing.verdict).toBe("enough");
    expect(plant.cautions).toContain("legionella");
    expect(verdict(closet(), "hp-central", said(ALL_THERE)).state).toBe("not-possible");
  });

  test("is priced by the planner for the homes behind the heater and refused for one", () => {
    const scenario = { ...defaultScenario(TODAY), options: ["hp-central"] };
    const context = prepareCosting(scenario, DEFAULT_OPTIONS);
    const use = { energy: [], refrigerantKgPerYear: 0, maintenanceCentsPerYear: 0 };
    const input = (homesServed: number): CostingInput => ({
      id: "H1",
      building: "B1",
      technology: "gas-storage",
      ageYears: 8,
      conditionalFailure: context.periods.map(() => 0),
      now: use,
      after: { "hp-central": use },
      readiness: {
        ...ALL_THERE,
        structure: "yes",
        noise: "yes",
      },
      expansionControlled: "yes",
      mixingValve: "yes",
      consequenceCents: 0,
      homesServed,
    });
    const [first] = priceHeater(context, input(4)).choices;
    // By hand: (9,000 + 4 · 1,400) + (6,000 + 4 · 500) + 1,000 permit + 600 cap-off + (1,500 + 4 · 250)
    // recirculation + 300 disposal = $27,000.
    expect(first?.capitalCents).toBe(2_700_000);
    expect(first?.hours).toBe(60);
    expect(first?.circuit).toBeCloseTo(0.98, 10);
    const one = priceHeater(context, input(1));
    expect(one.choices).toEqual([]);
    expect(one.refused[0]?.reason).toMatch(/several homes/);
  });
});

describe("what a heater gets if it fails today", () => {
  const order = { preApproved: ["hp240-50", "hp240-65"], otherwise: ["gas-40", "electric-50"] };
  const all = (heater: Heater, survey: ReturnType<typeof said>) =>
    new Map(
      ["hp240-50", "hp240-65", "gas-40", "electric-50"].map((code) => [
        code,
        verdict(heater, code, survey),
      ]),
    );

  test("is the first pre-approved option that is ready", () => {
    const choice = chooseForEmergency(all(closet(), said(ALL_THERE)), order);
    expect(choice).toMatchObject({ isPreApproved: true, passedOver: [] });
    expect(choice.verdict?.code).toBe("hp240-50");
  });

  test("passes over one that is too small, and says why", () => {
    const large = closet({ home: { ...home, occupants: 5 } });
    const verdicts = all(large, said(ALL_THERE));
    const small = verdicts.get("hp240-50");
    if (!small) throw new Error("no verdict");
    verdicts.set("hp240-50", { ...small, sizing: { ...small.sizing, verdict: "short" } });
    const choice = chooseForEmergency(verdicts, order);
    expect(choice.verdict?.code).toBe("hp240-65");
    expect(choice.passedOver[0]?.why).toMatch(/too small/);
  });

  test("falls back when something is missing or seen in a like home only", () => {
    const { "circuit-240v": _, ...rest } = ALL_THERE;
    const survey = [...said(rest), ...said({ "circuit-240v": "yes" }, "inferred")];
    const choice = chooseForEmergency(all(closet(), survey), order);
    expect(choice.verdict?.code).toBe("gas-40");
    expect(choice.isPreApproved).toBe(false);
    expect(choice.passedOver[0]?.why).toMatch(/like home only: 240 V, 30 A circuit/);
  });

  test("is nothing where neither list has a possible option", () => {
    expect(chooseForEmergency(new Map(), order)).toMatchObject({ verdict: null });
  });
});

describe("inferred answers in a plan", () => {
  test("are priced as answered, but are listed as not seen and make no emergency swap ready", () => {
    const scenario = {
      ...defaultScenario(TODAY),
      options: ["hp240-50"],
      emergency: { whenReady: "hp240-50", otherwise: ["gas-40"] },
    };
    const context = prepareCosting(scenario, DEFAULT_OPTIONS);
    const use = { energy: [], refrigerantKgPerYear: 0, maintenanceCentsPerYear: 0 };
    const input = (inferred: CostingInput["inferred"]): CostingInput => ({
      id: "H1",
      building: "B1",
      technology: "gas-storage",
      ageYears: 8,
      conditionalFailure: context.periods.map(() => 0.05),
      now: use,
      after: { "hp240-50": use, "gas-40": use },
      readiness: ALL_THERE,
      expansionControlled: "yes",
      mixingValve: "yes",
      consequenceCents: 0,
      inferred,
    });
    const seen = priceHeater(context, input([]));
    const carried = priceHeater(context, input(["circuit-240v"]));
    expect(seen.choices[0]?.unknownReadiness).toEqual([]);
    expect(carried.choices[0]?.unknownReadiness).toEqual(["circuit-240v"]);
    expect(carried.choices[0]?.capitalCents).toBe(seen.choices[0]?.capitalCents);
    // An emergency gets the cheaper gas tank when the heat pump is not ready.
    expect(carried.left.costCents).toBeLessThan(seen.left.costCents);
  });
});

describe("the catalogue's terms", () => {
  test("stored before the newer keys still read", () => {
    for (const { terms } of DEFAULT_OPTIONS) {
      const { perHome: _, ...older } = terms;
      expect(optionTermsSchema.parse(older)).toEqual(older);
      expect(optionTermsSchema.parse(terms)).toEqual(terms);
    }
  });

  test("with an escalation of their own follow it instead of the scenario's", () => {
    const scenario = {
      ...defaultScenario(TODAY),
      options: ["gas-40"],
      installCostChangePerYear: 0,
    };
    const own = {
      ...option("gas-40"),
      terms: {
        ...option("gas-40").terms,
        escalationPerYear: { value: 0.1, evidence: "entered" as const, source: "" },
      },
    };
    const catalogue = DEFAULT_OPTIONS.map((each) => (each.code === "gas-40" ? own : each));
    const use = { energy: [], refrigerantKgPerYear: 0, maintenanceCentsPerYear: 0 };
    const capital = (options: readonly ReplacementOption[]) => {
      const context = prepareCosting(scenario, options);
      const { choices } = priceHeater(context, {
        id: "H1",
        building: "B1",
        technology: "gas-storage",
        ageYears: 8,
        conditionalFailure: context.periods.map(() => 0),
        now: use,
        after: { "gas-40": use },
        readiness: ALL_THERE,
        expansionControlled: "yes",
        mixingValve: "yes",
        consequenceCents: 0,
      });
      return choices.map(({ capitalCents }) => capitalCents);
    };
    const flat = capital(DEFAULT_OPTIONS);
    const rising = capital(catalogue);
    const last = flat.length - 1;
    // The last period's middle lies 14½ years ahead: 1.1^14.5 = 3.98.
    expect((rising[last] ?? 0) / (flat[last] ?? 1)).toBeCloseTo(1.1 ** 14.5, 2);
  });
});
