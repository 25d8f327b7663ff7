import { z } from "zod";
import { TASK_KINDS, type TaskKind } from "@/lib/core/heaters/vocabulary";
import type { SourcedValue } from "@/lib/core/shared/sourced";
import { DEFAULT_NOTICE_WORDING, noticeWordingSchema } from "./entry-notice";
import { DEFAULT_TRAVEL, type TravelTerms } from "./travel";

/** What an organisation may enter of how it works; what is absent is assumed. */
export const ownWorkTermsSchema = z.object({
  taskMinutes: z.partialRecord(z.enum(TASK_KINDS), z.int().min(1).max(480)).default({}),
  /** Parts that a task uses as a rule, cents. */
  taskPartsCents: z.partialRecord(z.enum(TASK_KINDS), z.int().min(0).max(500_000)).default({}),
  entryMinutes: z.int().min(0).max(120).optional(),
  labourCentsPerHour: z.int().min(0).max(100_000).optional(),
  doorToDoorMinutes: z.number().min(0).max(60).optional(),
  perFloorMinutes: z.number().min(0).max(30).optional(),
  betweenBuildingsMinutes: z.number().min(0).max(240).optional(),
  startMinute: z.int().min(0).max(1439).optional(),
  dayMinutes: z.int().min(30).max(900).optional(),
  noticeDays: z.int().min(0).max(60).optional(),
  noticeWording: noticeWordingSchema.optional(),
});
export type OwnWorkTerms = z.output<typeof ownWorkTermsSchema>;

/** How long work takes and what an hour costs, in force. */
export type WorkTerms = {
  readonly taskMinutes: Readonly<Record<TaskKind, SourcedValue>>;
  readonly taskPartsCents: Readonly<Record<TaskKind, SourcedValue>>;
  /** Knocking, protecting the floor, signing: once a home. */
  readonly entryMinutes: SourcedValue;
  readonly labourCentsPerHour: SourcedValue;
  readonly travel: Readonly<Record<keyof TravelTerms, SourcedValue>>;
  /** Minutes after midnight at which a round begins. */
  readonly startMinute: SourcedValue;
  readonly dayMinutes: SourcedValue;
  readonly noticeDays: SourcedValue;
  readonly noticeWording: string;
  readonly hasOwnWording: boolean;
};

/** Minutes of a task, knocking not included. Assumed; each can be entered. */
const TASK_MINUTES: Readonly<Record<TaskKind, number>> = {
  flush: 25,
  "anode-inspection": 20,
  "anode-replacement": 40,
  "relief-valve-test": 5,
  "expansion-tank-pressure": 10,
  "burner-vent-check": 15,
  "combustion-safety": 20,
  "filter-condensate": 15,
  "strap-check": 5,
  "leak-sensor-test": 5,
  "setpoint-mixing-check": 5,
};

/** Parts that a task uses as a rule, cents. Assumed. */
const TASK_PARTS_CENTS: Readonly<Record<TaskKind, number>> = {
  flush: 0,
  "anode-inspection": 0,
  "anode-replacement": 4_500,
  "relief-valve-test": 0,
  "expansion-tank-pressure": 0,
  "burner-vent-check": 0,
  "combustion-safety": 0,
  "filter-condensate": 0,
  "strap-check": 0,
  "leak-sensor-test": 0,
  "setpoint-mixing-check": 0,
};

const ASSUMED = "an assumption of ours, to be edited";

/** The organisation's own terms over the assumed ones. */
export function resolveWorkTerms(own: OwnWorkTerms): WorkTerms {
  const perTask = (
    assumed: Readonly<Record<TaskKind, number>>,
    entered: Readonly<Partial<Record<TaskKind, number>>>,
    unit: string,
  ) =>
    Object.fromEntries(
      TASK_KINDS.map((task) => [task, term(entered[task], assumed[task], unit)]),
    ) as Record<TaskKind, SourcedValue>;
  const travel = (key: keyof TravelTerms, entered: number | undefined) =>
    entered === undefined ? DEFAULT_TRAVEL[key] : term(entered, 0, "minutes");
  return {
    taskMinutes: perTask(TASK_MINUTES, own.taskMinutes, "minutes"),
    taskPartsCents: perTask(TASK_PARTS_CENTS, own.taskPartsCents, "cents"),
    entryMinutes: term(own.entryMinutes, 5, "minutes"),
    labourCentsPerHour: term(own.labourCentsPerHour, 6_500, "cents per hour"),
    travel: {
      doorToDoor: travel("doorToDoor", own.doorToDoorMinutes),
      perFloor: travel("perFloor", own.perFloorMinutes),
      betweenBuildings: travel("betweenBuildings", own.betweenBuildingsMinutes),
    },
    startMinute: term(own.startMinute, 8 * 60, "minutes after midnight"),
    dayMinutes: term(own.dayMinutes, 7 * 60, "minutes"),
    noticeDays: term(own.noticeDays, 2, "days"),
    noticeWording: own.noticeWording ?? DEFAULT_NOTICE_WORDING,
    hasOwnWording: own.noticeWording !== undefined,
  };
}

/** Reads what is stored; what cannot be read counts as not entered. */
export function readOwnWorkTerms(stored: unknown): OwnWorkTerms {
  const parsed = ownWorkTermsSchema.safeParse(stored ?? {});
  return parsed.success ? parsed.data : { taskMinutes: {}, taskPartsCents: {} };
}

/** Travel as plain numbers. */
export function travelTermsOf({ travel }: Pick<WorkTerms, "travel">): TravelTerms {
  return {
    doorToDoor: travel.doorToDoor.value,
    perFloor: travel.perFloor.value,
    betweenBuildings: travel.betweenBuildings.value,
  };
}

function term(entered: number | undefined, assumed: number, unit: string): SourcedValue {
  return entered === undefined
    ? { value: assumed, unit, source: ASSUMED, evidence: "assumed" }
    : { value: entered, unit, source: "entered here", evidence: "entered" };
}
