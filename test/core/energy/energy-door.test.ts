import { describe, expect, test } from "vitest";
import { computeEnergyDoor } from "@/lib/core/energy/energy-door";
import {
  documentedExamples,
  expectDocumented,
  withValueAt,
} from "@/test/support/documented-examples";

const [example, answer] = documentedExamples("energy");

const changed = (path: string, value: unknown) => withValueAt(example, path, value);

function problemsOf(input: unknown) {
  const outcome = computeEnergyDoor(input);
  return outcome.ok ? [] : outcome.problems;
}

describe("compute -- energy", () => {
  test("answers the documented example as documented", () => {
    const outcome = computeEnergyDoor(example);
    expect(outcome.ok).toBe(true);
    if (outcome.ok) expectDocumented(answer, outcome.value);
  });

  test("assumes what is left out and says so", () => {
    const outcome = computeEnergyDoor(changed("heater.uniformEnergyFactor", undefined));
    expect(outcome.ok && outcome.value.assumed).toEqual(["uniform energy factor 3.3"]);
  });

  test("takes a draw in four forms", () => {
    const deliveredBy = (draw: unknown) => {
      const outcome = computeEnergyDoor(changed("draw", draw));
      return outcome.ok ? outcome.value.deliveredBtuPerYear : Number.NaN;
    };
    expect(deliveredBy({ bedrooms: 2 })).toBeGreaterThan(1e6);
    expect(deliveredBy({ demandLevel: "low", people: 2 })).toBeGreaterThan(1e6);
    expect(deliveredBy({ mixedGallons: 0, hotGallons: 0 })).toBe(0);
  });

  test.each([
    ["heater.colour", "green", "heater.colour", /unknown key "colour"/],
    ["draw.pets", 2, "draw.pets", /unknown key "pets"/],
    ["tariffs.fuel.currency", "EUR", "tariffs.fuel.currency", /unknown key "currency"/],
    ["heater.technology", "solar", "heater.technology", /gas-storage/],
    ["heater.fuel", "natural-gas", "heater.fuel", /fuel that burns/],
    ["heater.uniformEnergyFactor", 0.9, "heater.uniformEnergyFactor", /from 1 to 8/],
    ["heater.setpointF", 60, "heater.setpointF", /80/],
    ["heater.inputBtuPerHour", 40, "heater.inputBtuPerHour", /5000 or more/],
    ["draw", {}, "draw", /occupants, bedrooms/],
    ["draw", { occupants: 2, bedrooms: 1 }, "draw", /occupants, bedrooms/],
    ["climate.coldestMonth", 13, "climate.coldestMonth", /12/],
    ["climate", undefined, "climate", /expected object/],
    [
      "tariffs.electricity.tiers",
      [{ upTo: 5, centsPerUnit: 1 }],
      "tariffs.electricity.tiers",
      /last has upTo null/,
    ],
    [
      "tariffs.electricity",
      { kind: "time-of-use", seasons: [{ months: [1], centsByHour: Array(24).fill(1) }] },
      "tariffs.electricity.seasons",
      /exactly one season/,
    ],
  ])("with %s = %j it names %s", (path, value, where, message) => {
    const problems = problemsOf(changed(path, value));
    expect(problems.map((problem) => problem.path)).toContain(where);
    expect(problems.find((problem) => problem.path === where)?.message).toMatch(message);
  });

  test.each([[null], ["text"], [[]], [42]])("refuses %j", (input) => {
    expect(problemsOf(input)).not.toEqual([]);
  });
});
