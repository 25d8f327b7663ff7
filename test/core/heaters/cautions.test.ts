import { expect, test } from "vitest";
import { CAUTIONS, HAZARDOUS_ACTS } from "@/lib/core/heaters/cautions";

test.each(HAZARDOUS_ACTS)(
  "the caution on %s defers to code and trade and fits beside a control",
  (act) => {
    expect(CAUTIONS[act]).toMatch(/local code and the licensed trade decide\.$/i);
    expect(CAUTIONS[act].length).toBeLessThan(320);
  },
);

// Moritz and Henriques, Am J Pathol 23:695 (1947), as quoted: third-degree burn of an adult after 5 s at
// 140 °F and 5 min at 120 °F.
test("the caution on setpoints carries the published times to a burn", () => {
  expect(CAUTIONS.setpoint).toMatch(/140 °F in about 5 seconds, at 120 °F in about 5 minutes/);
});
