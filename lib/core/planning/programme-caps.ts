import type { ReplacementOption } from "./options";

/** A heater that may claim a programme's money. */
export type Claimant = {
  readonly id: string;
  /** Who is served first while the money lasts: the greater, the earlier. */
  readonly urgency: number;
  /** Codes of the options that may be planned for it. */
  readonly options: readonly string[];
};

/** How a programme with a cap is shared out. */
export type ProgrammeShare = {
  readonly programme: string;
  readonly capCents: number;
  /** Heaters that it is offered to, of those that could claim it. */
  readonly offered: number;
  readonly claimants: number;
};

/**
 * Programmes that pay no more than a sum for all swaps together are offered to the most urgent heaters
 * only, as far as the sum surely reaches, whichever option each of them takes. So no plan counts on more
 * than a programme pays; money that those heaters do not claim is left, and a later plan can offer it
 * again.
 *
 * @returns by heater: programmes whose money is spoken for by others
 */
export function shareOutProgrammes(
  catalogue: readonly ReplacementOption[],
  claimants: readonly Claimant[],
): {
  readonly closed: ReadonlyMap<string, readonly string[]>;
  readonly shares: readonly ProgrammeShare[];
} {
  const closed = new Map<string, string[]>();
  const shares: ProgrammeShare[] = [];
  const byUrgency = [...claimants].sort((a, b) => b.urgency - a.urgency || (a.id < b.id ? -1 : 1));
  for (const [programme, capCents] of capsOf(catalogue)) {
    const most = mostByOption(catalogue, programme);
    let left = capCents;
    let offered = 0;
    let count = 0;
    for (const { id, options } of byUrgency) {
      const claim = Math.max(0, ...options.map((code) => most.get(code) ?? 0));
      if (claim === 0) continue;
      count += 1;
      if (claim <= left) {
        left -= claim;
        offered += 1;
      } else closed.set(id, [...(closed.get(id) ?? []), programme]);
    }
    shares.push({ programme, capCents, offered, claimants: count });
  }
  return { closed, shares };
}

/** The least cap that any option states for a programme. */
function capsOf(catalogue: readonly ReplacementOption[]): ReadonlyMap<string, number> {
  const caps = new Map<string, number>();
  for (const { terms } of catalogue) {
    for (const { programme, programmeCapCents } of terms.incentives) {
      if (programmeCapCents === null || programmeCapCents === undefined) continue;
      caps.set(programme, Math.min(caps.get(programme) ?? programmeCapCents, programmeCapCents));
    }
  }
  return caps;
}

/** The most that one swap to each option draws from a programme. */
function mostByOption(
  catalogue: readonly ReplacementOption[],
  programme: string,
): ReadonlyMap<string, number> {
  return new Map(
    catalogue.map(({ code, terms }) => [
      code,
      terms.incentives
        .filter((incentive) => incentive.programme === programme)
        .reduce((sum, { cents }) => sum + cents, 0),
    ]),
  );
}
