import type { PlanProblem } from "@/lib/core/planning/problem";

/** Three heaters, two years; each year's money pays one swap. Waiting costs $50, $30 and $10. */
export const THREE_HEATERS: PlanProblem = {
  periods: [
    { id: "P1", budgetYear: "Y1", discount: 1 },
    { id: "P2", budgetYear: "Y2", discount: 1 },
  ],
  budgets: { Y1: { cents: 1_000, carryOver: 0 }, Y2: { cents: 1_000, carryOver: 0 } },
  crewHours: {},
  buildings: [{ id: "B", headroom: null, upgrade: null, mobilisationCents: 0 }],
  heaters: [50, 30, 10].map((wait, n) => ({
    id: `H${n + 1}`,
    building: "B",
    never: { costCents: [25_000, 23_000, 20_000][n], kg: 9 },
    choices: ["P1", "P2"].map((period, t) => ({
      option: "hp",
      period,
      costCents: 10_000 + t * wait * 100,
      capitalCents: 1_000,
      hours: 1,
      circuit: 0,
      kg: 1 + t,
    })),
    lock: null,
  })),
  emissionCap: null,
};
