import { addDays, type CalendarDay } from "@/lib/core/shared/calendar-day";

/** Something that takes whole days, as a calendar shows it. */
export type CalendarEvent = {
  /** Stays the same for as long as the event is the same one; no other event has it. */
  readonly uid: string;
  readonly day: CalendarDay;
  readonly summary: string;
  readonly description: string;
  readonly location: string | null;
  readonly status: "confirmed" | "cancelled";
  /** Raised with each change, so that a reader takes the newer one. */
  readonly sequence: number;
  /** When this state of the event came about, `YYYY-MM-DDTHH:MM:SS…Z`. */
  readonly changedAt: string;
  /** False for what only informs: it leaves the person free. */
  readonly isBusy: boolean;
};

export type Calendar = {
  readonly name: string;
  readonly events: readonly CalendarEvent[];
};

/** Octets of a content line before it is folded, RFC 5545 section 3.1. */
const LINE_OCTETS = 75;

/**
 * An iCalendar stream (RFC 5545) of events that take whole days: VALUE=DATE, so that no time zone can
 * move them; DTEND is the day after, which it does not include (section 3.6.1).
 */
export function writeCalendar({ name, events }: Calendar): string {
  const lines = [
    "BEGIN:VCALENDAR",
    "VERSION:2.0",
    "PRODID:-//Tanklore//Upkeep//EN",
    "CALSCALE:GREGORIAN",
    "METHOD:PUBLISH",
    // RFC 7986, sections 5.1 and 5.7: the name, and how often to look again.
    `NAME:${escapeText(name)}`,
    "REFRESH-INTERVAL;VALUE=DURATION:PT4H",
    ...events.flatMap(eventLines),
    "END:VCALENDAR",
  ];
  return lines.map((line) => `${foldLine(line)}\r\n`).join("");
}

function eventLines(event: CalendarEvent): readonly string[] {
  return [
    "BEGIN:VEVENT",
    `UID:${escapeText(event.uid)}`,
    `DTSTAMP:${utcStamp(event.changedAt)}`,
    `DTSTART;VALUE=DATE:${basicDay(event.day)}`,
    `DTEND;VALUE=DATE:${basicDay(addDays(event.day, 1))}`,
    `SUMMARY:${escapeText(event.summary)}`,
    ...(event.description === "" ? [] : [`DESCRIPTION:${escapeText(event.description)}`]),
    ...(event.location === null ? [] : [`LOCATION:${escapeText(event.location)}`]),
    `STATUS:${event.status === "confirmed" ? "CONFIRMED" : "CANCELLED"}`,
    `SEQUENCE:${event.sequence}`,
    `TRANSP:${event.isBusy ? "OPAQUE" : "TRANSPARENT"}`,
    "END:VEVENT",
  ];
}

/** TEXT, section 3.3.11: backslash, semicolon, comma and line ends are escaped; other controls go. */
function escapeText(text: string): string {
  return (
    text
      .replace(/\r\n?/g, "\n")
      // biome-ignore lint/suspicious/noControlCharactersInRegex: section 3.1 allows no control but the tab
      .replace(/[\u0000-\u0008\u000b-\u001f\u007f]/g, "")
      .replace(/[\\;,]/g, (character) => `\\${character}`)
      .replace(/\n/g, "\\n")
  );
}

/**
 * A content line in pieces of at most 75 octets of UTF-8, joined by a line end and a space (section
 * 3.1). Pieces end between characters: an octet count within one would break readers that unfold late.
 */
export function foldLine(line: string): string {
  const pieces: string[] = [];
  let piece = "";
  let octets = 0;
  for (const character of line) {
    const size = utf8Octets(character);
    if (octets + size > LINE_OCTETS) {
      pieces.push(piece);
      // The space that begins the next line counts as one of its octets.
      piece = "";
      octets = 1;
    }
    piece += character;
    octets += size;
  }
  pieces.push(piece);
  return pieces.join("\r\n ");
}

function utf8Octets(character: string): number {
  const point = character.codePointAt(0) ?? 0;
  if (point < 0x80) return 1;
  if (point < 0x800) return 2;
  return point < 0x10000 ? 3 : 4;
}

/** `2026-11-02` as `20261102`. */
function basicDay(day: CalendarDay): string {
  return day.replaceAll("-", "");
}

/** `2026-11-02T08:15:30.123Z` as `20261102T081530Z`. */
function utcStamp(instant: string): string {
  return `${instant.slice(0, 19).replaceAll("-", "").replaceAll(":", "")}Z`;
}
