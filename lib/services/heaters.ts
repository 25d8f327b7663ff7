import "server-only";
import { z } from "zod";
import {
  HEATER_FORM_FIELDS,
  type HeaterEntry,
  type HeaterFormField,
  type HeaterFormText,
  heaterFormSchema,
  heaterFormText,
} from "@/lib/core/heaters/heater-form";
import { type RetirementEntry, retirementFormSchema } from "@/lib/core/heaters/retirement-form";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import {
  copyReadiness,
  deleteRetirement,
  ensureHome,
  findHeater,
  findRetirement,
  type HeaterRecord,
  hasBuilding,
  hasSuccessor,
  insertHeater,
  insertRetirement,
  isTagTaken,
  setStatus,
  updateHeater,
} from "@/lib/data/heaters";
import { type RegisterPlaces, readPlaces } from "@/lib/data/register";
import { isUniqueViolation } from "@/lib/data/sql-errors";
import { type SqlClient, withSql } from "@/lib/data/tenant";
import { refreshHeaterRisk } from "./risk-scoring";
import { ServiceError } from "./service-error";
import { requireAction, type Viewer } from "./viewer";

/** A heater opened for a change, and what its forms need to offer. */
export type OpenedHeater = {
  readonly id: string;
  readonly tag: string;
  readonly version: number;
  readonly status: HeaterRecord["status"];
  readonly technology: HeaterEntry["technology"];
  /** First day on which it can have been installed. */
  readonly installedFrom: CalendarDay;
  readonly text: HeaterFormText;
  /** What a heater that takes its place is likely to be. */
  readonly successor: HeaterFormText;
  readonly propertyId: string;
  readonly places: RegisterPlaces;
};

/** null when the tenant has no heater with this id. */
export function openHeater(
  viewer: Viewer,
  id: string,
  today: CalendarDay,
): Promise<OpenedHeater | null> {
  requireAction(viewer, "heater.edit");
  return withSql(viewer, async (client) => {
    const record = await findKnown(client, id);
    if (!record) return null;
    const { entry, version, status, propertyId } = record;
    return {
      id: record.id,
      tag: entry.tag,
      version,
      status,
      technology: entry.technology,
      installedFrom: entry.install.earliest,
      text: heaterFormText(entry),
      successor: successorText(entry, today),
      propertyId,
      places: await readPlaces(client, propertyId),
    };
  });
}

/** Properties, and the buildings of one of them, to choose a place from. */
export function listPlaces(viewer: Viewer, propertyId: string | null): Promise<RegisterPlaces> {
  requireAction(viewer, "record.read");
  const known = z.guid().nullable().catch(null).parse(propertyId);
  return withSql(viewer, (client) => readPlaces(client, known));
}

/** Adds a heater. @returns its id */
export function addHeater(
  viewer: Viewer,
  input: unknown,
  today: CalendarDay,
): Promise<Outcome<string>> {
  requireAction(viewer, "heater.edit");
  const parsed = parseWith(heaterFormSchema(today), input);
  if (!parsed.ok) return Promise.resolve(parsed);
  const entry = parsed.value;
  return withTag("tag", viewer, async (client) => {
    const problems = await checkPlace(client, entry, null);
    if (problems.length > 0) return failure(...problems);
    const id = await writeNewHeater(client, viewer, entry, {
      predecessorId: null,
      // An earlier end of it would not have been recorded here.
      recordedFrom: today,
    });
    await refreshHeaterRisk(client, viewer, [id], today);
    return success(id);
  });
}

/** What an edit came to: saved, or the record has moved on and is handed back as it is now. */
export type EditResult =
  | { readonly kind: "saved" }
  | {
      readonly kind: "conflict";
      readonly version: number;
      /** The record as it is now. */
      readonly theirs: HeaterFormText;
    };

/** Changes a heater that is still at the version the editor opened. */
export function editHeater(
  viewer: Viewer,
  id: string,
  version: number,
  input: unknown,
  today: CalendarDay,
): Promise<Outcome<EditResult>> {
  requireAction(viewer, "heater.edit");
  const parsed = parseWith(heaterFormSchema(today), input);
  if (!parsed.ok) return Promise.resolve(parsed);
  const entry = parsed.value;
  return withTag("tag", viewer, async (client) => {
    const before = await requireHeater(client, id);
    if (before.version !== version) {
      return success<EditResult>({
        kind: "conflict",
        version: before.version,
        theirs: heaterFormText(before.entry),
      });
    }
    const problems = await checkPlace(client, entry, id);
    if (problems.length > 0) return failure(...problems);
    const unitId = await unitOf(client, viewer, entry, before);
    await updateHeater(client, id, version, entry, unitId);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "heater.edit",
      entity: "Heater",
      entityId: id,
      ...changedFields(before.entry, entry),
    });
    await refreshHeaterRisk(client, viewer, [id], today);
    return success<EditResult>({ kind: "saved" });
  });
}

