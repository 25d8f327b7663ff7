import type { Heater } from "@/lib/core/heaters/heater";
import { addDays, calendarDay } from "@/lib/core/shared/calendar-day";
import { createRandom } from "@/lib/core/stats/random";
import { bandFleet12Months } from "@/lib/core/survival/bands";
import { drawModels } from "@/lib/core/survival/draws";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { rankFleet } from "@/lib/core/survival/predict";
import { aHeater } from "@/test/support/a-heater";

const DRAWS = 200;
const PART = 10_000;
const today = calendarDay("2026-06-01");

/** One part of an invented fleet: one in five with an install bracket, one in three with care. */
function inventPart(part: number): readonly Heater[] {
  const random = createRandom(part);
  const plain = aHeater();
  return Array.from({ length: PART }, (_, i) => {
    const latest = addDays(today, -30 - Math.floor(random.nextUniform() * 7000));
    const earliest = random.nextUniform() < 0.2 ? addDays(latest, -600) : latest;
    const flushed = addDays(today, -Math.floor(random.nextUniform() * 1500));
    return aHeater({
      id: `${part}-${i}`,
      propertyId: `property-${i % 100}`,
      install: { earliest, latest, evidence: "serial-number" },
      setpointF: 120 + 10 * Math.floor(3 * random.nextUniform()),
      water: { ...plain.water, hardnessMgPerLitre: 300 * random.nextUniform(), softened: "no" },
      care: { ...plain.care, flushDays: i % 3 === 0 ? [flushed] : [] },
    });
  });
}

/** Ranks `heaters` with every posterior draw, part by part. `SURVIVAL_RANK_HEATERS` sets how many. */
export async function run(): Promise<void> {
  const heaters = Number(process.env.SURVIVAL_RANK_HEATERS ?? 50_000);
  const parts = Math.ceil(heaters / PART);
  const propertyIds = Array.from({ length: 100 }, (_, i) => `property-${i}`);
  const draws = drawModels(PRIOR_MODEL, { count: DRAWS, seed: 1, propertyIds });
  const means = new Float64Array(parts * PART);
  const ids: { readonly id: string }[] = [];
  let seconds = 0;
  let most = 0;
  for (let part = 0; part < parts; part++) {
    const fleet = inventPart(part);
    const start = performance.now();
    const bands = bandFleet12Months(draws, fleet, today);
    seconds += (performance.now() - start) / 1000;
    means.set(bands.mean, part * PART);
    for (const { id } of fleet) ids.push({ id });
    most = Math.max(most, process.memoryUsage().heapUsed);
  }
  const start = performance.now();
  rankFleet(means, ids);
  const sorting = (performance.now() - start) / 1000;
  console.log(
    `rank of ${means.length} heaters with ${DRAWS} draws in parts of ${PART}: ${seconds.toFixed(1)} s and ` +
      `${sorting.toFixed(1)} s to sort, ${((1e9 * seconds) / (means.length * DRAWS)).toFixed(0)} ns a heater and draw, ` +
      `heap at most ${(most / 2 ** 20).toFixed(0)} MiB`,
  );
}
