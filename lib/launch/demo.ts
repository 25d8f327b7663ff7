import pg from "pg";
import { DEMO_PASSWORD, DEMO_PEOPLE } from "@/demo-seed/people";
import { writeDemo } from "@/demo-seed/write";
import { dayFromParts } from "@/lib/core/shared/calendar-day";
import { accountForDemo } from "@/lib/services/emissions-run";
import { learnFromDemo } from "@/lib/services/risk-fit-run";
import { runRiskPass } from "@/lib/services/risk-scoring";

/** Fills an empty installation with the invented portfolio. */
export async function loadDemo(ownerUrl: string, say: (line: string) => void): Promise<void> {
  say("making the demo portfolio …");
  const now = new Date();
  const today = dayFromParts(now.getFullYear(), now.getMonth() + 1, now.getDate());
  const organizationId = await writeDemo(ownerUrl, { seed: 1, today });
  await runRiskPass({ organizationId }, { today });
  // Learning and accounting take seconds of a worker's time: they are left to one, so that the start
  // does not wait.
  await accountForDemo({ organizationId }, today);
  await learnFromDemo({ organizationId }, today);
}

/** Lines that say how to sign in, as long as the demo people are there. */
export async function describeSignIn(ownerUrl: string): Promise<readonly string[]> {
  const client = new pg.Client({ connectionString: ownerUrl });
  await client.connect();
  try {
    const manager = DEMO_PEOPLE.find((person) => person.role === "manager");
    const { rowCount } = await client.query('SELECT FROM "User" WHERE email = $1', [
      manager?.email,
    ]);
    if (!rowCount || !manager) return [];
    return [`demo sign-in: ${manager.email}, password: ${DEMO_PASSWORD}`];
  } finally {
    await client.end();
  }
}
