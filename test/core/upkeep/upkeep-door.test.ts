import { describe, expect, test } from "vitest";
import { computeUpkeep } from "@/lib/core/upkeep/upkeep-door";
import { documentedExamples, expectDocumented } from "@/test/support/documented-examples";

const [example, answer] = documentedExamples("upkeep");

const heater = (changes: object = {}) => ({
  id: "WH-1",
  technology: "gas-storage",
  install: { earliest: "2022-03-15", latest: "2022-03-15" },
  ...changes,
});
const problems = (input: unknown) => {
  const outcome = computeUpkeep(input);
  return outcome.ok ? [] : outcome.problems;
};

test("the documented example gives the documented answer", () => {
  const outcome = computeUpkeep(example);
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  expectDocumented(answer, outcome.value);
});

test("the owner's own intervals take the place of the base intervals", () => {
  const outcome = computeUpkeep({
    today: "2026-11-20",
    heaters: [heater({ history: [{ task: "flush", day: "2026-10-31" }] })],
    intervalMonths: { flush: 4 },
  });
  const flush = outcome.ok && outcome.value.heaters[0]?.tasks.find((due) => due.task === "flush");
  expect(flush).toMatchObject({ dueOn: "2027-02-28", intervalMonths: 4 });
});

test("a heater without a tank has no anode forecast", () => {
  const outcome = computeUpkeep({
    today: "2026-11-20",
    heaters: [heater({ technology: "gas-instantaneous" })],
  });
  expect(outcome.ok && outcome.value.heaters[0]?.anode).toBeNull();
});

describe("bad input is refused with where and what", () => {
  test.each([
    [{}, "today"],
    [{ today: "2026-02-29", heaters: [] }, "today"],
    [{ today: "2026-11-20", heaters: [], extra: 1 }, "extra"],
    [{ today: "2026-11-20", heaters: [heater({ age: 4 })] }, "heaters[0].age"],
    [{ today: "2026-11-20", heaters: [heater({ technology: "kettle" })] }, "heaters[0].technology"],
    [{ today: "2026-11-20", heaters: [], intervalMonths: { flush: 0 } }, "intervalMonths.flush"],
    [{ today: "2022-01-01", heaters: [heater()] }, "heaters[0].install.latest"],
    [
      {
        today: "2026-11-20",
        heaters: [heater({ install: { earliest: "2022-03-15", latest: "2021-03-15" } })],
      },
      "heaters[0].install",
    ],
    [
      {
        today: "2026-11-20",
        heaters: [heater({ history: [{ task: "flush", day: "2021-03-15" }] })],
      },
      "heaters[0].history[0].day",
    ],
    [
      {
        today: "2026-11-20",
        heaters: [heater({ history: [{ task: "flush", day: "2025-03-15", finding: "spent" }] })],
      },
      "heaters[0].history[0].finding",
    ],
  ])("%j", (input, path) => {
    expect(problems(input).map((problem) => problem.path)).toContain(path);
  });

  test("all problems are told at once", () => {
    const input = {
      today: "2026-11-20",
      heaters: [
        heater({
          history: [
            { task: "flush", day: "2027-01-01" },
            { task: "flush", day: "2025-01-01", finding: "works" },
          ],
        }),
        heater({ install: { earliest: "2030-01-01", latest: "2030-01-01" } }),
      ],
    };
    expect(problems(input)).toHaveLength(3);
  });
});
