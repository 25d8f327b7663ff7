import fc from "fast-check";
import ICAL from "ical.js";
import { describe, expect, test } from "vitest";
import { addDays, calendarDay } from "@/lib/core/shared/calendar-day";
import { type CalendarEvent, foldLine, writeCalendar } from "@/lib/core/upkeep/calendar";
import { dateOf, parseICalendar, textOf } from "@/test/support/parse-icalendar";

const read = (text: string) => parseICalendar(new TextEncoder().encode(text));
const lines = (...all: readonly string[]) => all.map((line) => `${line}\r\n`).join("");
const frame = (...all: readonly string[]) =>
  lines(
    "BEGIN:VCALENDAR",
    "VERSION:2.0",
    "PRODID:-//test//EN",
    "BEGIN:VEVENT",
    ...all,
    "END:VEVENT",
    "END:VCALENDAR",
  );

const event: CalendarEvent = {
  uid: "018f-round",
  day: calendarDay("2028-02-29"),
  summary: "Round",
  description: "",
  location: null,
  status: "confirmed",
  sequence: 0,
  changedAt: "2028-01-15T08:05:09.123Z",
  isBusy: true,
};

describe("the reader that judges", () => {
  // RFC 5545 section 3.1, read at icalendar.org: a long line, and the same folded twice.
  test("it unfolds the standard's own example", () => {
    const calendar = read(
      frame(
        "UID:1",
        "DTSTAMP:19970901T130000Z",
        "DTSTART;VALUE=DATE:19971102",
        "DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.",
      ),
    );
    expect(textOf(calendar.components[0], "DESCRIPTION")).toBe(
      "This is a long description that exists on a long line.",
    );
  });

  // RFC 5545 section 3.3.11, from memory: the example of TEXT.
  test("it reads the standard's own example of escaped text", () => {
    const calendar = read(
      frame(
        "UID:1",
        "DTSTAMP:19970901T130000Z",
        "DTSTART;VALUE=DATE:19971102",
        "SUMMARY:Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared.",
      ),
    );
    expect(textOf(calendar.components[0], "SUMMARY")).toBe(
      "Project XYZ Final Review\nConference Room - 3B\nCome Prepared.",
    );
  });

  const good = ["UID:1", "DTSTAMP:19970901T130000Z", "DTSTART;VALUE=DATE:19971102"];
  test.each([
    ["a line feed without a return", frame(...good).replace("\r\nUID", "\nUID")],
    ["a line of 76 octets", frame(...good, `SUMMARY:${"x".repeat(68)}`)],
    ["an event without a UID", frame(...good.slice(1))],
    ["two events of one UID", frame(...good, "END:VEVENT", "BEGIN:VEVENT", ...good)],
    ["an end on the day of the start", frame(...good, "DTEND;VALUE=DATE:19971102")],
    ["a day that does not exist", frame(...good.slice(0, 2), "DTSTART;VALUE=DATE:19970230")],
    ["a bare comma in a text", frame(...good, "STATUS:CONFIRMED,MAYBE")],
    ["a calendar that does not end", frame(...good).replace("END:VCALENDAR\r\n", "")],
  ])("it refuses %s", (_, text) => {
    expect(() => read(text)).toThrow();
  });
});

describe("what is written", () => {
  test("a whole day ends on the day after, leap days included (section 3.6.1: DTEND is not included)", () => {
    const [written] = read(writeCalendar({ name: "Rounds", events: [event] })).components;
    expect(dateOf(written, "DTSTART")).toBe("2028-02-29");
    expect(dateOf(written, "DTEND")).toBe("2028-03-01");
    expect(written.properties.find(({ name }) => name === "DTSTAMP")?.raw).toBe("20280115T080509Z");
  });

  test("commas, semicolons, backslashes, quotes, colons and line ends come back as they were", () => {
    const description = 'Home 4B; key at "desk", C:\\keys\nsecond line: call first';
    const [written] = read(
      writeCalendar({ name: "Rounds", events: [{ ...event, description }] }),
    ).components;
    expect(textOf(written, "DESCRIPTION")).toBe(description);
  });

  test("a line end in a text cannot begin a line of its own", () => {
    const text = "harmless\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:planted";
    const calendar = read(writeCalendar({ name: text, events: [{ ...event, summary: text }] }));
    expect(calendar.components).toHaveLength(1);
    expect(textOf(calendar.components[0], "SUMMARY")).toBe(text.replaceAll("\r\n", "\n"));
  });

  test("a cancelled event stays, marked as cancelled, so that readers take it away", () => {
    const [written] = read(
      writeCalendar({ name: "Rounds", events: [{ ...event, status: "cancelled", sequence: 3 }] }),
    ).components;
    expect(textOf(written, "STATUS")).toBe("CANCELLED");
    expect(textOf(written, "SEQUENCE")).toBe("3");
  });

  test("75 octets stay one line, 76 become two, and no character is cut", () => {
    expect(foldLine("x".repeat(75))).toBe("x".repeat(75));
    expect(foldLine("x".repeat(76))).toBe(`${"x".repeat(75)}\r\n x`);
    // Two octets each: 37 of them fill 74 octets, the 38th would make 76.
    expect(foldLine("é".repeat(38))).toBe(`${"é".repeat(37)}\r\n é`);
  });

  test("an empty calendar is a calendar", () => {
    expect(read(writeCalendar({ name: "Nobody", events: [] })).components).toEqual([]);
  });
});

// ical.js: an independent parser of RFC 5545, made for a mail program.
test("an independent parser reads back every event as it was written", () => {
  const text = fc.string({ unit: "grapheme", maxLength: 200 }).map((value) =>
    // Control characters other than tab and line feed are not allowed in a text (section 3.1).
    // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters meant
    value.replace(/[\u0000-\u0008\u000b-\u001f\u007f]/g, ""),
  );
  const day = fc
    .integer({ min: 1, max: 36_500 })
    .map((days) => addDays(calendarDay("2000-01-01"), days));
  const events = fc.uniqueArray(
    fc.record({
      uid: fc.uuid(),
      day,
      summary: text,
      description: text,
      location: fc.option(text.filter((value) => value !== "")),
      status: fc.constantFrom("confirmed" as const, "cancelled" as const),
      sequence: fc.nat(1_000),
      changedAt: fc.constant("2028-01-15T08:05:09.123Z"),
      isBusy: fc.boolean(),
    }),
    { selector: ({ uid }) => uid, maxLength: 8 },
  );
  fc.assert(
    fc.property(text, events, (name, written) => {
      const calendar = new ICAL.Component(ICAL.parse(writeCalendar({ name, events: written })));
      const found = calendar.getAllSubcomponents("vevent").map((part) => {
        const event = new ICAL.Event(part);
        return {
          uid: event.uid,
          from: event.startDate.toString(),
          to: event.endDate.toString(),
          isWholeDay: event.startDate.isDate,
          summary: event.summary,
          description: event.description ?? "",
          location: event.location ?? null,
          sequence: event.sequence,
          status: String(part.getFirstPropertyValue("status")).toLowerCase(),
        };
      });
      expect(found).toEqual(
        written.map((event) => ({
          uid: event.uid,
          from: event.day,
          to: addDays(event.day, 1),
          isWholeDay: true,
          summary: event.summary,
          description: event.description,
          location: event.location,
          sequence: event.sequence,
          status: event.status,
        })),
      );
    }),
  );
});
