import { ventLeftBehind } from "@/lib/core/heaters/air";
import type { HazardousAct } from "@/lib/core/heaters/cautions";
import type { Heater, Site } from "@/lib/core/heaters/heater";
import {
  type EffectiveAnswer,
  SURVEY_QUESTIONS,
  type SurveyItem,
} from "@/lib/core/heaters/readiness";
import { checkSizing, type SizingCheck } from "@/lib/core/heaters/sizing";
import {
  type Answer,
  isCombustion,
  isHeatPump,
  READINESS_LABELS,
  type ReadinessItem,
} from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { roundToCents } from "@/lib/core/shared/money";
import type { SourcedValue } from "@/lib/core/shared/sourced";
import { readinessWork, swapCentsOf } from "./costing";
import { nameplateOfOption } from "./option-nameplate";
import {
  COST_PARTS,
  type CostPart,
  forbiddingRule,
  isEarnedOn,
  type OptionTerms,
  PART_OF_READINESS,
  type ReplacementOption,
  termsForHomes,
} from "./options";

/**
 * - `ready`: everything it needs has been seen to be there;
 * - `needs-work`: what is missing is known and has a price;
 * - `not-seen`: nothing stands against it, but answers are not known or inferred from a like home;
 * - `not-possible`: something stands against it that no part of it puts right.
 */
export const VERDICT_STATES = ["ready", "needs-work", "not-seen", "not-possible"] as const;
export type VerdictState = (typeof VERDICT_STATES)[number];

export const VERDICT_LABELS: Readonly<Record<VerdictState, string>> = {
  ready: "Ready",
  "needs-work": "Needs work",
  "not-seen": "Not seen yet",
  "not-possible": "Not possible here",
};

/** One thing that an option needs of the place. */
export type VerdictItem = {
  readonly item: ReadinessItem;
  readonly answer: Answer;
  readonly from: EffectiveAnswer["from"];
  /** The part that puts it right; null where none does. */
  readonly part: CostPart | null;
  /** Expected cost today, cents: the whole price where it is missing, a share where it is not known. */
  readonly expectedCents: number;
};

/** What an option costs at this heater today, in cents. */
export type VerdictCost = {
  /** What every swap to it pays. */
  readonly swapCents: number;
  /** Expected work that the place still needs. */
  readonly workCents: number;
  /** Of the work, what is expected behind answers that nobody has seen. */
  readonly unseenCents: number;
  /** Least and most that the work may cost: nothing and everything behind what is not known. */
  readonly workLowCents: number;
  readonly workHighCents: number;
  readonly incentiveCents: number;
  /** Swap and work less incentives. */
  readonly totalCents: number;
};

export type OptionVerdict = {
  readonly code: string;
  readonly name: string;
  /** Grown to the homes behind the heater. */
  readonly terms: OptionTerms;
  readonly state: VerdictState;
  /** Why it is not possible, in sentences; empty unless it is. */
  readonly against: readonly string[];
  readonly items: readonly VerdictItem[];
  /** Of what it needs: missing, not known, and inferred from a like home. */
  readonly missing: readonly ReadinessItem[];
  readonly unknown: readonly ReadinessItem[];
  readonly inferred: readonly ReadinessItem[];
  readonly cost: VerdictCost;
  readonly sizing: SizingCheck;
  /** Load on the building's service in new circuits, and whether it still carries it; null: not limited. */
  readonly circuitLoad: number;
  readonly fitsService: boolean | null;
  /** What else has to be seen to, in sentences. */
  readonly remarks: readonly string[];
  readonly cautions: readonly HazardousAct[];
};

/** Share of the answers that are not known behind which work is expected. */
export const UNKNOWN_NEEDS_WORK: SourcedValue = {
  value: 0.5,
  unit: "",
  source: "half of what nobody has seen is missing; a scenario has its own",
  evidence: "assumed",
};

/** What a verdict is made from. */
export type VerdictContext = {
  readonly today: CalendarDay;
  readonly site: Pick<Site, "demandLevel">;
  readonly answers: Readonly<Record<SurveyItem, EffectiveAnswer>>;
  /** New circuits that the building's service carries; null when not limited as far as is known. */
  readonly headroomCircuits: number | null;
  /** Share of the answers "not known" behind which work is expected, 0 to 1. */
  readonly unknownNeedsWorkShare: number;
};

