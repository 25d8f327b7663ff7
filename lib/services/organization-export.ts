import "server-only";
import { writeAudit } from "@/lib/data/audit";
import { readOrganizationRows } from "@/lib/data/organization-export";
import { withSql } from "@/lib/data/tenant";
import { requireAction, type Viewer } from "./viewer";

/**
 * Everything on record of the viewer's organisation as JSON lines: `{"table": …, "row": {…}}`, a line
 * before that says what it is, and one after with the number of rows of each table, by which a reader
 * knows that nothing is missing. The way out of this program: every value is plain JSON, pictures are
 * hexadecimal. Passwords, sessions and secrets are not in it.
 */
export function exportOrganization(viewer: Viewer, now: Date): AsyncGenerator<string> {
  requireAction(viewer, "people.manage");
  return lines(viewer, now);
}

async function* lines(viewer: Viewer, now: Date): AsyncGenerator<string> {
  await withSql(viewer, (client) =>
    writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "organization.export",
      entity: "Organization",
      entityId: viewer.organizationId,
    }),
  );
  yield `${JSON.stringify({
    kind: "tanklore organization",
    format: 1,
    organization: viewer.organizationName,
    madeAt: now.toISOString(),
  })}\n`;
  const counts: Record<string, number> = {};
  for await (const { table, json } of readOrganizationRows(viewer)) {
    counts[table] = (counts[table] ?? 0) + 1;
    yield `{"table":${JSON.stringify(table)},"row":${json}}\n`;
  }
  yield `${JSON.stringify({ kind: "end", rows: counts })}\n`;
}
