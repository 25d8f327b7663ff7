import { READINESS_LABELS } from "@/lib/core/heaters/vocabulary";
import type { OptionVerdict } from "./option-verdict";

/** What a failed heater gets on the day, by option code and in the order of preference. */
export type EmergencyOrder = {
  /** Approved beforehand: taken only where everything they need has been seen to be there. */
  readonly preApproved: readonly string[];
  /** When none of those is ready. */
  readonly otherwise: readonly string[];
};

export type EmergencyChoice = {
  /** Null when no option of either list can go in. */
  readonly verdict: OptionVerdict | null;
  readonly isPreApproved: boolean;
  /** Pre-approved options that are not taken, and why. */
  readonly passedOver: readonly { readonly name: string; readonly why: string }[];
};

/**
 * What a heater gets if it fails today: the first pre-approved option that is ready here and large
 * enough, else the first of the others that is possible and large enough, else the first of them that is
 * possible at all. An answer that was inferred from a like home makes nothing ready.
 */
export function chooseForEmergency(
  verdicts: ReadonlyMap<string, OptionVerdict>,
  { preApproved, otherwise }: EmergencyOrder,
): EmergencyChoice {
  const listed = (codes: readonly string[]) => codes.flatMap((code) => verdicts.get(code) ?? []);
  const passedOver: { name: string; why: string }[] = [];
  for (const verdict of listed(preApproved)) {
    const why = whyNotToday(verdict);
    if (why === null) return { verdict, isPreApproved: true, passedOver };
    passedOver.push({ name: verdict.name, why });
  }
  const possible = listed(otherwise).filter(({ state }) => state !== "not-possible");
  const largeEnough = possible.find(({ sizing }) => sizing.verdict !== "short");
  return { verdict: largeEnough ?? possible[0] ?? null, isPreApproved: false, passedOver };
}

function whyNotToday({
  state,
  against,
  missing,
  unknown,
  inferred,
  sizing,
}: OptionVerdict): string | null {
  if (state === "not-possible") return against.join(" ");
  const named = (items: OptionVerdict["missing"]) =>
    items.map((item) => inSentence(READINESS_LABELS[item])).join(", ");
  const why: string[] = [];
  if (missing.length > 0) why.push(`missing: ${named(missing)}`);
  if (unknown.length > 0) why.push(`not known: ${named(unknown)}`);
  if (inferred.length > 0) why.push(`seen in a like home only: ${named(inferred)}`);
  if (sizing.verdict === "short") why.push("too small for this home");
  return why.length === 0 ? null : `${why.join("; ")}.`;
}

/** A label within a sentence; units keep their capitals. */
function inSentence(label: string): string {
  return label.charAt(0).toLowerCase() + label.slice(1);
}
