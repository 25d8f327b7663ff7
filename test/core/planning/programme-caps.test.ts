import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { DEFAULT_OPTIONS, type ReplacementOption } from "@/lib/core/planning/options";
import { type Claimant, shareOutProgrammes } from "@/lib/core/planning/programme-caps";

function paying(code: string, dollars: number, capDollars: number | null): ReplacementOption {
  const base = DEFAULT_OPTIONS[0];
  if (!base) throw new Error("no option");
  return {
    ...base,
    code,
    terms: {
      ...base.terms,
      incentives: [
        {
          programme: "An invented programme",
          cents: dollars * 100,
          maximumShare: 1,
          validTo: null,
          programmeCapCents: capDollars === null ? null : capDollars * 100,
          evidence: "entered",
          source: "",
        },
      ],
    },
  };
}

const claimant = (id: string, urgency: number, options = ["a", "b"]): Claimant => ({
  id,
  urgency,
  options,
});

describe("a programme with a cap", () => {
  // $5,000 at $1,000 a swap reach five heaters.
  test("is offered to the most urgent heaters as far as it reaches", () => {
    const heaters = Array.from({ length: 8 }, (_, n) => claimant(`h${n}`, n / 10));
    const { closed, shares } = shareOutProgrammes([paying("a", 1_000, 5_000)], heaters);
    expect([...closed.keys()].sort()).toEqual(["h0", "h1", "h2"]);
    expect(shares).toEqual([
      { programme: "An invented programme", capCents: 500_000, offered: 5, claimants: 8 },
    ]);
  });

  test("counts each heater at the dearest option it may take", () => {
    const catalogue = [paying("a", 1_000, 3_000), paying("b", 2_000, 3_000)];
    const { closed } = shareOutProgrammes(catalogue, [
      claimant("first", 3),
      claimant("second", 2),
      claimant("only a", 1, ["a"]),
    ]);
    expect([...closed.keys()]).toEqual(["second"]);
  });

  test("without a cap is offered to all, and is not claimed by who cannot", () => {
    const { closed, shares } = shareOutProgrammes([paying("a", 1_000, null)], [claimant("h", 1)]);
    expect([closed.size, shares.length]).toEqual([0, 0]);
    const capped = shareOutProgrammes([paying("a", 1_000, 0)], [claimant("h", 1, ["other"])]);
    expect(capped.closed.size).toBe(0);
  });

  test("never pays more than its cap, whichever option each heater takes", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 20_000 }),
        fc.integer({ min: 1, max: 5_000 }),
        fc.integer({ min: 1, max: 5_000 }),
        fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { maxLength: 20 }),
        fc.infiniteStream(fc.boolean()),
        (cap, first, second, urgencies, picks) => {
          const heaters = urgencies.map((urgency, n) => claimant(`h${n}`, urgency));
          const catalogue = [paying("a", first, cap), paying("b", second, cap)];
          const { closed } = shareOutProgrammes(catalogue, heaters);
          let paid = 0;
          for (const { id } of heaters) {
            if (!closed.has(id)) paid += picks.next().value ? first : second;
          }
          expect(paid).toBeLessThanOrEqual(cap);
        },
      ),
    );
  });
});