/**
 * Whether an option can take a heater's place, what is missing, what that costs, and whether it is large
 * enough. An option that is too small or overloads the service is told so and left possible: the person
 * decides.
 */
export function judgeOption(
  heater: Heater,
  option: ReplacementOption,
  context: VerdictContext,
): OptionVerdict {
  const { answers, unknownNeedsWorkShare, today } = context;
  const { homesServed } = heater.home;
  const terms = termsForHomes(option.terms, homesServed);
  const items = terms.requiredReadiness.map((item): VerdictItem => {
    const { answer, from } = answers[item];
    const named = PART_OF_READINESS[item];
    const part = named !== undefined && terms.costs[named] ? named : null;
    const price = part === null ? 0 : (terms.costs[part]?.likelyCents ?? 0);
    return {
      item,
      answer,
      from,
      part,
      expectedCents: roundToCents(price * needsWork(answer, unknownNeedsWorkShare)),
    };
  });
  const which = (keep: (item: VerdictItem) => boolean) =>
    items.filter(keep).map(({ item }) => item);
  const missing = which(({ answer }) => answer === "no");
  const unknown = which(({ answer }) => answer === "unknown");
  const inferred = which(({ answer, from }) => answer !== "unknown" && from === "inferred");
  const against = whyNot(heater, option, terms, items, today);
  const circuitLoad = isCombustion(heater.technology) ? terms.circuitLoad : 0;
  return {
    code: option.code,
    name: option.name,
    terms,
    state: stateOf(against, missing, unknown.length + inferred.length),
    against,
    items,
    missing,
    unknown,
    inferred,
    cost: costOf(heater, terms, context, today),
    sizing: checkSizing(
      { technology: terms.technology, nameplate: nameplateOfOption(terms), home: heater.home },
      { demandLevel: context.site.demandLevel },
    ),
    circuitLoad,
    fitsService:
      context.headroomCircuits === null || circuitLoad === 0
        ? null
        : circuitLoad <= context.headroomCircuits + 1e-9,
    remarks: remarksOf(heater, terms, answers),
    cautions: cautionsOf(heater, terms, answers),
  };
}

function stateOf(
  against: readonly string[],
  missing: readonly ReadinessItem[],
  unseen: number,
): VerdictState {
  if (against.length > 0) return "not-possible";
  if (missing.length > 0) return "needs-work";
  return unseen > 0 ? "not-seen" : "ready";
}

const needsWork = (answer: Answer, unknownShare: number): number =>
  answer === "no" ? 1 : answer === "unknown" ? unknownShare : 0;

function whyNot(
  heater: Heater,
  option: ReplacementOption,
  terms: OptionTerms,
  items: readonly VerdictItem[],
  today: CalendarDay,
): readonly string[] {
  const why: string[] = [];
  if (isCombustion(terms.technology) && !isCombustion(heater.technology)) {
    why.push("There is no gas at this heater.");
  }
  if (option.terms.perHome !== undefined && heater.home.homesServed < 2) {
    why.push(
      "It serves several homes, and this heater serves one: see the building’s central plant.",
    );
  }
  for (const { item, answer, part } of items) {
    if (answer === "no" && part === null) {
      why.push(`${READINESS_LABELS[item]}: no, and no part of this option puts it right.`);
    }
  }
  if (terms.validFrom !== null && today < terms.validFrom) {
    why.push(`It cannot be ordered before ${terms.validFrom}.`);
  }
  if (terms.validTo !== null && today > terms.validTo) {
    why.push(`It cannot be ordered after ${terms.validTo}.`);
  }
  const rule = forbiddingRule(terms, today);
  if (rule !== null) why.push(`Not allowed any more: ${rule}.`);
  return why;
}

/** What the record says of expansion control: none is needed where nothing closes the cold feed. */
export function expansionControlled(
  heater: Pick<Heater, "closedSystem" | "expansionControl">,
): Answer {
  return heater.closedSystem === "no" ? "yes" : heater.expansionControl;
}

