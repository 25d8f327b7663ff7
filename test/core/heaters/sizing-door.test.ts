import { describe, expect, test } from "vitest";
import { computeSizing } from "@/lib/core/heaters/sizing-door";
import { documentedExamples, expectDocumented } from "@/test/support/documented-examples";

const [example, answer, buildingExample, buildingAnswer] = documentedExamples("sizing");
const heater = { technology: "gas-storage", volumeGal: 40 };

test("the documented example gives the documented answer", () => {
  const outcome = computeSizing(example);
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  expectDocumented(answer, outcome.value);
});

test("the documented building and plant give the documented answer", () => {
  const outcome = computeSizing(buildingExample);
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  expectDocumented(buildingAnswer, outcome.value);
});

test("without a service nothing is said of electricity", () => {
  const outcome = computeSizing({ heater, home: { occupants: 2 } });
  expect(outcome.ok && outcome.value).toMatchObject({
    electrical: null,
    building: null,
    plant: null,
  });
});

describe("bad input is refused with where and what", () => {
  test.each([
    [{}, "heater"],
    [{ heater: { ...heater, volumeGal: 0 }, home: {} }, "heater.volumeGal"],
    [{ heater: { ...heater, colour: "red" }, home: {} }, "heater.colour"],
    [{ heater, home: { occupants: 2.5 } }, "home.occupants"],
    [{ heater, home: {}, uses: { sauna: 1 } }, "uses.sauna"],
    [{ heater, home: {}, worksheet: "newest" }, "worksheet"],
    [
      { heater, home: {}, service: { amps: 60, volts: 240, phases: 2, measuredPeakKw: 5 } },
      "service.phases",
    ],
    [{ heater, home: {}, service: { amps: 60, volts: 240 } }, "service.measuredPeakKw"],
    [{ heater, home: {}, building: { amps: 400, volts: 240 } }, "building.electrical"],
    [{ heater, home: {}, plant: { people: 40, homes: 20 } }, "plant.coldestInletF"],
    [
      { heater, home: {}, plant: { people: 40, homes: 20, coldestInletF: 50, runHours: 25 } },
      "plant.runHours",
    ],
  ])("%j", (input, path) => {
    const outcome = computeSizing(input);
    expect(outcome.ok ? [] : outcome.problems.map((problem) => problem.path)).toContain(path);
  });
});
