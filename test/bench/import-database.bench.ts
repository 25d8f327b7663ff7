import { randomUUID } from "node:crypto";
import { Readable } from "node:stream";
import { pipeline } from "node:stream/promises";
import pg from "pg";
import { from as copyFrom, to as copyTo } from "pg-copy-streams";
import { csvLine } from "@/lib/core/exchange/csv";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { closeConnections } from "@/lib/data/connections";
import { askForWork, findBatch } from "@/lib/data/imports";
import { closeQueue } from "@/lib/data/job-queue";
import { withSql } from "@/lib/data/tenant";
import { executeImportWork, type ImportJob } from "@/lib/services/bring-in-run";
import { type Sender, stageFile } from "@/lib/services/import/stage-file";
import {
  startThrowawayServer,
  TEMPLATE_DATABASE,
  TEST_APP_PASSWORD,
} from "@/test/support/throwaway-server";

const TODAY = calendarDay("2026-11-25");
const ROWS = 50_000;
const ROUNDS = 3;

const HEADINGS = [
  "Property",
  "Building",
  "Unit",
  "Floor",
  "Riser",
  "Bedrooms",
  "Baths",
  "Asset tag",
  "Type",
  "Fuel",
  "Install date",
  "Source of date",
  "Make",
  "Model",
  "Serial no",
  "Tank size",
  "Input",
  "UEF",
  "Location",
  "Pan",
];

/** An invented owner's list: 24 properties, 90 buildings each of 24 homes and more, dates in four forms. */
function* rows(): Generator<string[]> {
  yield HEADINGS;
  for (let index = 0; index < ROWS; index += 1) {
    const gas = index % 3 !== 0;
    const month = 1 + (index % 12);
    const day = 1 + (index % 28);
    const year = 2004 + (index % 22);
    const dates = [
      `${month}/${day}/${year}`,
      `${year}-${String(month).padStart(2, "0")}-${String(day).padStart(2, "0")}`,
      `${year}`,
      `${month}/${day}/${String(year).slice(2)}`,
    ];
    yield [
      `Property ${index % 24}`,
      `Building ${Math.floor(index / 24) % 90}`,
      `${100 + Math.floor(index / 2_160)}`,
      `${1 + (index % 9)}`,
      `R${index % 6}`,
      `${1 + (index % 3)}`,
      "1.5",
      `T-${index}`,
      gas ? "Gas tank" : "Electric tank",
      gas ? "Natural gas" : "Electric",
      dates[index % 4],
      index % 5 ? "invoice" : "",
      `Maker ${index % 7}`,
      `M-${index % 40}`,
      `SN${index * 7919}`,
      index % 2 ? "40 gal" : "50",
      gas ? "40,000" : "4500",
      gas ? "0.58" : "0.92",
      "Hall closet, by the kitchen",
      index % 4 ? "yes" : "n",
    ];
  }
}

/**
 * Brings 50,000 rows into an empty organisation, against two yardsticks: a COPY of the same file into a
 * plain table of text, and a COPY of the finished homes and heaters into the record's own tables,
 * which is what their keys and indexes cost whatever comes before.
 */
export async function run(): Promise<void> {
  const file = Buffer.from([...rows()].map(csvLine).join(""));
  const server = await startThrowawayServer();
  const owner = new pg.Client({ connectionString: server.urlOf(TEMPLATE_DATABASE) });
  const appUrl = new URL(server.urlOf(TEMPLATE_DATABASE));
  appUrl.username = "tanklore_app";
  appUrl.password = TEST_APP_PASSWORD;
  process.env.TANKLORE_APP_DATABASE_URL = appUrl.toString();
  try {
    await owner.connect();
    const rounds: Timings[] = [];
    for (let round = 0; round < ROUNDS; round += 1) {
      const copy = await timed(() => copyFile(owner, file));
      rounds.push({ copy, ...(await importFile(await aSender(owner), file, owner)) });
    }
    report(rounds, file.length);
  } finally {
    await closeQueue();
    await closeConnections();
    await owner.end();
    await server.stop();
  }
}

type Timings = {
  readonly copy: number;
  readonly stage: number;
  readonly check: number;
  readonly commit: number;
  readonly undo: number;
  /** COPY of what came of it into the record's own tables. */
  readonly floor: number;
};

