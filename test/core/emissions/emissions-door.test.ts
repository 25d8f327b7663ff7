import { describe, expect, test } from "vitest";
import { computeEmissionsDoor } from "@/lib/core/emissions/emissions-door";
import {
  documentedExamples,
  expectDocumented,
  withValueAt,
} from "@/test/support/documented-examples";

const [example, answer, firstLine] = documentedExamples("emissions");

const changed = (path: string, value: unknown) => withValueAt(example, path, value);

function problemsOf(input: unknown) {
  const outcome = computeEmissionsDoor(input);
  return outcome.ok ? [] : outcome.problems;
}

describe("compute -- emissions", () => {
  test("answers the documented example as documented", () => {
    const outcome = computeEmissionsDoor(example);
    expect(outcome.ok).toBe(true);
    if (!outcome.ok) return;
    expectDocumented(answer, outcome.value);
    expectDocumented(firstLine, outcome.value.lines[0]);
  });

  test("prices a region by a factor of the user's own", () => {
    const outcome = computeEmissionsDoor({
      year: 2024,
      items: [{ id: "a", kwh: 1000, gridRegion: "HOME" }],
      gridFactors: [
        {
          region: "HOME",
          vintage: 2024,
          co2LbPerMwh: 100,
          ch4LbPerMwh: 0,
          n2oLbPerMwh: 0,
          source: "utility statement",
        },
      ],
    });
    expect(outcome.ok && outcome.value.kgCo2e.scope2Location).toBeCloseTo(45.359237, 9);
    expect(outcome.ok && outcome.value.lines[0]?.factor.evidence).toBe("entered");
  });

  test("halves electricity for a grid at half of the table", () => {
    const outcome = computeEmissionsDoor(
      changed("gridOutlook", { shareOfTable: 0.5, source: "own outlook" }),
    );
    expect(outcome.ok && outcome.value.kgCo2e.scope2Location).toBeCloseTo(1950.261 / 2, 2);
    expect(outcome.ok && outcome.value.kgCo2e.scope1).toBeCloseTo(9689.642, 2);
  });

  test("leaves upstream methane out unless asked for", () => {
    const outcome = computeEmissionsDoor(changed("upstreamLeakShare", undefined));
    expect(outcome.ok && outcome.value.apart.upstreamMethane).toBeNull();
  });

  test.each([
    ["scope", 1, "scope", /unknown key "scope"/],
    ["items.0.mwh", 1, "items[0].mwh", /unknown key "mwh"/],
    ["contracts.instruments.0.covers.mwh", 6, "contracts.instruments[0].covers.mwh", /unknown key/],
    [
      "contracts.instruments.0.covers",
      {},
      "contracts.instruments[0].covers",
      /either kwh or share/,
    ],
    ["contracts.instruments.0.kgCo2ePerKwh", -1, "contracts.instruments[0].kgCo2ePerKwh", />=0/],
    ["items.1.gridRegion", "XX", "items[1].gridRegion", /no factor for grid region "XX"/],
    ["items.1.id", "gas tanks", "items[1].id", /used twice/],
    ["items.0.fuel", "electricity", "items[0].fuel", /fuel that burns/],
    ["items.1.kwh", -1, "items[1].kwh", />=0/],
    ["upstreamLeakShare", 2, "upstreamLeakShare", /0\.5/],
    ["year", 2023.5, "year", /int/],
  ])("with %s = %j it names %s", (path, value, where, message) => {
    const problems = problemsOf(changed(path, value));
    expect(problems.map((problem) => problem.path)).toContain(where);
    expect(problems.find((problem) => problem.path === where)?.message).toMatch(message);
  });

  test("collects every problem of an input", () => {
    const input = withValueAt(changed("items.0.gridRegion", "XX"), "items.1.gridRegion", "YY");
    expect(problemsOf(input)).toHaveLength(2);
  });
});
