import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import { parseCents } from "@/lib/core/shared/money";
import type { HeaterEntry, RoundEntry } from "@/lib/core/upkeep/round-entry";
import type { UrgentKind } from "@/lib/core/upkeep/urgent-matters";
import type { StopOnPhone } from "./round-on-phone";

/** What was done with a task: not (yet), done without a note of what was found, or what was found. */
export type TaskChoice = "not-done" | "done" | (string & {});

export type PartDraft = {
  readonly name: string;
  readonly quantity: number;
  /** As typed. */
  readonly dollars: string;
};

export type PhotoDraft = { readonly id: string; readonly picture: Blob };

export type HeaterDraft = {
  readonly choices: Readonly<Partial<Record<TaskKind, TaskChoice>>>;
  readonly minutes: number | null;
  /** As typed. */
  readonly tapF: string;
  readonly parts: readonly PartDraft[];
  readonly photos: readonly PhotoDraft[];
  readonly urgent: readonly UrgentKind[];
  readonly note: string;
};

/** What is being filled in at a stop. The key is made with the draft: saving it twice is one entry. */
export type StopDraft = {
  readonly key: string;
  readonly heaters: Readonly<Record<string, HeaterDraft>>;
};

const EMPTY_HEATER: HeaterDraft = {
  choices: {},
  minutes: null,
  tapF: "",
  parts: [],
  photos: [],
  urgent: [],
  note: "",
};

export function newDraft(): StopDraft {
  return { key: crypto.randomUUID(), heaters: {} };
}

export const draftKey = (owner: string, stopId: string): string => `${owner} ${stopId}`;

export function heaterDraft(draft: StopDraft, heaterId: string): HeaterDraft {
  return draft.heaters[heaterId] ?? EMPTY_HEATER;
}

/** The draft as an entry, or what is still to be put right. */
export function entryOf(
  draft: StopDraft,
  {
    roundId,
    stop,
    outcome,
    doneOn,
  }: {
    readonly roundId: string;
    readonly stop: StopOnPhone;
    readonly outcome: RoundEntry["outcome"];
    readonly doneOn: string;
  },
): { readonly entry: RoundEntry } | { readonly problem: string } {
  const heaters: HeaterEntry[] = [];
  for (const { id, tag } of stop.heaters) {
    const filled = heaterEntry(id, heaterDraft(draft, id));
    if (typeof filled === "string") return { problem: `${tag}: ${filled}` };
    heaters.push(filled);
  }
  const isEmpty = heaters.every(
    ({ tasks, urgent, photos, minutes, note, parts, tapF }) =>
      tasks.length + urgent.length + photos + parts.length === 0 &&
      minutes === null &&
      note === null &&
      tapF === null,
  );
  if (outcome === "done" && isEmpty) {
    return { problem: "Choose what was done, or say that there was no access." };
  }
  return {
    entry: {
      key: draft.key,
      roundId,
      stopId: stop.id,
      outcome,
      doneOn: doneOn as RoundEntry["doneOn"],
      heaters,
      note: null,
      keepBoth: false,
    },
  };
}

/** A heater's part of the entry, or what is wrong with it. */
function heaterEntry(heaterId: string, draft: HeaterDraft): HeaterEntry | string {
  const tapF = draft.tapF.trim() === "" ? null : Number(draft.tapF);
  if (tapF !== null && !(tapF >= 32 && tapF <= 212)) return "the tap is from 32 to 212 °F.";
  const parts: HeaterEntry["parts"] = [];
  for (const { name, quantity, dollars } of draft.parts) {
    if (name.trim() === "") return "name the part, or take it off.";
    const cost = dollars.trim() === "" ? null : parseCents(dollars);
    if (cost !== null && (!cost.ok || cost.value < 0)) {
      return `"${dollars}" is not an amount in dollars.`;
    }
    parts.push({ name: name.trim(), quantity, costCents: cost === null ? null : cost.value });
  }
  const choices = Object.entries(draft.choices) as [TaskKind, TaskChoice][];
  return {
    heaterId,
    tasks: choices
      .filter(([, choice]) => choice !== "not-done")
      .map(([task, choice]) => ({ task, finding: choice === "done" ? null : choice })),
    minutes: draft.minutes,
    tapF,
    parts,
    costCents: null,
    urgent: [...draft.urgent],
    photos: draft.photos.length,
    note: draft.note.trim() || null,
  };
}

/** Today where the phone is. */
export function dayOnPhone(now = new Date()): string {
  const two = (value: number) => String(value).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/** An entry that was saved, to be changed: under a key of its own, since the old one may have arrived. */
export function draftOf(
  entry: RoundEntry,
  photos: readonly { readonly heaterId: string; readonly picture: Blob }[],
): StopDraft {
  return {
    key: crypto.randomUUID(),
    heaters: Object.fromEntries(
      entry.heaters.map((heater): [string, HeaterDraft] => [
        heater.heaterId,
        {
          choices: Object.fromEntries(
            heater.tasks.map(({ task, finding }) => [task, finding ?? "done"]),
          ),
          minutes: heater.minutes,
          tapF: heater.tapF === null ? "" : String(heater.tapF),
          parts: heater.parts.map(({ name, quantity, costCents }) => ({
            name,
            quantity,
            dollars: costCents === null ? "" : (costCents / 100).toFixed(2),
          })),
          photos: photos
            .filter(({ heaterId }) => heaterId === heater.heaterId)
            .map(({ picture }) => ({ id: crypto.randomUUID(), picture })),
          urgent: heater.urgent,
          note: heater.note ?? "",
        },
      ]),
    ),
  };
}
