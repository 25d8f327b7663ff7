import { setFlagsFromString } from "node:v8";
import { runInNewContext } from "node:vm";
import pg from "pg";
import { writeDemo } from "@/demo-seed/write";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { closeConnections } from "@/lib/data/connections";
import { loadLives } from "@/lib/data/history";
import { closeQueue } from "@/lib/data/job-queue";
import { withSql } from "@/lib/data/tenant";
import { computeBackTest, computeFit, executeFit, queueFit } from "@/lib/services/risk-fit-run";
import { runRiskPass } from "@/lib/services/risk-scoring";
import {
  startThrowawayServer,
  TEMPLATE_DATABASE,
  TEST_APP_PASSWORD,
} from "@/test/support/throwaway-server";

const HEATERS = Number(process.env.SURVIVAL_DATABASE_HEATERS ?? 100_000);
const today = calendarDay("2026-06-30");

/**
 * A fit from the database and back, of an organisation with 100,000 heaters in service and all that
 * stood before them: against a bare read of the same heaters' rows. With SURVIVAL_BACK_TEST set also
 * its back-test.
 */
export async function run(): Promise<void> {
  const server = await startThrowawayServer();
  try {
    const ownerUrl = server.urlOf(TEMPLATE_DATABASE);
    const appUrl = new URL(ownerUrl);
    appUrl.username = "tanklore_app";
    appUrl.password = TEST_APP_PASSWORD;
    process.env.TANKLORE_APP_DATABASE_URL = appUrl.toString();
    const organizationId = await writeDemo(ownerUrl, {
      seed: 1,
      today,
      heaters: HEATERS,
      people: false,
    });
    console.log(`before: ${memoryMiB()} MiB kept`);
    await measure(organizationId, ownerUrl);
  } finally {
    await closeQueue();
    await closeConnections();
    await server.stop();
  }
}

async function measure(organizationId: string, ownerUrl: string): Promise<void> {
  const tenant = { organizationId };
  const request = { organizationId, method: "fit 1", asOf: today };
  const owner = new pg.Client({ connectionString: ownerUrl });
  await owner.connect();
  const bare = await timed("bare read of the heaters' rows", () =>
    owner.query('SELECT * FROM "Heater" h LEFT JOIN "Retirement" r ON r."heaterId" = h.id'),
  );
  const read = await timed("lives read page by page", () =>
    withSql(tenant, (client) => loadLives(client, organizationId)),
  );
  console.log(
    `  ${read.answer.records.length} lives; ${(read.seconds / bare.seconds).toFixed(1)} times the bare read`,
  );
  const fit = await timed("fit: read, learnt, compared with the model in use", () =>
    computeFit(request),
  );
  if (!fit.answer.ok) throw new Error(JSON.stringify(fit.answer.problems));
  const { counts } = fit.answer.value.report;
  console.log(
    `  ${counts.used} used, ${counts.failures} failures; ${(fit.seconds / read.seconds).toFixed(1)} times the reading alone`,
  );
  const found = fit.answer;
  await timed("stored and taken into use", async () => {
    const { id } = await withSql(tenant, (client) =>
      queueFit(client, tenant, { asOf: today, requestedBy: null, adoptsItself: true }),
    );
    await executeFit(
      { organizationId, fitId: id },
      { signal: new AbortController().signal, compute: () => Promise.resolve(found) },
    );
  });
  await timed("fleet scored anew, each chance with its band of 200 draws", () =>
    runRiskPass(tenant, { today }),
  );
  if (process.env.SURVIVAL_BACK_TEST) {
    await timed("back-test over ten years", () => computeBackTest(request));
  }
  await owner.end();
}

async function timed<T>(what: string, work: () => Promise<T>) {
  const began = performance.now();
  const cpu = process.cpuUsage();
  const answer = await work();
  const seconds = (performance.now() - began) / 1000;
  const used = process.cpuUsage(cpu).user / 1e6;
  console.log(
    `${what}: ${seconds.toFixed(1)} s (${used.toFixed(1)} s of processor), ${memoryMiB()} MiB kept`,
  );
  return { answer, seconds };
}

setFlagsFromString("--expose-gc");
const collectGarbage = runInNewContext("gc") as () => void;

/** Memory that is in use, garbage apart. */
function memoryMiB(): number {
  collectGarbage();
  const { heapUsed, arrayBuffers } = process.memoryUsage();
  return Math.round((heapUsed + arrayBuffers) / 2 ** 20);
}