export type RetirementRequest = {
  readonly version: number;
  readonly end: unknown;
  /** The form of the heater that takes its place; null when there is none yet. */
  readonly successor: unknown;
};

/** Paths of the successor's problems begin with this. */
export const SUCCESSOR_PREFIX = "successor-";

/**
 * Retires a heater and, where one was installed, adds its successor, in one transaction. The heater
 * stays on record: its life is what the risk model learns from.
 *
 * @returns the id of the successor, or null without one
 */
export function retireHeater(
  viewer: Viewer,
  id: string,
  request: RetirementRequest,
  today: CalendarDay,
): Promise<Outcome<{ readonly successorId: string | null }>> {
  requireAction(viewer, "heater.edit");
  return withTag(`${SUCCESSOR_PREFIX}tag`, viewer, async (client) => {
    const before = await requireHeater(client, id);
    if (before.status === "retired" || before.version !== request.version) {
      return failure({
        path: "form",
        message: `${before.entry.tag} has been ${before.status === "retired" ? "retired" : "changed"} by somebody else since you opened it. Look at it again first; nothing was changed.`,
      });
    }
    const end = parseWith(
      retirementFormSchema({ today, installedFrom: before.entry.install.earliest }),
      request.end,
    );
    const successor = request.successor
      ? await readSuccessor(client, request.successor, end.ok ? end.value : null, today)
      : success(null);
    if (!end.ok || !successor.ok) {
      return failure(...(end.ok ? [] : end.problems), ...(successor.ok ? [] : successor.problems));
    }
    await insertRetirement(client, viewer.organizationId, id, end.value);
    await setStatus(client, id, "retired");
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "heater.retire",
      entity: "Heater",
      entityId: id,
      before: { tag: before.entry.tag, status: "in-service" },
      after: { tag: before.entry.tag, status: "retired", ...end.value },
    });
    const successorId = successor.value
      ? await writeNewHeater(client, viewer, successor.value, {
          predecessorId: id,
          // It is under the eyes of the record from its first day.
          recordedFrom: successor.value.install.earliest,
        })
      : null;
    if (successorId) await copyReadiness(client, id, successorId);
    await refreshHeaterRisk(client, viewer, successorId ? [id, successorId] : [id], today);
    return success({ successorId });
  });
}

async function readSuccessor(
  client: SqlClient,
  input: unknown,
  end: RetirementEntry | null,
  today: CalendarDay,
): Promise<Outcome<HeaterEntry>> {
  const parsed = parseWith(heaterFormSchema(today), input);
  const problems = parsed.ok ? await checkPlace(client, parsed.value, null) : [...parsed.problems];
  if (parsed.ok && end && parsed.value.install.latest < end.earliest) {
    problems.push({
      path: "installFrom",
      message: `The old heater was in service until ${end.earliest}; this one cannot have been installed before.`,
    });
  }
  if (parsed.ok && problems.length === 0) return parsed;
  return failure(
    ...problems.map(({ path, message }) => ({ path: `${SUCCESSOR_PREFIX}${path}`, message })),
  );
}

/** Takes a retirement back: it was entered by mistake, or for the wrong heater. */
export function reinstateHeater(viewer: Viewer, id: string, today: CalendarDay): Promise<void> {
  requireAction(viewer, "heater.edit");
  return withSql(viewer, async (client) => {
    const record = await requireHeater(client, id);
    const end = await findRetirement(client, id);
    if (record.status !== "retired") return;
    if (await hasSuccessor(client, id)) {
      throw new ServiceError(
        "conflict",
        `Another heater stands in the place of ${record.entry.tag}. Retire that one instead.`,
      );
    }
    await deleteRetirement(client, id);
    await setStatus(client, id, "in-service");
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "heater.reinstate",
      entity: "Heater",
      entityId: id,
      before: { tag: record.entry.tag, status: "retired", ...end },
      after: { tag: record.entry.tag, status: "in-service" },
    });
    await refreshHeaterRisk(client, viewer, [id], today);
  });
}

