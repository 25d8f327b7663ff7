import { afterAll, beforeAll, expect, test } from "vitest";
import { enqueueJob, openQueue, releaseAbandonedJobs } from "@/lib/data/job-queue";
import { withSql } from "@/lib/data/tenant";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

let database: TestDatabase;
let viewer: Viewer;

beforeAll(async () => {
  database = await openTestDatabase();
  viewer = await anOrganization(database);
});

afterAll(() => database?.close());

test("a job asked for in a transaction that fails is not in the queue", async () => {
  await expect(
    withSql(viewer, async (client) => {
      await enqueueJob(client, "risk", { asked: "in vain" });
      throw new Error("the rest of the transaction fails");
    }),
  ).rejects.toThrow(/fails/);
  const queue = await openQueue();
  expect(await queue.fetch("risk")).toEqual([]);
});

test("a job that was under way when its program was killed is taken again", async () => {
  await withSql(viewer, (client) => enqueueJob(client, "risk", { asked: "for" }));
  const queue = await openQueue();
  expect(await queue.fetch("risk")).toMatchObject([{ data: { asked: "for" } }]);
  expect(await queue.fetch("risk"), "taken once").toEqual([]);

  await releaseAbandonedJobs(database.ownerUrl);
  expect(await queue.fetch("risk")).toMatchObject([{ data: { asked: "for" } }]);
});
