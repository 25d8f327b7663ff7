import { writeFile } from "node:fs/promises";
import { decompose } from "@/lib/core/planning/solvers/decomposition";
import { PlanState } from "@/lib/core/planning/solvers/plan-state";
import { aLargePlan } from "@/test/support/a-large-plan";
import { drawGrowth, type GrowthPoint } from "@/test/support/growth-plot";

/** Gap asked for: the solve ends as soon as it is proven. */
const GAP = 1e-3;
const SECONDS = 300;

/** Where the drawing of this run goes; the docs show it. */
const DRAWING = "docs/pictures/planner-growth.svg";

/** One thread. Times are processor seconds too, because the machine may be shared. */
export async function run(): Promise<void> {
  const times: GrowthPoint[] = [];
  const capped: GrowthPoint[] = [];
  for (const { heaters, quarters, cap } of [
    { heaters: 1_000, quarters: 0, cap: null },
    { heaters: 1_000, quarters: 0, cap: 0.8 },
    { heaters: 10_000, quarters: 0, cap: null },
    { heaters: 10_000, quarters: 0, cap: 0.8 },
    { heaters: 10_000, quarters: 12, cap: 0.8 },
    { heaters: 100_000, quarters: 0, cap: null },
    { heaters: 100_000, quarters: 0, cap: 0.8 },
    { heaters: 100_000, quarters: 12, cap: 0.8 },
    { heaters: 1_000_000, quarters: 0, cap: null },
    { heaters: 1_000_000, quarters: 0, cap: 0.8 },
  ]) {
    const arrays = aLargePlan({ heaters, quarters, years: quarters > 0 ? 12 : 15, cap });
    const begin = performance.now();
    const used = process.cpuUsage();
    const result = await decompose(arrays, {
      gap: GAP,
      seed: 1,
      shouldStop: () => performance.now() - begin > 1_000 * SECONDS,
    });
    const seconds = (performance.now() - begin) / 1_000;
    const processor = process.cpuUsage(used);
    const gap = (result.objectiveCents - result.lowerBoundCents) / result.objectiveCents;
    const kept = result.chosen !== null && new PlanState(arrays, result.chosen).isFeasible();
    const processorSeconds = (processor.user + processor.system) / 1e6;
    console.log(
      `${heaters} heaters, ${arrays.periodCount} periods, cap ${cap ?? "none"}: gap ` +
        `${(100 * gap).toFixed(4)} %, ${seconds.toFixed(1)} s (${processorSeconds.toFixed(1)} s of ` +
        `processor), ${(process.memoryUsage().rss / 2 ** 30).toFixed(2)} GiB, rules ` +
        `${kept ? "kept" : "BROKEN"}, time against ${SECONDS} s: ${(seconds / SECONDS).toFixed(3)}×`,
    );
    if (quarters === 0) {
      (cap === null ? times : capped).push({ heaters, seconds: processorSeconds });
    }
  }
  await writeFile(
    DRAWING,
    drawGrowth([
      { name: "no cap", points: times },
      { name: "binding cap", points: capped },
    ]),
  );
  const first = times[0];
  const last = times[times.length - 1];
  const slope = Math.log(last.seconds / first.seconds) / Math.log(last.heaters / first.heaters);
  console.log(`processor time grows as heaters to the power ${slope.toFixed(2)}`);
}
