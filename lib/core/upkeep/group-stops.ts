import type { Heater } from "@/lib/core/heaters/heater";
import { PLACE_LABELS, type TaskKind } from "@/lib/core/heaters/vocabulary";
import type { DueState, DueTask } from "./due-tasks";
import type { Door } from "./travel";
import type { WorkTerms } from "./work-terms";

/** A task to be done on a heater at a stop. */
export type StopTask = {
  readonly heaterId: string;
  readonly task: TaskKind;
  readonly minutes: number;
  readonly state: DueState;
  /** Something was found that is to be put right at once. */
  readonly isAtOnce: boolean;
};

/** A home, or a place outside the homes, with everything that is to be done behind its one door. */
export type HomeStop = {
  /** The unit, or the building and place where there is none. */
  readonly id: string;
  readonly unitId: string | null;
  readonly label: string;
  readonly door: Door;
  readonly tasks: readonly StopTask[];
  /** Knocking once, and all tasks. */
  readonly workMinutes: number;
};

export type HeaterWork = {
  readonly heater: Pick<Heater, "id" | "buildingId" | "unitId" | "place" | "home">;
  readonly due: readonly DueTask[];
};

export type GroupTerms = {
  readonly tasks: ReadonlySet<TaskKind>;
  /** States whose tasks are taken along. */
  readonly states: ReadonlySet<DueState>;
  readonly work: Pick<WorkTerms, "taskMinutes" | "entryMinutes">;
};

/**
 * Work grouped by door: all wanted tasks of all heaters of a home are one stop, so that it is entered
 * once. Heaters without a home stand together by building and place.
 *
 * Of an anode's inspection and replacement only one is taken: the replacement where the anode was found
 * spent, else the inspection, which decides.
 */
export function groupStops(
  work: readonly HeaterWork[],
  { tasks, states, work: terms }: GroupTerms,
): readonly HomeStop[] {
  const stops = new Map<string, HomeStop>();
  for (const { heater, due } of work) {
    const wanted = withoutDoubleAnode(
      due.filter(
        ({ task, state }) => tasks.has(task) && states.has(state) && state !== "leave-alone",
      ),
    );
    if (wanted.length === 0) continue;
    const id = heater.unitId ?? `${heater.buildingId} ${heater.place}`;
    const added = wanted.map(({ task, state, intervalMonths }) => ({
      heaterId: heater.id,
      task,
      minutes: terms.taskMinutes[task].value,
      state,
      isAtOnce: intervalMonths === 0,
    }));
    const before = stops.get(id);
    stops.set(id, {
      id,
      unitId: heater.unitId,
      label: before?.label ?? heater.home.label ?? PLACE_LABELS[heater.place],
      door: before?.door ?? { buildingId: heater.buildingId, floor: heater.home.floor },
      tasks: [...(before?.tasks ?? []), ...added],
      workMinutes:
        (before?.workMinutes ?? terms.entryMinutes.value) +
        added.reduce((sum, { minutes }) => sum + minutes, 0),
    });
  }
  return [...stops.values()];
}

function withoutDoubleAnode(wanted: readonly DueTask[]): readonly DueTask[] {
  const replacement = wanted.find(({ task }) => task === "anode-replacement");
  if (!replacement || !wanted.some(({ task }) => task === "anode-inspection")) return wanted;
  const isFoundSpent = replacement.intervalMonths === 0;
  const dropped: TaskKind = isFoundSpent ? "anode-inspection" : "anode-replacement";
  return wanted.filter(({ task }) => task !== dropped);
}