function costOf(
  heater: Heater,
  terms: OptionTerms,
  { answers, unknownNeedsWorkShare }: VerdictContext,
  today: CalendarDay,
): VerdictCost {
  const place = {
    technology: heater.technology,
    readiness: Object.fromEntries(
      terms.requiredReadiness.map((item) => [item, answers[item].answer]),
    ),
    expansionControlled: expansionControlled(heater),
    mixingValve: heater.mixingValve,
    commonVent: answers["common-vent"].answer,
  };
  const likely = readinessWork(place, terms, unknownNeedsWorkShare);
  const known = readinessWork(place, terms, 0);
  const sum = (cents: Readonly<Partial<Record<CostPart, number>>>) =>
    Object.values(cents).reduce((total, each) => total + each, 0);
  const rangeOf = (
    cents: Readonly<Partial<Record<CostPart, number>>>,
    key: "lowCents" | "highCents",
  ) =>
    COST_PARTS.reduce(
      (total, part) => total + (cents[part] ? (terms.costs[part]?.[key] ?? 0) : 0),
      0,
    );
  const swapCents = roundToCents(swapCentsOf(terms, heater.technology));
  const workCents = roundToCents(sum(likely.cents));
  const earned = terms.incentives.reduce(
    (total, incentive) =>
      isEarnedOn(incentive, today)
        ? total + Math.min(incentive.cents, incentive.maximumShare * (swapCents + workCents))
        : total,
    0,
  );
  const incentiveCents = roundToCents(Math.min(earned, swapCents + workCents));
  return {
    swapCents,
    workCents,
    unseenCents: workCents - roundToCents(sum(known.cents)),
    workLowCents: rangeOf(known.cents, "lowCents"),
    workHighCents: rangeOf(readinessWork(place, terms, 1).cents, "highCents"),
    incentiveCents,
    totalCents: swapCents + workCents - incentiveCents,
  };
}

function remarksOf(
  heater: Heater,
  terms: OptionTerms,
  answers: VerdictContext["answers"],
): readonly string[] {
  const remarks: string[] = [];
  const leavesGas = isCombustion(heater.technology) && !isCombustion(terms.technology);
  const vent = answers["common-vent"].answer;
  if (leavesGas && vent === "yes") {
    remarks.push(ventLeftBehind(heater.nameplate.inputBtuPerHour, null).sentence);
  }
  if (leavesGas && vent === "unknown") {
    remarks.push(
      "Nobody has looked whether other gas appliances use the same vent. If they do, it is likely too large for them alone.",
    );
  }
  if (heater.closedSystem !== "no" && heater.expansionControl !== "yes") {
    // International Plumbing Code 607.3 as adopted by a city's code (seen there).
    remarks.push(
      heater.closedSystem === "yes"
        ? "The cold feed is closed by a check valve, regulator or backflow preventer: a storage tank needs thermal expansion control downstream of it."
        : "Nobody has noted whether the cold feed is closed; a storage tank on a closed feed needs thermal expansion control.",
    );
  }
  if (heater.mixingValve !== "yes" && isHeatPump(terms.technology)) {
    remarks.push(
      "A heat pump recovers slowly and is often set hotter: only with a listed mixing valve, measured at the tap.",
    );
  }
  return remarks;
}

/** The cautions that belong to the work, each once, in the order of the work. */
function cautionsOf(
  heater: Heater,
  terms: OptionTerms,
  answers: VerdictContext["answers"],
): readonly HazardousAct[] {
  const acts = new Set<HazardousAct>();
  const leavesGas = isCombustion(heater.technology) && !isCombustion(terms.technology);
  if (isCombustion(heater.technology)) acts.add("gas-capoff");
  if (isCombustion(terms.technology) || (leavesGas && answers["common-vent"].answer !== "no")) {
    acts.add("combustion-air");
  }
  if (!isCombustion(terms.technology)) acts.add("electrical");
  acts.add("lifting");
  for (const item of terms.requiredReadiness) {
    const { caution } = SURVEY_QUESTIONS[item];
    if (caution === "relief-valve") acts.add(caution);
  }
  if (heater.closedSystem !== "no" && heater.expansionControl !== "yes") acts.add("pressure");
  acts.add("setpoint");
  // The way out of a scalding setpoint, a lower one, is the way into the other hazard.
  acts.add("legionella");
  if (terms.refrigerant !== null) acts.add("refrigerant");
  return [...acts];
}
