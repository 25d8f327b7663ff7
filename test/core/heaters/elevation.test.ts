import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { arrangeElevation, type ElevationPlace } from "@/lib/core/heaters/elevation";

// The arrangement is our own drawing; there is no outside source. Cases were laid out by hand.

function at(label: string, floor: number | null, riser: string | null): ElevationPlace {
  return { heaterId: `id-${label}`, label, floor, riser };
}

describe("the elevation of a building", () => {
  test("top floor first, risers as people count", () => {
    const drawn = arrangeElevation([at("110", 1, "10"), at("102", 1, "2"), at("202", 2, "2")]);
    expect(drawn.kind).toBe("stacks");
    expect(drawn.risers).toEqual(["2", "10"]);
    expect(
      drawn.rows.map(({ floor, places }) => [
        floor,
        places.map((homes) => homes.map(({ label }) => label)),
      ]),
    ).toEqual([
      [2, [["202"], []]],
      [1, [["102"], ["110"]]],
    ]);
  });

  test("a floor without a heater is drawn, so that heights are true", () => {
    const drawn = arrangeElevation([at("A", -1, "1"), at("B", 2, "1")]);
    expect(drawn.rows.map(({ floor }) => floor)).toEqual([2, 1, 0, -1]);
  });

  test("a heater without floor or riser stands beside the drawing, and is not lost", () => {
    const drawn = arrangeElevation([at("1", 1, "1"), at("2", 1, null), at("3", 1, "2")]);
    expect(drawn.unplaced.map(({ label }) => label)).toEqual(["2"]);
  });

  test("without floors and risers the homes stand by number, eight to a line", () => {
    const homes = Array.from({ length: 9 }, (_, index) => at(String(index + 2), null, null));
    const drawn = arrangeElevation(homes.toReversed());
    expect(drawn.kind).toBe("homes");
    expect(drawn.rows.map(({ places }) => places.map(([home]) => home?.label))).toEqual([
      ["2", "3", "4", "5", "6", "7", "8", "9"],
      ["10"],
    ]);
  });

  test("exactly half of the places known is drawn by stacks, fewer by home number", () => {
    expect(arrangeElevation([at("1", 1, "1"), at("2", null, null)]).kind).toBe("stacks");
    expect(arrangeElevation([at("1", 1, "1"), at("2", null, null), at("3", 1, null)]).kind).toBe(
      "homes",
    );
  });

  test("no heater is lost or doubled, and the order of the input does not matter", () => {
    const places = fc.uniqueArray(
      fc.record({
        heaterId: fc.uuid(),
        label: fc.string({ maxLength: 4 }),
        floor: fc.option(fc.integer({ min: -2, max: 30 })),
        riser: fc.option(fc.string({ maxLength: 3 })),
      }),
      { selector: ({ heaterId }) => heaterId, maxLength: 60 },
    );
    fc.assert(
      fc.property(places, (heaters) => {
        const drawn = arrangeElevation(heaters);
        const ids = [...drawn.rows.flatMap(({ places: cells }) => cells.flat()), ...drawn.unplaced]
          .map(({ heaterId }) => heaterId)
          .sort();
        expect(ids).toEqual(heaters.map(({ heaterId }) => heaterId).sort());
        expect(arrangeElevation([...heaters].reverse())).toEqual(drawn);
      }),
    );
  });
});
