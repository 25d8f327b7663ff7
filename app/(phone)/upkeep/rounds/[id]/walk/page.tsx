import type { Metadata } from "next";
import { formatDay } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { findRoundOrStop } from "@/app/(desk)/upkeep/rounds/_lib/find-round";
import { accessInWords } from "@/app/(desk)/upkeep/rounds/_lib/words";
import {
  PLACE_LABELS,
  type Place,
  TASK_LABELS,
  TECHNOLOGY_LABELS,
  type Technology,
} from "@/lib/core/heaters/vocabulary";
import { clockTime } from "@/lib/core/upkeep/entry-notice";
import { FINDING_LABELS, type Finding } from "@/lib/core/upkeep/findings";
import { mayDo } from "@/lib/services/permissions";
import type { RoundView, StopRow } from "@/lib/services/rounds";
import { WalkRound } from "./_components/walk-round";
import type { HeaterOnPhone, RoundOnPhone, StopOnPhone } from "./_lib/round-on-phone";

export const metadata: Metadata = { title: "Round" };

/** A round on a phone: one hand, large targets, with or without a signal. */
export default async function WalkPage({
  params,
}: {
  readonly params: Promise<{ readonly id: string }>;
}) {
  const viewer = await requireViewer();
  const view = await findRoundOrStop(viewer, (await params).id);
  if (!mayDo(viewer.role, "visit.record")) {
    return (
      <main>
        <h1>{view.round.name}</h1>
        <p>Your role does not record visits. Ask an owner.</p>
      </main>
    );
  }
  return <WalkRound round={onPhone(view)} owner={`${viewer.organizationId} ${viewer.userId}`} />;
}

function onPhone({ round, stops }: RoundView): RoundOnPhone {
  return {
    id: round.id,
    name: round.name,
    property: round.property,
    dayInWords: formatDay(round.plannedOn),
    status: round.status,
    stops: stops.map(stopOnPhone),
  };
}

function stopOnPhone(stop: StopRow): StopOnPhone {
  const heaters = new Map<string, HeaterOnPhone>();
  for (const { heaterId, tag, technology, place, task, minutes } of stop.tasks) {
    const heater = heaters.get(heaterId) ?? {
      id: heaterId,
      tag,
      kind: TECHNOLOGY_LABELS[technology as Technology] ?? technology,
      place: PLACE_LABELS[place as Place] ?? place,
      tasks: [],
    };
    heaters.set(heaterId, { ...heater, tasks: [...heater.tasks, { task, minutes }] });
  }
  return {
    id: stop.id,
    number: stop.position + 1,
    building: stop.building,
    label: stop.label,
    floor: stop.floor,
    arrive: clockTime(stop.arriveMinute),
    access: accessInWords(stop.access),
    status: stop.status,
    minutes: stop.workMinutes,
    heaters: [...heaters.values()],
    entries: stop.entries.map(({ key, personName, outcome, visits }) => ({
      key,
      personName,
      outcome,
      lines: visits.flatMap(({ tag, tasks }) =>
        tasks.map(({ task, finding }) => {
          const found =
            finding === null
              ? ""
              : `: ${(FINDING_LABELS[finding as Finding] ?? finding).toLowerCase()}`;
          return `${tag}: ${TASK_LABELS[task]}${found}`;
        }),
      ),
    })),
  };
}
