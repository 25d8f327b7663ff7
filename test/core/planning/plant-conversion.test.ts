import { describe, expect, test } from "vitest";
import { DEFAULT_OPTIONS, type OptionTerms } from "@/lib/core/planning/options";
import {
  conversionCosts,
  conversionGroups,
  termsInPlant,
} from "@/lib/core/planning/plant-conversion";
import { aHeater } from "@/test/support/a-heater";

const heater = (id: string, riser: string | null, buildingId = "b1", homesServed = 1) => {
  const made = aHeater({ id, buildingId });
  return { ...made, home: { ...made.home, riser, homesServed } };
};
const plants = (scope: "none" | "building" | "riser") => new Map([["b1", { scope }]]);

describe("heaters that give way to a central plant together", () => {
  const heaters = [
    heater("1", "A"),
    heater("2", "A"),
    heater("3", "B"),
    heater("4", null),
    heater("5", "A", "b2"),
    heater("6", "A", "b2"),
  ];

  test("are all of a building that offers it, and of no other", () => {
    expect(conversionGroups(heaters, plants("building"))).toEqual([
      { id: 'plant ["b1"]', heaters: ["1", "2", "3", "4"], homes: 4 },
    ]);
    expect(conversionGroups(heaters, plants("none"))).toEqual([]);
    expect(conversionGroups(heaters, new Map())).toEqual([]);
  });

  test("are those of one riser, without heaters of no riser and risers of one", () => {
    expect(conversionGroups(heaters, plants("riser"))).toEqual([
      { id: 'plant ["b1","A"]', heaters: ["1", "2"], homes: 2 },
    ]);
  });

  test("count the homes behind each, and leave out a central heat pump that is there", () => {
    const there = { ...heater("7", "A", "b1", 12), technology: "heat-pump-central" as const };
    const [group] = conversionGroups(
      [heater("1", "A"), heater("2", "A", "b1", 3), there],
      plants("building"),
    );
    expect(group).toMatchObject({ heaters: ["1", "2"], homes: 4 });
  });
});

describe("a heater's share of a plant", () => {
  const terms = DEFAULT_OPTIONS.find(({ code }) => code === "hp-central")?.terms as OptionTerms;
  const likely = ({ costs }: Pick<OptionTerms, "costs">) =>
    Object.values(costs).reduce((sum, range) => sum + range.likelyCents, 0);

  test("adds up over its heaters to the plant, cap-off and disposal of each", () => {
    const homes = [1, 1, 2, 4];
    const shares = homes.map((each) => termsInPlant(terms, each, 8));
    const whole = conversionCosts(terms, homes.length, 8).likelyCents;
    const sum = shares.reduce((total, share) => total + likely(share), 0);
    expect(Math.abs(sum - whole)).toBeLessThan(homes.length * 20);
    expect(shares.reduce((total, { volumeGal }) => total + (volumeGal ?? 0), 0)).toBeCloseTo(
      100 + 8 * 25,
      9,
    );
    expect(shares.reduce((total, { circuitLoad }) => total + circuitLoad, 0)).toBeCloseTo(
      0.5 + 8 * 0.12,
      9,
    );
  });

  test("of a plant of 20 single homes costs what the catalogue's parts add up to", () => {
    const own = ["ventAndGasCapOff", "ventLeftBehind", "disposal"] as const;
    const perHeater = own.reduce((sum, part) => sum + (terms.costs[part]?.likelyCents ?? 0), 0);
    const fixed = likely(terms) - perHeater;
    const perHome = 140_000 + 50_000 + 25_000;
    expect(conversionCosts(terms, 20, 20).likelyCents).toBe(fixed + 20 * (perHome + perHeater));
  });

  test("asks nothing of the closet and pays the plant room's work in full", () => {
    const share = termsInPlant(terms, 1, 10);
    expect(share.requiredReadiness).toEqual([]);
    expect(share.perHome).toBeUndefined();
    expect(share.costs.circuit).toBeUndefined();
    // Circuit 2,500, panel 3,000, condensate 300, floor 2,500, noise 1,500, expansion 600, mixing 900.
    expect(share.costs.plantRoom?.likelyCents).toBe(113_000);
  });

  test("is refused where more homes stand behind the heater than behind the plant", () => {
    expect(() => termsInPlant(terms, 3, 2)).toThrow(/homesOfPlant/);
  });
});
