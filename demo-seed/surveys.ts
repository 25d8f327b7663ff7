import {
  type Answer,
  isCombustion,
  READINESS_ITEMS,
  type ReadinessItem,
} from "@/lib/core/heaters/vocabulary";
import type { DemoBuilding } from "./places";
import type { DemoRandom } from "./random";
import type { HeaterRow } from "./rows";

/**
 * Chance of "yes" for an item of a closet that was looked at; the rest is "no" but for the share
 * that the surveyor could not tell.
 */
const YES_SHARE: Readonly<Record<ReadinessItem, number>> = {
  "circuit-240v": 0.06,
  "circuit-120v": 0.55,
  "panel-space": 0.45,
  "air-volume": 0.4,
  "condensate-route": 0.5,
  clearance: 0.7,
  "drain-pan": 0.4,
  "leak-shutoff": 0.08,
  "relief-discharge": 0.8,
  "seismic-straps": 0.65,
  "vent-capoff": 0.85,
  structure: 0.95,
  noise: 0.6,
};
const UNTOLD_SHARE = 0.12;

/** Answers of the site survey at one heater, agreeing with what its own record says. */
export function surveyAnswers(
  random: DemoRandom,
  building: DemoBuilding,
  heater: Pick<HeaterRow, "technology" | "drainPan" | "leakShutoff" | "place">,
): (readonly [ReadinessItem, Answer])[] {
  const answers: (readonly [ReadinessItem, Answer])[] = [];
  for (const item of READINESS_ITEMS) {
    if (item === "vent-capoff" && !isCombustion(heater.technology)) continue;
    answers.push([item, answerOf(random, building, heater, item)]);
  }
  return answers;
}

function answerOf(
  random: DemoRandom,
  building: DemoBuilding,
  heater: Pick<HeaterRow, "technology" | "drainPan" | "leakShutoff" | "place">,
  item: ReadinessItem,
): Answer {
  if (item === "drain-pan") return heater.drainPan;
  if (item === "leak-shutoff") return heater.leakShutoff;
  const hasOwnCircuit =
    heater.technology === "electric-storage" || heater.technology === "heat-pump-storage";
  if (item === "circuit-240v" && hasOwnCircuit) return "yes";
  if (item === "circuit-120v" && heater.technology === "heat-pump-plug-in") return "yes";
  if (random.chance(UNTOLD_SHARE)) return "unknown";
  let yes = YES_SHARE[item];
  if (item === "panel-space" && building.row.headroomCircuits === 0) yes = 0.1;
  if (item === "air-volume" && heater.place !== "interior-closet") yes = 0.75;
  if (item === "noise" && heater.place === "interior-closet") yes = 0.35;
  return random.chance(yes) ? "yes" : "no";
}
