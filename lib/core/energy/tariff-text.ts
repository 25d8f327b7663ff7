import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { type Tariff, tariffSchema } from "./tariff";

/**
 * Reads a tariff as a person writes it down, in cents per therm or kilowatt hour:
 *
 * - flat: `18.5`
 * - tiered: `other use 250: 300 at 12, above at 16`: units a month that the home uses for other
 *   things, then each tier's end in units a month and its price
 * - time of use, a line for each season: `months 6-9: 0-15 at 20, 16-20 at 45, 21-23 at 20`, with the
 *   hours of the day from 0 to 23
 *
 * @returns null for an empty text; a problem that says what could not be read.
 */
export function parseTariff(text: string): Outcome<Tariff | null> {
  const lines = text
    .split(/\r?\n/)
    .map((line) => line.trim())
    .filter((line) => line !== "");
  const [first] = lines;
  if (first === undefined) return success(null);
  const read =
    lines.length === 1 && /^\d+(\.\d+)?$/.test(first)
      ? { kind: "flat", centsPerUnit: Number(first) }
      : first.startsWith("other use")
        ? readTiers(lines)
        : readSeasons(lines);
  return typeof read === "string"
    ? failure({ path: "", message: read })
    : parseWith(tariffSchema, read);
}

function readTiers(lines: readonly string[]): object | string {
  const match = /^other use (\d+(?:\.\d+)?)\s*:\s*(.+)$/.exec(lines.join(" "));
  if (!match) return 'Begin tiers with "other use 250:", the units a month used for other things.';
  const tiers: { upTo: number | null; centsPerUnit: number }[] = [];
  for (const part of (match[2] as string).split(",")) {
    const tier = /^\s*(above|\d+(?:\.\d+)?)\s+at\s+(\d+(?:\.\d+)?)\s*$/.exec(part);
    if (!tier) return `"${part.trim()}" is not a tier such as "300 at 12" or "above at 16".`;
    tiers.push({
      upTo: tier[1] === "above" ? null : Number(tier[1]),
      centsPerUnit: Number(tier[2]),
    });
  }
  return { kind: "tiered", otherUnitsPerMonth: Number(match[1]), tiers };
}

function readSeasons(lines: readonly string[]): object | string {
  const seasons: { months: number[]; centsByHour: number[] }[] = [];
  for (const line of lines) {
    const match = /^months ([\d,\s-]+):\s*(.+)$/.exec(line);
    if (!match) {
      return `"${line}" is neither a price such as 18.5, nor tiers, nor a season such as "months 1-12: 0-23 at 20".`;
    }
    const centsByHour: number[] = [];
    for (const part of (match[2] as string).split(",")) {
      const hours = /^\s*(\d{1,2})(?:\s*-\s*(\d{1,2}))?\s+at\s+(\d+(?:\.\d+)?)\s*$/.exec(part);
      if (!hours) return `"${part.trim()}" is not a part of the day such as "16-20 at 45".`;
      const from = Number(hours[1]);
      const to = Number(hours[2] ?? hours[1]);
      if (from !== centsByHour.length || to < from || to > 23) {
        return `The hours of "${line}" must run from 0 to 23 without a gap.`;
      }
      for (let hour = from; hour <= to; hour++) centsByHour.push(Number(hours[3]));
    }
    if (centsByHour.length !== 24) return `The hours of "${line}" must run from 0 to 23.`;
    seasons.push({ months: readMonths(match[1] as string), centsByHour });
  }
  return { kind: "time-of-use", seasons };
}

function readMonths(text: string): number[] {
  return text.split(",").flatMap((part) => {
    const [from, to = from] = part.split("-").map((month) => Number(month.trim()));
    const first = from ?? Number.NaN;
    return Array.from({ length: Math.max(1, (to ?? first) - first + 1) }, (_, at) => first + at);
  });
}

/** A tariff as {@link parseTariff} reads it. */
export function formatTariff(tariff: Tariff | null): string {
  if (tariff === null) return "";
  switch (tariff.kind) {
    case "flat":
      return String(tariff.centsPerUnit);
    case "tiered": {
      const tiers = tariff.tiers.map(
        ({ upTo, centsPerUnit }) => `${upTo ?? "above"} at ${centsPerUnit}`,
      );
      return `other use ${tariff.otherUnitsPerMonth}: ${tiers.join(", ")}`;
    }
    case "time-of-use":
      return tariff.seasons
        .map(({ months, centsByHour }) => `months ${months.join(",")}: ${formatDay(centsByHour)}`)
        .join("\n");
  }
}

function formatDay(centsByHour: readonly number[]): string {
  const parts: string[] = [];
  let from = 0;
  centsByHour.forEach((cents, hour) => {
    if (centsByHour[hour + 1] === cents) return;
    parts.push(`${from === hour ? hour : `${from}-${hour}`} at ${cents}`);
    from = hour + 1;
  });
  return parts.join(", ");
}
