import { beforeAll, describe, expect, test } from "vitest";
import { generateDemo } from "@/demo-seed/generate";
import { DEMO_PEOPLE } from "@/demo-seed/people";
import { DemoRandom } from "@/demo-seed/random";
import type { TrueLife } from "@/demo-seed/rows";
import { baseWearRate, TRUE_LIFETIMES } from "@/demo-seed/truth";
import { calendarDay, yearsBetween } from "@/lib/core/shared/calendar-day";
import { ROLES } from "@/lib/core/shared/roles";

let lives: readonly TrueLife[];

beforeAll(() => {
  lives = generateDemo({ seed: 11, today: calendarDay("2026-11-20"), heaters: 12_000 }).trueLives;
});

/** Kaplan-Meier estimate with delayed entry, on the axis of exposure. */
function kaplanMeier(sample: readonly TrueLife[], at: number): number {
  const ends = sample.filter((life) => life.failed).map((life) => life.exposureAtEndYears);
  const allEnds = sample.map((life) => life.exposureAtEndYears).sort((a, b) => a - b);
  const entries = sample.map((life) => life.exposureAtEntryYears).sort((a, b) => a - b);
  let survival = 1;
  let entered = 0;
  let left = 0;
  for (const end of ends.sort((a, b) => a - b)) {
    if (end > at) break;
    while (entered < entries.length && (entries[entered] as number) < end) entered++;
    while (left < allEnds.length && (allEnds[left] as number) < end) left++;
    survival *= 1 - 1 / (entered - left);
  }
  return survival;
}

describe("lifetimes of the demo", () => {
  // With about 5,000 failures the standard error of the estimate is below 0.008 at each point
  // (Greenwood); 0.03 is four of them. Ignoring the truncation moves
  // the curve further than that, as the last line shows.
  test("follow the stated Weibull curve of gas tanks when truncation and censoring are respected", () => {
    const tanks = lives.filter((life) => life.technology === "gas-storage");
    const { shape, scaleYears } = TRUE_LIFETIMES["gas-storage"];

    expect(tanks.filter((life) => life.failed).length).toBeGreaterThan(4_000);
    for (const exposure of [8, 12, 16, 20, 24]) {
      const stated = Math.exp(-((exposure / scaleYears) ** shape));
      expect(Math.abs(kaplanMeier(tanks, exposure) - stated)).toBeLessThan(0.03);
    }
    const asIfSeenFromBirth = tanks.map((life) => ({ ...life, exposureAtEntryYears: 0 }));
    expect(
      Math.abs(kaplanMeier(asIfSeenFromBirth, 16) - Math.exp(-((16 / scaleYears) ** shape))),
    ).toBeGreaterThan(0.03);
  });

  // Failures are a counting process: the hazard gathered while under observation sums to the number
  // expected, with a variance equal to it (Andersen and Gill 1982).
  test.each(["gas-storage", "electric-storage", "gas-instantaneous"] as const)(
    "of %s fail as often as the hazard gathered under observation says",
    (technology) => {
      const { shape, scaleYears } = TRUE_LIFETIMES[technology];
      const hazard = (exposure: number) => (exposure / scaleYears) ** shape;
      const sample = lives.filter((life) => life.technology === technology);
      const expected = sample.reduce(
        (sum, life) => sum + hazard(life.exposureAtEndYears) - hazard(life.exposureAtEntryYears),
        0,
      );
      const failed = sample.filter((life) => life.failed).length;

      expect(expected).toBeGreaterThan(100);
      expect(Math.abs(failed - expected)).toBeLessThan(4 * Math.sqrt(expected));
    },
  );

  test("of failed heaters are about 11 years, as in published claim figures", () => {
    // Mean age of failed heaters in claims: 10.7 years (IBHS, as quoted by brotherhoodmutual.com).
    const ages = lives
      .filter((life) => life.failed)
      .map((life) => yearsBetween(life.installedOn, life.seenTo));
    const mean = ages.reduce((a, b) => a + b, 0) / ages.length;

    expect(mean).toBeGreaterThan(9.5);
    expect(mean).toBeLessThan(12.5);
  });
});

describe("the true rate of wear", () => {
  const reference = {
    hardnessMgPerLitre: 60,
    softened: false,
    setpointF: 120,
    closedWithoutExpansionControl: false,
    highDraw: false,
  };

  test("is 1 under the reference conditions and rises with each hardship", () => {
    expect(baseWearRate(reference)).toBe(1);
    expect(baseWearRate({ ...reference, hardnessMgPerLitre: 160 })).toBeCloseTo(Math.exp(0.12), 12);
    expect(baseWearRate({ ...reference, setpointF: 140 })).toBeCloseTo(Math.exp(0.16), 12);
    expect(baseWearRate({ ...reference, softened: true })).toBeGreaterThan(1);
    expect(baseWearRate({ ...reference, closedWithoutExpansionControl: true })).toBeGreaterThan(1);
  });

  test("takes no hardness from softened water", () => {
    expect(baseWearRate({ ...reference, softened: true, hardnessMgPerLitre: 300 })).toBe(
      baseWearRate({ ...reference, softened: true }),
    );
  });
});

describe("the generator of the demo", () => {
  // Pearson's chi-square over 64 cells, 63 degrees of freedom: 106.3 is exceeded once in 2,000.
  test("spreads evenly", () => {
    const random = new DemoRandom(5);
    const cells = new Array<number>(64).fill(0);
    for (let draw = 0; draw < 64_000; draw++) {
      const cell = Math.floor(64 * random.unit());
      cells[cell] = (cells[cell] as number) + 1;
    }
    const chiSquare = cells.reduce((sum, count) => sum + (count - 1000) ** 2 / 1000, 0);
    expect(chiSquare).toBeLessThan(106.3);
  });

  test("draws normals with mean 0 and variance 1 and exponentials with mean 1", () => {
    const random = new DemoRandom(6);
    const count = 40_000;
    let [sum, squares, waits] = [0, 0, 0];
    for (let draw = 0; draw < count; draw++) {
      const normal = random.normal();
      sum += normal;
      squares += normal * normal;
      waits += random.exponential();
    }
    // Four standard errors: 4/√n for means, 4·√(2/n) for the variance.
    expect(Math.abs(sum / count)).toBeLessThan(0.02);
    expect(Math.abs(squares / count - 1)).toBeLessThan(0.03);
    expect(Math.abs(waits / count - 1)).toBeLessThan(0.02);
  });
});

test("there is one demo person for each role, under a domain that cannot exist", () => {
  expect(DEMO_PEOPLE.map((person) => person.role).sort()).toEqual([...ROLES].sort());
  for (const person of DEMO_PEOPLE) expect(person.email).toMatch(/@demo\.example$/);
});
