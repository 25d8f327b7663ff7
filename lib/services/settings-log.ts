import "server-only";
import { z } from "zod";
import { type ChangeRow, countChanges, readChanges } from "@/lib/data/change-log";
import { withSql } from "@/lib/data/tenant";
import { requireAction, type Viewer } from "./viewer";

export const LOG_PAGE_SIZE = 50;

/** What the address of the log may ask for; what cannot be read counts as not asked. */
export const logQuerySchema = z.object({
  entity: z.string().min(1).max(60).nullable().catch(null),
  page: z.coerce.number().int().min(1).max(1_000_000).catch(1),
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
};

/** A page of the log of changes: who changed what, when, from what to what. */
export function readLog(viewer: Viewer, { entity, page }: LogQuery): Promise<LogView> {
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
