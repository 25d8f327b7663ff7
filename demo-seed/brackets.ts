import type { InstallEvidence } from "@/lib/core/heaters/vocabulary";
import {
  dayFromParts,
  dayNumber,
  daysInMonth,
  monthOf,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import { dayText } from "./day-text";
import type { Life } from "./lives";
import type { DemoRandom } from "./random";

/** What the record knows of a day: day numbers, both included. */
export type Bracket = { readonly earliest: number; readonly latest: number };
export type InstallBracket = Bracket & { readonly evidence: InstallEvidence };

/**
 * Chance that nothing is known of the installation of a heater that stood before its record began.
 * It makes about 8 % of the heaters in service unknown. It is the same for those that ended since:
 * which day is unknown must not depend on how long the heater lived.
 */
const UNKNOWN_SHARE = 0.66;

/** How well a swap was written down. */
const SWAP_PRECISION = [
  ["day", 84],
  ["month", 7],
  ["year", 9],
] as const;
type SwapPrecision = (typeof SWAP_PRECISION)[number][0];

function monthAround(day: number): Bracket {
  const text = dayText(day);
  const [year, month] = [yearOf(text), monthOf(text)];
  return {
    earliest: dayNumber(dayFromParts(year, month, 1)),
    latest: dayNumber(dayFromParts(year, month, daysInMonth(year, month))),
  };
}

function yearsAround(day: number, more: number): Bracket {
  const year = yearOf(dayText(day));
  return {
    earliest: dayNumber(dayFromParts(year - more, 1, 1)),
    latest: dayNumber(dayFromParts(year + more, 12, 31)),
  };
}

/** Narrows to what other records prove; `inside` is the true day and always stays in. */
function narrow(bracket: Bracket, { earliest, latest }: Bracket): Bracket {
  return {
    earliest: Math.max(bracket.earliest, earliest),
    latest: Math.min(bracket.latest, latest),
  };
}

/**
 * Writes down the days of a slot's lives: the install day of each and the end of each that ended.
 * Every bracket holds the true day, and what one record proves narrows the others: a heater visited
 * in March did not retire in January.
 * Where nothing is known of an installation its bracket runs from the building of the house.
 */
export function writeDays(
  random: DemoRandom,
  lives: readonly Life[],
  terms: {
    readonly builtDay: number;
    readonly recordsBegin: number;
    readonly today: number;
  },
): { readonly install: InstallBracket; readonly end: Bracket | null }[] {
  const { recordsBegin, today } = terms;
  const installs: InstallBracket[] = [];
  const ends: (Bracket | null)[] = [];
  lives.forEach((life, index) => {
    const firstVisit = life.visits[0]?.day ?? life.endDay;
    const before = lives[index - 1];
    if (before === undefined) {
      installs.push(
        life.installDay < recordsBegin
          ? writeInstallBeforeRecords(random, life, terms)
          : { ...exactly(life.installDay), evidence: "invoice" },
      );
      return;
    }
    const precision = random.pickWeighted(SWAP_PRECISION);
    const lastVisit = before.visits.at(-1)?.day ?? recordsBegin;
    const earlierInstall = (installs[index - 1] as InstallBracket).earliest;
    const proven = {
      earliest: Math.max(lastVisit, earlierInstall, recordsBegin),
      latest: Math.min(firstVisit, today),
    };
    const install = aroundSwap(precision, life.installDay, proven);
    const end = aroundSwap(precision, before.endDay, proven);
    ends[index - 1] = { earliest: end.earliest, latest: Math.min(end.latest, install.latest) };
    installs.push({
      earliest: Math.max(install.earliest, end.earliest),
      latest: install.latest,
      evidence:
        precision === "day"
          ? random.pickWeighted<InstallEvidence>([
              ["invoice", 72],
              ["permit", 20],
              ["warranty-card", 8],
            ])
          : precision === "month"
            ? "serial-number"
            : "staff-estimate",
    });
  });
  return installs.map((install, index) => ({ install, end: ends[index] ?? null }));
}

function aroundSwap(precision: SwapPrecision, day: number, proven: Bracket): Bracket {
  if (precision === "day") return exactly(day);
  return narrow(precision === "month" ? monthAround(day) : yearsAround(day, 0), proven);
}

function exactly(day: number): Bracket {
  return { earliest: day, latest: day };
}

function writeInstallBeforeRecords(
  random: DemoRandom,
  life: Life,
  { builtDay, recordsBegin }: { readonly builtDay: number; readonly recordsBegin: number },
): InstallBracket {
  const sure = { earliest: builtDay, latest: recordsBegin };
  if (random.chance(UNKNOWN_SHARE)) {
    return { ...sure, evidence: random.chance(0.75) ? "building-age" : "none" };
  }
  const evidence = random.pickWeighted<InstallEvidence>([
    ["serial-number", 55],
    ["staff-estimate", 25],
    ["permit", 20],
  ]);
  if (evidence === "permit") return { ...exactly(life.installDay), evidence };
  if (evidence === "staff-estimate") {
    return { ...narrow(yearsAround(life.installDay, random.whole(0, 2)), sure), evidence };
  }
  // A serial number dates the making: the installation followed within some months.
  const made = monthAround(life.installDay - random.whole(0, 120));
  return { ...narrow({ earliest: made.earliest, latest: made.latest + 150 }, sure), evidence };
}
