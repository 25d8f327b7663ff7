import { describe, expect, test } from "vitest";
import {
  celsiusToFahrenheit,
  grainsToMgPerLitre,
  MG_PER_LITRE_PER_GERMAN_DEGREE,
  mgPerLitreToGrains,
} from "@/lib/core/shared/units";
import { classifyHardness } from "@/lib/core/upkeep/hardness";
import { saturationIndex } from "@/lib/core/upkeep/saturation-index";

describe("hardness classes", () => {
  // USGS (Durfor and Becker 1964): soft 0–60, moderately hard 61–120, hard 121–180, very hard above
  // 180 mg/L as CaCO3; as quoted by waternitylab.com and geratools.com.
  test.each([
    [0, "soft"],
    [60, "soft"],
    [61, "moderately hard"],
    [120, "moderately hard"],
    [121, "hard"],
    [180, "hard"],
    [181, "very hard"],
  ])("%i mg/L is %s on the USGS scale", (hardness, name) => {
    expect(classifyHardness(hardness, "usgs")).toBe(name);
  });

  // Water Quality Association: soft below 1 gpg, slightly hard to 3.5, moderately hard to 7, hard to
  // 10.5, very hard above; as quoted by h2odistributors.com.
  test.each([
    [0.9, "soft"],
    [2, "slightly hard"],
    [5, "moderately hard"],
    [9, "hard"],
    [11, "very hard"],
  ])("%d grains per gallon is %s on the WQA scale", (grains, name) => {
    expect(classifyHardness(grainsToMgPerLitre(grains), "wqa")).toBe(name);
  });

  test("40 mg/L has another name on each scale", () => {
    expect(classifyHardness(40, "usgs")).toBe("soft");
    expect(classifyHardness(40, "wqa")).toBe("slightly hard");
  });

  test("a negative hardness is refused by name", () => {
    expect(() => classifyHardness(-1)).toThrow(/hardnessMgPerLitre.*-1/);
  });
});

describe("hardness conversions", () => {
  // 1 grain per US gallon = 64.79891 mg / 3.785411784 L = 17.118 mg/L (unit definitions; 17.1 as
  // quoted by geratools.com). 1 °dH = 17.848 mg/L (same page).
  test("a grain per gallon is 17.118 mg/L and the way back agrees", () => {
    expect(grainsToMgPerLitre(1)).toBeCloseTo(17.118, 3);
    expect(mgPerLitreToGrains(grainsToMgPerLitre(7))).toBeCloseTo(7, 12);
    expect(MG_PER_LITRE_PER_GERMAN_DEGREE).toBeCloseTo(17.848, 3);
  });
});

describe("Langelier saturation index", () => {
  // The well-known worked example as quoted by draftlessig.org (A = 0.15, B = 2.09 at 25 °C and 1.09
  // at 82 °C; C and D and the rounded answers −0.7 and +0.3 from memory). Four-digit values are
  // computed from the formula.
  const water = {
    ph: 7.5,
    dissolvedSolidsMgPerLitre: 320,
    calciumMgPerLitre: 150,
    alkalinityMgPerLitre: 34,
  };

  test.each([
    [25, 8.2312, -0.7, -0.7312],
    [82, 7.2339, 0.3, 0.2661],
  ])("of the worked example at %i °C", (celsius, saturationPh, published, computed) => {
    const result = saturationIndex({ ...water, temperatureF: celsiusToFahrenheit(celsius) });
    expect(result.saturationPh).toBeCloseTo(saturationPh, 3);
    expect(Number(result.index.toFixed(1))).toBe(published);
    expect(result.index).toBeCloseTo(computed, 3);
  });

  // Same water at tank temperatures, computed from the formula.
  test.each([
    [49, -0.29],
    [60, -0.1],
  ])("of the same water at %i °C in a tank", (celsius, index) => {
    expect(
      saturationIndex({ ...water, temperatureF: celsiusToFahrenheit(celsius) }).index,
    ).toBeCloseTo(index, 2);
  });

  test("says which way the water tends", () => {
    const at = (ph: number) => saturationIndex({ ...water, ph, temperatureF: 120 }).tendency;
    expect(at(7)).toBe("dissolving");
    expect(at(7.8)).toBe("near balance");
    expect(at(8.5)).toBe("scaling");
  });

  test.each([
    [{ ph: 15 }, /ph.*15/],
    [{ dissolvedSolidsMgPerLitre: 0 }, /dissolvedSolidsMgPerLitre/],
    [{ calciumMgPerLitre: -1 }, /calciumMgPerLitre/],
    [{ alkalinityMgPerLitre: 0 }, /alkalinityMgPerLitre/],
    [{ temperatureF: 250 }, /temperatureF.*250/],
  ])("refuses %j by name", (change, message) => {
    expect(() => saturationIndex({ ...water, temperatureF: 120, ...change })).toThrow(message);
  });
});
