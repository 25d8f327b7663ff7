import type pg from "pg";

export type AuditNote = {
  readonly userId: string | null;
  /** What was done: "heater.edit", "import.commit", … */
  readonly action: string;
  readonly entity: string;
  readonly entityId: string | null;
  readonly before?: unknown;
  readonly after?: unknown;
};

/** Adds a line to the log, in the transaction of what it describes. */
export async function writeAudit(
  client: pg.ClientBase,
  organizationId: string,
  note: AuditNote,
): Promise<void> {
  await client.query(
    `INSERT INTO "AuditEntry" (id, "organizationId", "userId", action, entity, "entityId", before, after)
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6, $7)`,
    [
      organizationId,
      note.userId,
      note.action,
      note.entity,
      note.entityId,
      note.before === undefined ? null : JSON.stringify(note.before),
      note.after === undefined ? null : JSON.stringify(note.after),
    ],
  );
}
