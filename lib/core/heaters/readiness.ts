import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { HazardousAct } from "./cautions";
import type { Heater } from "./heater";
import type { SurveyMeasures } from "./readiness-measures";
import {
  type Answer,
  isCombustion,
  READINESS_ITEMS,
  READINESS_LABELS,
  type ReadinessItem,
  type Technology,
} from "./vocabulary";

/** Facts of the place that change what has to be done, but not whether an option fits. */
export const SITE_FACTS = ["common-vent"] as const;
export type SiteFact = (typeof SITE_FACTS)[number];

/** Everything that a site survey asks of one heater, in the order in which a person looks. */
export const SURVEY_ITEMS = [
  "clearance",
  "air-volume",
  "condensate-route",
  "drain-pan",
  "leak-shutoff",
  "relief-discharge",
  "seismic-straps",
  "circuit-240v",
  "circuit-120v",
  "panel-space",
  "vent-capoff",
  "common-vent",
  "structure",
  "noise",
] as const satisfies readonly (ReadinessItem | SiteFact)[];
export type SurveyItem = (typeof SURVEY_ITEMS)[number];

export const SURVEY_LABELS: Readonly<Record<SurveyItem, string>> = {
  ...READINESS_LABELS,
  "common-vent": "Other gas appliances on its vent",
};

/** What an answer rests on. */
export const SURVEY_BASES = ["seen", "inferred"] as const;
export type SurveyBasis = (typeof SURVEY_BASES)[number];

/** An answer as it is on record. */
export type SurveyAnswer = {
  readonly item: SurveyItem;
  readonly answer: Answer;
  readonly basis: SurveyBasis;
  readonly observedOn: CalendarDay | null;
  readonly observedBy: string | null;
  readonly note: string | null;
  readonly measures: SurveyMeasures | null;
  /** Heater whose place was seen, where the answer is inferred. */
  readonly inferredFromId: string | null;
};

/** How to ask for an item on site. */
export type SurveyQuestion = {
  readonly question: string;
  /** What to look at, in one sentence. */
  readonly look: string;
  /** Caution that belongs beside the question. */
  readonly caution: HazardousAct | null;
  /** True where homes of one plan are built alike, so that an answer may be inferred. */
  readonly goesWithPlan: boolean;
};

/** What looking asks and warns of; common practice of the trade where no source is named. */
export const SURVEY_QUESTIONS: Readonly<Record<SurveyItem, SurveyQuestion>> = {
  clearance: {
    question: "Is there room for a taller and wider tank, and a way in and out?",
    look: "A heat pump of 50 to 80 gal stands 60 to 75 in high and 22 to 27 in wide, and its filter has to be reached. Measure the opening too.",
    caution: "lifting",
    goesWithPlan: true,
  },
  "air-volume": {
    question: "Is there enough room air, or a way to duct it?",
    look: "Measure the room with every space open to it without a door. 1,000 ft³ pass; a closet needs louvres or ducts.",
    caution: null,
    goesWithPlan: true,
  },
  "condensate-route": {
    question: "Can condensate fall to a drain?",
    look: "Measure the way and the fall to an approved indirect waste: ⅛ in a foot at least, pipe of ¾ in.",
    caution: null,
    goesWithPlan: true,
  },
  "drain-pan": {
    question: "Is there a drain pan with a drain?",
    look: "At least 1½ in deep, drain of ¾ in (International Residential Code P2801.6). A plastic pan may not stand under gas.",
    caution: null,
    goesWithPlan: false,
  },
  "leak-shutoff": {
    question: "Is there an automatic leak shut-off?",
    look: "A valve on the cold feed with a sensor in the pan; an alarm alone is a no.",
    caution: null,
    goesWithPlan: false,
  },
  "relief-discharge": {
    question: "Does the relief valve’s pipe end where it can be seen?",
    look: "Full size, falling, open and unthreaded at its end, no valve or cap in it.",
    caution: "relief-valve",
    goesWithPlan: true,
  },
  "seismic-straps": {
    question: "Are there straps in the upper and the lower third?",
    look: "The lower one at least 4 in above the controls (Uniform Plumbing Code 507.2, as quoted). No where your region asks for none is still a no.",
    caution: null,
    goesWithPlan: false,
  },
  "circuit-240v": {
    question: "Does a 240 V, 30 A circuit end at the heater?",
    look: "Look for the box and its breaker. Do not open a panel.",
    caution: "electrical",
    goesWithPlan: true,
  },
  "circuit-120v": {
    question: "Is a 120 V outlet within reach of a cord?",
    look: "Of 15 A or more and not shared with kitchen or laundry; within about 6 ft.",
    caution: "electrical",
    goesWithPlan: true,
  },
  "panel-space": {
    question: "Are two places free in the home’s panel?",
    look: "Read the directory at the open door and take its photo. The cover stays on.",
    caution: "electrical",
    goesWithPlan: true,
  },
  "vent-capoff": {
    question: "Can vent and gas line be capped where they are?",
    look: "Both are reached without opening a wall or a roof.",
    caution: "gas-capoff",
    goesWithPlan: true,
  },
  "common-vent": {
    question: "Do other gas appliances use the same vent?",
    look: "A furnace or the next home’s heater on one flue. Yes means they stay behind on a vent made for more.",
    caution: "combustion-air",
    goesWithPlan: true,
  },
  structure: {
    question: "Does the floor carry the new tank?",
    look: "A full tank of 80 gal weighs near 900 lb. A stand, a balcony or an attic asks for somebody who knows.",
    caution: "lifting",
    goesWithPlan: true,
  },
  noise: {
    question: "Is there no bedroom wall beside it?",
    look: "A heat pump hums at 45 to 55 dBA. Yes means no bedroom is beside, above or below.",
    caution: null,
    goesWithPlan: true,
  },
};

