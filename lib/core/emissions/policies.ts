import { z } from "zod";
import { isCombustion, type Technology } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, isCalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import type { ScopeTotals } from "./annual-emissions";
import { COVERAGES, coveredKg } from "./target";

const day = z.string().refine(isCalendarDay, "must be a day such as 2027-06-30");
const year = z.int("must be a year").min(1990).max(2150);

/** What a building performance limit is counted by. */
export const LIMIT_BASES = ["property", "home", "square-foot"] as const;
export type LimitBasis = (typeof LIMIT_BASES)[number];

export const LIMIT_BASIS_LABELS: Readonly<Record<LimitBasis, string>> = {
  property: "kg CO2e a year for the property",
  home: "kg CO2e a year and home",
  "square-foot": "kg CO2e a year and square foot",
};

/**
 * A rule that applies to a property, entered by the user with where it was read. Building performance
 * rules set a limit by year; low-emission appliance rules forbid what burns, when it is installed or
 * altogether.
 */
export const policyRuleSchema = z.discriminatedUnion("kind", [
  z.strictObject({
    kind: z.literal("limit"),
    basis: z.enum(LIMIT_BASES),
    coverage: z.enum(COVERAGES),
    /** The limit from each year on, in the unit of the basis. */
    steps: z
      .array(z.strictObject({ fromYear: year, limitKg: z.number().min(0) }))
      .min(1, "give at least one year with its limit")
      .refine(
        (steps) =>
          steps.every((step, at) => at === 0 || step.fromYear > (steps[at - 1]?.fromYear ?? 0)),
        "the years must rise",
      ),
    /** What else of the property counts against the limit, kg CO2e a year (heating, common areas). */
    otherKgPerYear: z.number().min(0),
    /** What each tonne above the limit costs a year, cents; null when nothing is charged. */
    centsPerTonneOver: z.int().min(0).nullable(),
  }),
  z.strictObject({ kind: z.literal("no-new-combustion"), from: day }),
  z.strictObject({ kind: z.literal("no-combustion"), from: day }),
]);
export type PolicyRule = z.output<typeof policyRuleSchema>;

export const POLICY_KIND_LABELS: Readonly<Record<PolicyRule["kind"], string>> = {
  limit: "Building performance limit",
  "no-new-combustion": "No new burners from a day on",
  "no-combustion": "No burners left from a day on",
};

export type Policy = {
  readonly id: string;
  readonly name: string;
  /** Null for every property. */
  readonly propertyId: string | null;
  readonly rule: PolicyRule;
  readonly source: string;
};

/** A property along a plan, year by year. */
export type PolicyYear = {
  readonly year: number;
  readonly kgCo2e: ScopeTotals;
  /** Heaters that burn at the end of the year. */
  readonly burnersLeft: number;
};

export type PolicyProperty = {
  readonly propertyId: string;
  readonly homes: number;
  readonly floorAreaSqFt: number | null;
  readonly years: readonly PolicyYear[];
  /** Heaters that the plan puts in, with their day. */
  readonly installs: readonly { readonly day: CalendarDay; readonly technology: Technology }[];
};

/** What a policy finds in one property and year. */
export type PolicyFinding = {
  readonly policyId: string;
  readonly propertyId: string;
  readonly year: number;
  readonly kind: "over-limit" | "new-burners" | "burners-left" | "cannot-be-checked";
  /** Kilograms over the limit, or heaters. */
  readonly amount: number;
  /** Limit of the year in kg CO2e for the property; null for rules about burners. */
  readonly limitKg: number | null;
  readonly countedKg: number | null;
  /** What it costs, cents; null where the rule names no price. */
  readonly cents: number | null;
};

/**
 * Years of a path in which a property breaks a rule. A limit by floor area cannot be checked without
 * the area, and says so once. Planned swaps count; what an emergency puts in is not known.
 */
export function checkPolicy(policy: Policy, property: PolicyProperty): readonly PolicyFinding[] {
  if (policy.propertyId !== null && policy.propertyId !== property.propertyId) return [];
  const at = { policyId: policy.id, propertyId: property.propertyId };
  const { rule } = policy;
  switch (rule.kind) {
    case "limit": {
      const size = sizeOf(rule.basis, property);
      const [firstStep] = rule.steps;
      if (size === null) {
        return [
          {
            ...at,
            year: firstStep?.fromYear ?? 0,
            kind: "cannot-be-checked",
            amount: 0,
            limitKg: null,
            countedKg: null,
            cents: null,
          },
        ];
      }
      return property.years.flatMap(({ year: when, kgCo2e }): PolicyFinding[] => {
        const step = rule.steps.findLast(({ fromYear }) => fromYear <= when);
        if (!step) return [];
        const limitKg = step.limitKg * size;
        const countedKg = coveredKg(kgCo2e, rule.coverage) + rule.otherKgPerYear;
        const over = countedKg - limitKg;
        if (over <= 0) return [];
        const cents =
          rule.centsPerTonneOver === null
            ? null
            : Math.round((over / 1000) * rule.centsPerTonneOver);
        return [{ ...at, year: when, kind: "over-limit", amount: over, limitKg, countedKg, cents }];
      });
    }
    case "no-new-combustion": {
      const byYear = new Map<number, number>();
      for (const { day: installed, technology } of property.installs) {
        if (installed < rule.from || !isCombustion(technology)) continue;
        const when = yearOf(installed);
        byYear.set(when, (byYear.get(when) ?? 0) + 1);
      }
      return [...byYear]
        .sort(([a], [b]) => a - b)
        .map(([when, amount]) => ({
          ...at,
          year: when,
          kind: "new-burners",
          amount,
          limitKg: null,
          countedKg: null,
          cents: null,
        }));
    }
    case "no-combustion":
      return property.years.flatMap(({ year: when, burnersLeft }): PolicyFinding[] =>
        burnersLeft > 0 && when >= yearOf(rule.from as CalendarDay)
          ? [
              {
                ...at,
                year: when,
                kind: "burners-left",
                amount: burnersLeft,
                limitKg: null,
                countedKg: null,
                cents: null,
              },
            ]
          : [],
      );
  }
}

function sizeOf(basis: LimitBasis, { homes, floorAreaSqFt }: PolicyProperty): number | null {
  switch (basis) {
    case "property":
      return 1;
    case "home":
      return homes;
    case "square-foot":
      return floorAreaSqFt;
  }
}
