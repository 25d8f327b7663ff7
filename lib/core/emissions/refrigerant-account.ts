import { daysOf, intersect, yearPeriod } from "@/lib/core/energy/meter-readings";
import type { Heater } from "@/lib/core/heaters/heater";
import { isHeatPump, type Technology } from "@/lib/core/heaters/vocabulary";
import { addDays, type CalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import type { Basis } from "./annual-emissions";
import type { Refrigerant } from "./factors";

/** What may be noted about a heat pump's circuit. */
export const REFRIGERANT_EVENTS = ["charge", "top-up", "recovery"] as const;
export type RefrigerantEventKind = (typeof REFRIGERANT_EVENTS)[number];

export const REFRIGERANT_EVENT_LABELS: Readonly<Record<RefrigerantEventKind, string>> = {
  charge: "Charge on the nameplate",
  "top-up": "Topped up, replacing what leaked",
  recovery: "Recovered at the end of its life",
};

/** An entry of the refrigerant log: kilograms charged, topped up or recovered on a day. */
export type RefrigerantEvent = {
  readonly heaterId: string;
  readonly kind: RefrigerantEventKind;
  readonly refrigerant: Refrigerant;
  readonly kg: number;
  readonly day: CalendarDay;
};

/** What stands in for losses that nobody weighed. */
export type RefrigerantTerms = {
  /** Share of the charge that leaks in a year. */
  readonly annualLeakShare: number;
  /** Share of the charge that escapes when a heater is scrapped. */
  readonly endOfLifeLossShare: number;
};

/** Assumed until edited: a sealed, factory-charged circuit, and every second unit recovered properly. */
export const ASSUMED_REFRIGERANT_TERMS: RefrigerantTerms = {
  annualLeakShare: 0.01,
  endOfLifeLossShare: 0.5,
};

/** Less than a milligram is what is left of subtracting weights, not a loss. */
const ROUNDING_KG = 1e-6;

export type Charge = { readonly refrigerant: Refrigerant; readonly kg: number };

/** Charges where none is on record (our assumptions, of the size of products on sale). */
const ASSUMED_CHARGES: Readonly<Partial<Record<Technology, Charge>>> = {
  "heat-pump-storage": { refrigerant: "R-134a", kg: 0.75 },
  "heat-pump-plug-in": { refrigerant: "R-134a", kg: 0.75 },
  "heat-pump-split": { refrigerant: "R-744", kg: 0.7 },
  "heat-pump-central": { refrigerant: "R-410A", kg: 10 },
};

/** The charge of a heater by its log, else by its technology; null where there is none. */
export function chargeOf(
  { technology }: Pick<Heater, "technology">,
  log: readonly RefrigerantEvent[],
): (Charge & { readonly isAssumed: boolean }) | null {
  const onRecord = latest(log.filter(({ kind }) => kind === "charge"));
  if (onRecord) return { refrigerant: onRecord.refrigerant, kg: onRecord.kg, isAssumed: false };
  const assumed = isHeatPump(technology) ? ASSUMED_CHARGES[technology] : undefined;
  return assumed ? { ...assumed, isAssumed: true } : null;
}

/** One loss of a year. */
export type RefrigerantLoss = {
  readonly heaterId: string;
  readonly cause: "leak" | "end-of-life";
  readonly refrigerant: Refrigerant;
  readonly chargeKg: number;
  readonly kg: number;
  /** `metered` when it was weighed, `modelled` when a share of the charge was assumed. */
  readonly basis: Basis;
  readonly chargeIsAssumed: boolean;
  /** First and last day that the loss is of. */
  readonly from: CalendarDay;
  readonly to: CalendarDay;
};

/**
 * What a heater lost in a year. Leakage: what was topped up in that year, by weight; in a year without
 * an entry the assumed share of the charge for the days in service. At the end of its life: the charge
 * less what was recovered, or the assumed share of it where nothing is on record.
 *
 * @param service days in service; its last day is that of the retirement when `isRetired`
 */
export function refrigerantLosses(
  heater: Pick<Heater, "id" | "technology">,
  {
    year,
    service,
    isRetired,
    log,
    terms,
  }: {
    readonly year: number;
    readonly service: { readonly from: CalendarDay; readonly to: CalendarDay };
    readonly isRetired: boolean;
    readonly log: readonly RefrigerantEvent[];
    readonly terms: RefrigerantTerms;
  },
): readonly RefrigerantLoss[] {
  const charge = chargeOf(heater, log);
  if (!charge) return [];
  const common = {
    heaterId: heater.id,
    refrigerant: charge.refrigerant,
    chargeKg: charge.kg,
    chargeIsAssumed: charge.isAssumed,
  };
  const losses: RefrigerantLoss[] = [];
  const inYear = intersect(service, yearPeriod(year));
  const toppedUp = log
    .filter(({ kind, day }) => kind === "top-up" && yearOf(day) === year)
    .sort((a, b) => (a.day < b.day ? -1 : 1));
  const [firstTopUp] = toppedUp;
  if (firstTopUp) {
    const kg = toppedUp.reduce((sum, entry) => sum + entry.kg, 0);
    const to = (toppedUp.at(-1) ?? firstTopUp).day;
    losses.push({ ...common, cause: "leak", kg, basis: "metered", from: firstTopUp.day, to });
  } else if (inYear) {
    const share = (terms.annualLeakShare * daysOf(inYear)) / daysOf(yearPeriod(year));
    losses.push({ ...common, cause: "leak", kg: charge.kg * share, basis: "modelled", ...inYear });
  }
  const retiredOn = addDays(service.to, 1);
  if (isRetired && yearOf(retiredOn) === year) {
    const recovered = log.filter(({ kind }) => kind === "recovery");
    const kg = recovered.reduce((sum, entry) => sum + entry.kg, 0);
    losses.push({
      ...common,
      cause: "end-of-life",
      kg: recovered.length > 0 ? Math.max(0, charge.kg - kg) : charge.kg * terms.endOfLifeLossShare,
      basis: recovered.length > 0 ? "metered" : "modelled",
      from: retiredOn,
      to: retiredOn,
    });
  }
  return losses.filter(({ kg }) => kg > ROUNDING_KG);
}

function latest(events: readonly RefrigerantEvent[]): RefrigerantEvent | null {
  return events.reduce<RefrigerantEvent | null>(
    (last, event) => (last === null || event.day >= last.day ? event : last),
    null,
  );
}
