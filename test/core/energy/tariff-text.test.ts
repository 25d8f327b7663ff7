import { describe, expect, test } from "vitest";
import { formatTariff, parseTariff } from "@/lib/core/energy/tariff-text";

const SEASONS =
  "months 6,7,8,9: 0-15 at 20, 16-20 at 45, 21-23 at 20\nmonths 1-5,10-12: 0-23 at 18.5";

describe("a tariff as a person writes it down", () => {
  test("is flat, tiered or by the hour, and nothing when empty", () => {
    expect(parseTariff(" ")).toEqual({ ok: true, value: null });
    expect(parseTariff("18.5")).toEqual({ ok: true, value: { kind: "flat", centsPerUnit: 18.5 } });
    expect(parseTariff("other use 250: 300 at 12, above at 16")).toEqual({
      ok: true,
      value: {
        kind: "tiered",
        otherUnitsPerMonth: 250,
        tiers: [
          { upTo: 300, centsPerUnit: 12 },
          { upTo: null, centsPerUnit: 16 },
        ],
      },
    });
    const seasons = parseTariff(SEASONS);
    expect(seasons.ok && seasons.value?.kind).toBe("time-of-use");
  });

  test.each(["18.5", "other use 0: 100 at 30, above at 38", SEASONS])(
    "%s reads back from how it is shown",
    (text) => {
      const read = parseTariff(text);
      expect(read.ok).toBe(true);
      if (!read.ok) return;
      expect(parseTariff(formatTariff(read.value))).toEqual(read);
    },
  );

  test.each([
    ["cheap", /neither a price/],
    ["other use 250: 300 for 12", /"300 for 12" is not a tier/],
    ["other use 250: 300 at 12", /tiers must rise/],
    ["months 1-12: 0-15 at 20, 17-23 at 20", /without a gap/],
    ["months 1-12: 0-15 at 20", /from 0 to 23/],
    ["months 1-6: 0-23 at 20", /exactly one season/],
  ])("%s is refused with the reason", (text, reason) => {
    const read = parseTariff(text);
    expect(read.ok).toBe(false);
    if (!read.ok) expect(read.problems.map(({ message }) => message).join()).toMatch(reason);
  });
});
