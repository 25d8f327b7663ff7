import { appPool } from "./connections";
import { QUEUES } from "./job-queue";

/** How many jobs each queue holds in each state; of failed ones those of the last day. */
export async function countJobs(): Promise<
  readonly { readonly queue: string; readonly state: string; readonly count: number }[]
> {
  const { rows } = await appPool().query(
    `SELECT name AS queue, state::text AS state, count(*) AS count FROM pgboss.job
     WHERE name = ANY($1) AND (state IN ('created', 'retry', 'active')
       OR (state = 'failed' AND completed_on > now() - interval '1 day'))
     GROUP BY name, state`,
    [QUEUES],
  );
  return rows;
}
