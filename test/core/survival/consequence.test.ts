import { describe, expect, test } from "vitest";
import { DEFAULT_CONSEQUENCES, estimateLoss } from "@/lib/core/survival/consequence";
import { aHeater } from "@/test/support/a-heater";

const exposed = aHeater({ overFinishedSpace: "yes", drainPan: "no", leakShutoff: "no" });
const valued = (value: number) => ({
  value,
  unit: "cents",
  source: "test",
  evidence: "entered" as const,
});

describe("estimateLoss", () => {
  // Worked by hand: 0.1258 × (1,500 + 0.69 × 4,444) dollars and two days of $75 for one home;
  // $1,500 premium and 0.1258 are an invented example, 0.69 and $4,444 IBHS as quoted.
  test("matches the example worked by hand", () => {
    const loss = estimateLoss(exposed, 0.1258, {
      ...DEFAULT_CONSEQUENCES,
      emergencySwapCents: valued(330_000),
      plannedSwapCents: valued(180_000),
    });
    expect(loss.ifItFails).toEqual({
      emergencyPremiumCents: 150_000,
      damageCents: 306_636,
      noHotWaterCents: 15_000,
      totalCents: 471_636,
    });
    expect(loss.expected).toEqual({
      emergencyPremiumCents: 18_870,
      damageCents: 38_575,
      noHotWaterCents: 1_887,
      totalCents: 59_332,
    });
  });

  test("a pan and a shut-off each lower the damage, and not knowing lies between", () => {
    const damage = (changes: Partial<typeof exposed>) =>
      estimateLoss({ ...exposed, ...changes }, 1).ifItFails.damageCents;
    for (const part of ["drainPan", "leakShutoff"] as const) {
      expect(damage({ [part]: "yes" })).toBeLessThan(damage({ [part]: "unknown" }));
      expect(damage({ [part]: "unknown" })).toBeLessThan(damage({ [part]: "no" }));
    }
    expect(damage({ overFinishedSpace: "no" })).toBeLessThan(damage({ overFinishedSpace: "yes" }));
  });

  test("where it is not known what lies below, the place decides", () => {
    const damage = (place: "attic" | "interior-closet" | "garage") =>
      estimateLoss({ ...exposed, overFinishedSpace: "unknown", place }, 1).ifItFails.damageCents;
    expect(damage("garage")).toBeLessThan(damage("interior-closet"));
    expect(damage("interior-closet")).toBeLessThan(damage("attic"));
  });

  test("every home without hot water counts", () => {
    const homes = (homesServed: number) =>
      estimateLoss({ ...exposed, home: { ...exposed.home, homesServed } }, 1).ifItFails
        .noHotWaterCents;
    expect(homes(12)).toBe(12 * homes(1));
  });

  test("nothing is expected from a heater that cannot fail; a probability above 1 is refused", () => {
    expect(estimateLoss(exposed, 0).expected.totalCents).toBe(0);
    expect(() => estimateLoss(exposed, 1.1)).toThrow(/probability.*1\.1/);
  });

  test("every assumption names where it comes from", () => {
    for (const value of Object.values(DEFAULT_CONSEQUENCES)) {
      expect(value.source.length).toBeGreaterThan(0);
      expect(["quoted", "assumed"]).toContain(value.evidence);
    }
  });
});
