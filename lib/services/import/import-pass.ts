import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import {
  ImportConflict,
  type ImportStamp,
  insertBuildings,
  insertCare,
  insertHeaters,
  insertProperties,
  insertUnits,
  loadHeatersOnRecord,
  loadPlaces,
  loadTags,
  loadUnits,
  loadWaters,
  updateHeaters,
  updateHomes,
  writeRetirements,
} from "@/lib/data/import-writes";
import {
  deleteNotes,
  type ImportBatch,
  insertNotes,
  type RowNote,
  readChunk,
  saveVerdicts,
} from "@/lib/data/imports";
import type { SqlClient } from "@/lib/data/tenant";
import { type ImportFindings, ImportTally } from "./import-tally";
import { RowPlanner, type RowsPlan } from "./plan-rows";
import { uuid7 } from "./uuid7";

export type PassOptions = {
  readonly organizationId: string;
  readonly today: CalendarDay;
  /** Whose rows are written; without it nothing of the record is. */
  readonly stamp?: ImportStamp;
  /** Called with the share of the rows that is done, from 0 to 1. */
  readonly onProgress?: (share: number) => void;
  readonly signal?: AbortSignal;
};

/**
 * Goes once through a batch's staged rows: reads them under its mapping, compares them with the
 * record as it stands in this transaction, keeps what there is to say of them, and with a stamp
 * writes them into the record. While the database writes one chunk of rows, the next is planned.
 *
 * @throws {ImportConflict} when a heater was changed by somebody else under way
 * @throws the signal's reason when it is aborted
 */
export async function passOverRows(
  client: SqlClient,
  batch: ImportBatch,
  { organizationId, today, stamp, onProgress, signal }: PassOptions,
): Promise<ImportFindings> {
  const tags = await loadTags(client);
  const { properties, buildings } = await loadPlaces(client);
  const planner = new RowPlanner({
    headers: batch.columns.map(({ guess }) => guess.header),
    mapping: batch.mapping,
    uses1904: batch.file.uses1904,
    today,
    tags,
    properties,
    buildings,
    // Rows that are only looked at need no identifiers that last.
    newId: stamp ? uuid7 : countedId(),
    lookup: {
      loadHeaters: (ids) => loadHeatersOnRecord(client, ids),
      loadUnits: (buildingIds) => loadUnits(client, buildingIds),
    },
  });
  const tally = new ImportTally(planner.book);
  await deleteNotes(client, batch.id);

  const write = async (number: number, plan: RowsPlan) => {
    if (stamp) await writePlan(client, stamp, plan);
    const notes = stamp ? plan.notes : plan.notes.map(withoutNewHeater);
    await insertNotes(client, organizationId, batch.id, notes);
    await saveVerdicts(client, batch.id, number, plan.verdicts);
  };
  let done = 0;
  let writing = Promise.resolve();
  try {
    for (let number = 0; ; number += 1) {
      const chunk = await readChunk(client, batch.id, number);
      if (!chunk) break;
      signal?.throwIfAborted();
      const plan = await planner.plan(chunk.rows);
      tally.add(plan);
      await writing;
      writing = write(number, plan);
      // Its failure is met where it is awaited, which may be later.
      writing.catch(() => undefined);
      done += chunk.rows.length;
      onProgress?.(done / Math.max(1, batch.rowCount));
    }
  } finally {
    // The transaction ends only when nothing of it is under way.
    await writing;
  }
  return tally.finish(await loadWaters(client));
}

/** A heater that is not written has no identifier yet. */
function withoutNewHeater(note: RowNote): RowNote {
  return note.verdict === "add" ? { ...note, heaterId: null } : note;
}

function countedId(): () => string {
  let count = 0;
  return () => {
    count += 1;
    return `new ${count}`;
  };
}

async function writePlan(client: SqlClient, stamp: ImportStamp, plan: RowsPlan): Promise<void> {
  await insertProperties(client, stamp, plan.places.properties);
  await insertBuildings(client, stamp, plan.places.buildings);
  await insertUnits(client, stamp, plan.places.units);
  await updateHomes(client, plan.homes);
  await insertHeaters(client, stamp, plan.added);
  if ((await updateHeaters(client, plan.changed)) !== plan.changed.length) {
    throw new ImportConflict();
  }
  await writeRetirements(client, stamp, plan.retirements);
  await insertCare(client, stamp, plan.care);
}
