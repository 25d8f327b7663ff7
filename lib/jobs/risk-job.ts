import { z } from "zod";
import { isCalendarDay } from "@/lib/core/shared/calendar-day";
import { runRiskPass } from "@/lib/services/risk-scoring";
import type { JobHandler } from "./definitions";

const schema = z.object({
  organizationId: z.uuid(),
  today: z.string().refine(isCalendarDay),
});

/** Scores an organisation's fleet. Done twice it writes the same. */
export const runRiskJob: JobHandler = async (data, { signal }) => {
  const { organizationId, today } = schema.parse(data);
  await runRiskPass({ organizationId }, { today, signal });
};