/** The same kind of heater in the same place; what its own nameplate and papers tell is left empty. */
function successorText(entry: HeaterEntry, today: CalendarDay): HeaterFormText {
  const text = heaterFormText(entry);
  return {
    ...text,
    tag: nextTag(text.tag),
    installFrom: today,
    installTo: "",
    installEvidence: "invoice",
    manufacturer: "",
    model: "",
    serial: "",
    volumeGal: "",
    inputBtuPerHour: "",
    inputWatts: "",
    uniformEnergyFactor: "",
    firstHourGal: "",
    warrantyYears: "",
    notes: "",
  };
}

/** "WH-7" is followed by "WH-7-2", that by "WH-7-3". */
function nextTag(tag: string): string {
  const match = /^(.*)-(\d{1,2})$/.exec(tag);
  const isRepeat = match?.[1]?.includes("-");
  return match && isRepeat ? `${match[1]}-${Number(match[2]) + 1}` : `${tag}-2`;
}

async function findKnown(
  client: SqlClient,
  id: string,
  options: { readonly lock?: boolean } = {},
): Promise<HeaterRecord | null> {
  return z.guid().safeParse(id).success ? findHeater(client, id, options) : null;
}

async function requireHeater(client: SqlClient, id: string): Promise<HeaterRecord> {
  const record = await findKnown(client, id, { lock: true });
  if (!record) throw new ServiceError("not-found", "There is no such heater on record.");
  return record;
}

/** Two people may give one tag at the same moment: the second is told, and nothing of theirs is kept. */
async function withTag<T>(
  path: string,
  viewer: Viewer,
  work: (client: SqlClient) => Promise<Outcome<T>>,
): Promise<Outcome<T>> {
  try {
    return await withSql(viewer, work);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    return failure({ path, message: "Another heater has just been given this tag." });
  }
}

/** What only the record can tell to be wrong. */
async function checkPlace(
  client: SqlClient,
  entry: HeaterEntry,
  ownId: string | null,
): Promise<Problem[]> {
  const problems: Problem[] = [];
  if (!(await hasBuilding(client, entry.buildingId))) {
    problems.push({ path: "buildingId", message: "Choose the building." });
  }
  if (await isTagTaken(client, entry.tag, ownId)) {
    problems.push({ path: "tag", message: `"${entry.tag}" is already the tag of another heater.` });
  }
  return problems;
}

function unitOf(
  client: SqlClient,
  { organizationId }: Viewer,
  entry: HeaterEntry,
  before: HeaterRecord | null,
): Promise<string | null> {
  if (!entry.home) return Promise.resolve(null);
  const isSameHome =
    before?.entry.buildingId === entry.buildingId && before.entry.home?.label === entry.home.label;
  return ensureHome(client, organizationId, entry.buildingId, entry.home, {
    overwrite: isSameHome,
  });
}

async function writeNewHeater(
  client: SqlClient,
  viewer: Viewer,
  entry: HeaterEntry,
  terms: { readonly predecessorId: string | null; readonly recordedFrom: CalendarDay },
): Promise<string> {
  const unitId = await unitOf(client, viewer, entry, null);
  const id = await insertHeater(client, viewer.organizationId, { entry, unitId, ...terms });
  await writeAudit(client, viewer.organizationId, {
    userId: viewer.userId,
    action: "heater.add",
    entity: "Heater",
    entityId: id,
    after: { ...knownFields(entry), predecessorId: terms.predecessorId },
  });
  return id;
}

/** The fields that an edit changed, before and after, with the tag to know the heater by. */
function changedFields(before: HeaterEntry, after: HeaterEntry) {
  const [old, now] = [heaterFormText(before), heaterFormText(after)];
  const changed = HEATER_FORM_FIELDS.filter(
    (field) => old[field] !== now[field] || field === "tag",
  );
  const pick = (text: HeaterFormText) =>
    Object.fromEntries(changed.map((field) => [field, text[field] || null]));
  return { before: pick(old), after: pick(now) };
}

function knownFields(entry: HeaterEntry): Partial<Record<HeaterFormField, string>> {
  const text = heaterFormText(entry);
  return Object.fromEntries(
    HEATER_FORM_FIELDS.filter((field) => text[field] !== "").map((field) => [field, text[field]]),
  );
}