/** The items that are asked of a heater: what belongs to gas only where there is gas. */
export function surveyItemsOf(technology: Technology): readonly SurveyItem[] {
  return isCombustion(technology)
    ? SURVEY_ITEMS
    : SURVEY_ITEMS.filter((item) => item !== "vent-capoff" && item !== "common-vent");
}

/** Where an answer that is used comes from. `record` is what the heater's own record says. */
export type AnswerSource = SurveyBasis | "record" | "none";

export type EffectiveAnswer = { readonly answer: Answer; readonly from: AnswerSource };

/** What the heater's own record answers by itself. */
function recordAnswer(
  { technology, drainPan, leakShutoff }: Pick<Heater, "technology" | "drainPan" | "leakShutoff">,
  item: SurveyItem,
): Answer {
  if (item === "drain-pan") return drainPan;
  if (item === "leak-shutoff") return leakShutoff;
  if (isCombustion(technology)) return "unknown";
  // A heater that is electric today has its circuit and its space in the panel.
  if (item === "panel-space") return "yes";
  const circuit = technology === "heat-pump-plug-in" ? "circuit-120v" : "circuit-240v";
  return item === circuit ? "yes" : "unknown";
}

/**
 * The answers that hold for a heater: what was seen, else what was inferred from a like home, else what
 * its own record says. An answer of "not known" gives way to the next; an electric heater's own circuit
 * and space in the panel are there whatever a survey says.
 */
export function effectiveAnswers(
  heater: Pick<Heater, "technology" | "drainPan" | "leakShutoff">,
  survey: readonly Pick<SurveyAnswer, "item" | "answer" | "basis">[],
): Readonly<Record<SurveyItem, EffectiveAnswer>> {
  const asked = new Map(survey.map((answer) => [answer.item, answer]));
  return Object.fromEntries(
    SURVEY_ITEMS.map((item): [SurveyItem, EffectiveAnswer] => {
      const own = recordAnswer(heater, item);
      const answer = asked.get(item);
      const isElectricsOfItsOwn = own === "yes" && item !== "drain-pan" && item !== "leak-shutoff";
      if (answer && answer.answer !== "unknown" && !isElectricsOfItsOwn) {
        return [item, { answer: answer.answer, from: answer.basis }];
      }
      if (own !== "unknown") return [item, { answer: own, from: "record" }];
      return [item, { answer: "unknown", from: answer ? answer.basis : "none" }];
    }),
  ) as Record<SurveyItem, EffectiveAnswer>;
}

/** The readiness part of the answers, as planning asks for it. */
export function readinessOf(
  answers: Readonly<Record<SurveyItem, EffectiveAnswer>>,
): Readonly<Record<ReadinessItem, Answer>> {
  return Object.fromEntries(READINESS_ITEMS.map((item) => [item, answers[item].answer])) as Record<
    ReadinessItem,
    Answer
  >;
}

/** How far a heater's place has been surveyed. */
export type SurveyProgress = {
  /** Items that are asked of it. */
  readonly asked: number;
  readonly known: number;
  /** Of the known, those that nobody has seen: inferred from a like home. */
  readonly inferred: number;
  readonly unknown: number;
  /** True when somebody has looked, whatever was found. */
  readonly isSeen: boolean;
};

export function surveyProgress(
  heater: Pick<Heater, "technology" | "drainPan" | "leakShutoff">,
  survey: readonly Pick<SurveyAnswer, "item" | "answer" | "basis">[],
): SurveyProgress {
  const answers = effectiveAnswers(heater, survey);
  const items = surveyItemsOf(heater.technology);
  const known = items.filter((item) => answers[item].answer !== "unknown");
  return {
    asked: items.length,
    known: known.length,
    inferred: known.filter((item) => answers[item].from === "inferred").length,
    unknown: items.length - known.length,
    isSeen: survey.some(({ basis }) => basis === "seen"),
  };
}
