import "server-only";
import { z } from "zod";
import { csvFile, csvLine } from "@/lib/core/exchange/csv";
import {
  type ChangeRow,
  countChanges,
  type LogSeals,
  readChanges,
  readSealedChanges,
  verifyChanges,
} from "@/lib/data/change-log";
import { withSql } from "@/lib/data/tenant";
import { requireAction, type Viewer } from "./viewer";

export const LOG_PAGE_SIZE = 50;

/** What the address of the log may ask for; what cannot be read counts as not asked. */
export const logQuerySchema = z.object({
  entity: z.string().min(1).max(60).nullable().catch(null),
  page: z.coerce.number().int().min(1).max(1_000_000).catch(1),
  /** Whether the seals are to be computed again. */
  check: z.literal("seals").nullable().catch(null),
});
export type LogQuery = z.output<typeof logQuerySchema>;

/** A field that a change concerns, as text; null where it did not exist. */
export type FieldChange = {
  readonly field: string;
  readonly before: string | null;
  readonly after: string | null;
};

export type Change = Omit<ChangeRow, "before" | "after"> & {
  /** Name of the thing, where the change says it. */
  readonly subject: string | null;
  readonly fields: readonly FieldChange[];
};

export type LogView = {
  readonly changes: readonly Change[];
  readonly entities: readonly { readonly entity: string; readonly changes: number }[];
  readonly total: number;
  /** How the log stands against its seals, when asked for. */
  readonly seals: LogSeals | null;
};

/** A page of the log of changes: who changed what, when, from what to what. */
export function readLog(
  viewer: Viewer,
  { entity, page, check = null }: Omit<LogQuery, "check"> & Partial<Pick<LogQuery, "check">>,
): Promise<LogView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const entities = await countChanges(client);
    const rows = await readChanges(client, {
      entity,
      limit: LOG_PAGE_SIZE,
      offset: (page - 1) * LOG_PAGE_SIZE,
    });
    return {
      entities,
      seals: check === null ? null : await verifyChanges(client),
      total: entities
        .filter((one) => entity === null || one.entity === entity)
        .reduce((sum, one) => sum + one.changes, 0),
      changes: rows.map(({ before, after, ...row }) => ({
        ...row,
        subject: subjectOf(after) ?? subjectOf(before),
        fields: fieldChanges(before, after),
      })),
    };
  });
}

export const LOG_FORMATS = ["csv", "jsonl"] as const;
export type LogFormat = (typeof LOG_FORMATS)[number];

const EXPORT_PAGE_SIZE = 2000;
const CSV_HEADING = [
  "Position",
  "When (UTC)",
  "Who",
  "Person's number",
  "Action",
  "Kind of thing",
  "Number of the thing",
  "Field",
  "From",
  "To",
  "Seal (SHA-256)",
];

/**
 * The whole log in the order of its seals: as JSON lines one entry a line, as comma-separated values
 * one changed field a line.
 */
export async function* exportLog(viewer: Viewer, format: LogFormat): AsyncGenerator<string> {
  requireAction(viewer, "record.read");
  if (format === "csv") yield* csvFile(CSV_HEADING, []);
  for (let after = 0; ; ) {
    const rows = await withSql(viewer, (client) =>
      readSealedChanges(client, { after, limit: EXPORT_PAGE_SIZE }),
    );
    for (const row of rows) {
      if (format === "jsonl") {
        yield `${JSON.stringify(row)}\n`;
        continue;
      }
      const changes = fieldChanges(row.before, row.after);
      const fields = changes.length > 0 ? changes : [{ field: null, before: null, after: null }];
      for (const { field, before, after: now } of fields) {
        yield csvLine([
          row.position,
          row.at.toISOString(),
          row.personName,
          row.userId,
          row.action,
          row.entity,
          row.entityId,
          field,
          before,
          now,
          row.hash,
        ]);
      }
    }
    if (rows.length < EXPORT_PAGE_SIZE) return;
    after = rows[rows.length - 1].position;
  }
}

/** Fields in which two states differ; objects inside are compared field by field. */
export function fieldChanges(before: unknown, after: unknown): readonly FieldChange[] {
  const old = flatten(before);
  const now = flatten(after);
  return [...new Set([...old.keys(), ...now.keys()])]
    .map((field) => ({
      field,
      before: old.get(field) ?? null,
      after: now.get(field) ?? null,
    }))
    .filter((change) => change.before !== change.after);
}

/** Leaves of a value by their path; a list is one leaf. What is null is not there. */
function flatten(value: unknown, path = ""): ReadonlyMap<string, string> {
  if (value === null || value === undefined) return new Map();
  if (typeof value !== "object" || Array.isArray(value)) {
    return new Map([[path, typeof value === "string" ? value : JSON.stringify(value)]]);
  }
  return new Map(
    Object.entries(value).flatMap(([key, inner]) => [
      ...flatten(inner, path === "" ? key : `${path}.${key}`),
    ]),
  );
}

function subjectOf(value: unknown): string | null {
  if (typeof value !== "object" || value === null) return null;
  const { name, tag } = value as { readonly name?: unknown; readonly tag?: unknown };
  if (typeof tag === "string") return tag;
  return typeof name === "string" ? name : null;
}