function report(rounds: readonly Timings[], byteCount: number): void {
  const median = (of: (timings: Timings) => number) =>
    rounds.map(of).sort((a, b) => a - b)[Math.floor(rounds.length / 2)];
  const ms = (of: (timings: Timings) => number) => `${Math.round(median(of))} ms`;
  const times = (of: (timings: Timings) => number) => `${median(of).toFixed(1)}x`;
  console.log(
    [
      `import-database, ${ROWS} rows x ${HEADINGS.length} columns, ${(byteCount / 1e6).toFixed(1)} MB, medians of ${rounds.length} rounds:`,
      `  stage ${ms((t) => t.stage)}, check ${ms((t) => t.check)}, commit ${ms((t) => t.commit)}, undo ${ms((t) => t.undo)}`,
      `  raw COPY of the file ${ms((t) => t.copy)}: stage and commit ${times((t) => (t.stage + t.commit) / t.copy)}, with the preview ${times((t) => (t.stage + t.check + t.commit) / t.copy)} (goal 5x)`,
      `  COPY into the record's own tables ${ms((t) => t.floor)}, itself ${times((t) => t.floor / t.copy)} of the raw one: commit ${times((t) => t.commit / t.floor)}, with stage and preview ${times((t) => (t.stage + t.check + t.commit) / t.floor)}`,
    ].join("\n"),
  );
}

/** The file as it is, streamed into a plain table of text: the server parts the cells. */
async function copyFile(owner: pg.Client, file: Buffer): Promise<void> {
  const columns = HEADINGS.map((_heading, index) => `c${index} text`);
  await owner.query("DROP TABLE IF EXISTS plain_rows");
  await owner.query(`CREATE TABLE plain_rows (${columns.join(", ")})`);
  const target = owner.query(copyFrom("COPY plain_rows FROM STDIN (FORMAT csv, HEADER)"));
  await pipeline(Readable.from(inPieces(file)), target);
}

/** What a batch made, in the order of its references, as COPY gives it. */
const MADE_TABLES = ["Property", "Building", "Unit", "Heater"] as const;

async function readMade(owner: pg.Client, batchId: string): Promise<readonly Buffer[]> {
  const made: Buffer[] = [];
  for (const table of MADE_TABLES) {
    const rows = `SELECT * FROM "${table}" WHERE "importBatchId" = '${batchId}'`;
    const chunks: Buffer[] = [];
    for await (const chunk of owner.query(copyTo(`COPY (${rows}) TO STDOUT`))) chunks.push(chunk);
    made.push(Buffer.concat(chunks));
  }
  return made;
}

/** Puts them back by COPY as the owner, whom row-level security does not hold up, and takes them out again. */
async function copyIntoRecord(owner: pg.Client, made: readonly Buffer[]): Promise<number> {
  await owner.query("BEGIN");
  const floor = await timed(async () => {
    for (const [index, table] of MADE_TABLES.entries()) {
      const target = owner.query(copyFrom(`COPY "${table}" FROM STDIN`));
      await pipeline(Readable.from(inPieces(made[index])), target);
    }
  });
  await owner.query("ROLLBACK");
  return floor;
}

async function importFile(sender: Sender, file: Buffer, owner: pg.Client) {
  const { organizationId, userId } = sender;
  let batchId = "";
  const stage = await timed(async () => {
    const staged = await stageFile(
      sender,
      { fileName: "bench.csv", chunks: inPieces(file) },
      TODAY,
    );
    if (!staged.ok) throw new Error(staged.problems[0]?.message);
    batchId = staged.value.batchId;
  });
  const work = async (name: ImportJob["work"]) => {
    await withSql(sender, (client) => askForWork(client, batchId, name, 0));
    const job: ImportJob = { organizationId, userId, batchId, work: name, today: TODAY };
    return timed(() => executeImportWork(job, { signal: new AbortController().signal }));
  };
  const check = await work("check");
  const commit = await work("commit");
  const done = await withSql(sender, (client) => findBatch(client, batchId));
  if (done?.status !== "committed" || done.addedCount !== ROWS) {
    throw new Error(`not brought in: ${done?.message}, ${done?.refusedCount} refused`);
  }
  const made = await readMade(owner, batchId);
  const undo = await work("undo");
  return { stage, check, commit, undo, floor: await copyIntoRecord(owner, made) };
}

async function aSender(owner: pg.Client): Promise<Sender> {
  const organizationId = randomUUID();
  await owner.query('INSERT INTO "Organization" (id, name) VALUES ($1, $2)', [
    organizationId,
    "Bench",
  ]);
  return { organizationId, userId: randomUUID() };
}

/** A file comes over the network in pieces. */
async function* inPieces(file: Buffer): AsyncGenerator<Uint8Array> {
  for (let at = 0; at < file.length; at += 65_536) yield file.subarray(at, at + 65_536);
}

async function timed(work: () => Promise<unknown>): Promise<number> {
  const started = performance.now();
  await work();
  return performance.now() - started;
}
