import { describe, expect, test } from "vitest";
import { contingencyShare, settleContingency } from "@/lib/core/planning/simulation/contingency";

describe("contingency", () => {
  test("the share covers emergencies in the asked part of the years", () => {
    // Ten years of one trial each against 100: shares 0.01 to 0.10.
    const cents = Array.from({ length: 11 }, (_, n) => n);
    const share = contingencyShare(cents, [100], 0.8) ?? Number.NaN;
    expect(share).toBeCloseTo(0.08, 12);
    expect(cents.filter((each) => each / 100 <= share + 1e-12).length).toBe(9);
  });

  test("years without a limit are left out, and without any there is no share", () => {
    const unlimited = Number.POSITIVE_INFINITY;
    expect(contingencyShare([5, 1_000, 5, 2_000], [100, unlimited], 0.8)).toBeCloseTo(0.05, 12);
    expect(contingencyShare([5, 5], [unlimited], 0.8)).toBeNull();
    expect(contingencyShare([5, 5], [0], 0.8)).toBeNull();
  });

  test("a need above the whole budget is the whole budget", () => {
    expect(contingencyShare([500], [100], 0.8)).toBe(1);
  });

  test("the fixed point stops when what is kept is what is needed, or after its solves", async () => {
    // The need falls by half of what is kept: fixed point at 0.2 − 0.5 s = s, s = 2/15.
    const planWith = async (share: number) => ({ plan: share, needed: 0.2 - 0.5 * share });
    const settled = await settleContingency(planWith, { start: 0.1, solves: 9, tolerance: 0.005 });
    expect(settled.isSettled).toBe(true);
    expect(Math.abs(settled.share - 2 / 15)).toBeLessThan(0.005);
    expect(settled.solves).toBeLessThan(9);
    const stopped = await settleContingency(planWith, { start: 0.9, solves: 2, tolerance: 1e-9 });
    expect(stopped).toMatchObject({ solves: 2, isSettled: false });
    await expect(settleContingency(planWith, { start: 0, solves: 0 })).rejects.toThrow(/solves/);
  });
});
