/**
 * A reader of iCalendar written from the grammar of RFC 5545 (sections 3.1, 3.3.4, 3.3.5, 3.3.11, 3.6
 * and 3.6.1) and from nothing of the program, so that it can judge what the program writes. It refuses
 * what the standard refuses.
 */

export type ParsedProperty = {
  readonly name: string;
  readonly parameters: ReadonlyMap<string, string>;
  /** As it stands, after unfolding and before unescaping. */
  readonly raw: string;
};

export type ParsedComponent = {
  readonly name: string;
  readonly properties: readonly ParsedProperty[];
  readonly components: readonly ParsedComponent[];
};

/** @throws {Error} naming the line that breaks a rule. */
export function parseICalendar(bytes: Uint8Array): ParsedComponent {
  const calendar = assemble(unfold(bytes));
  checkCalendar(calendar);
  return calendar;
}

/** Unfolds octets before they are read as UTF-8: section 3.1 lets a fold fall within a character. */
function unfold(bytes: Uint8Array): readonly string[] {
  const lines: number[][] = [];
  let line: number[] = [];
  for (let i = 0; i < bytes.length; i++) {
    if (bytes[i] === 0x0a) throw new Error(`line ${lines.length + 1}: a line feed without return`);
    if (bytes[i] !== 0x0d) {
      line.push(bytes[i]);
      continue;
    }
    if (bytes[i + 1] !== 0x0a) throw new Error(`line ${lines.length + 1}: a return without feed`);
    i += 1;
    if (line.length > 75) {
      throw new Error(`line ${lines.length + 1}: ${line.length} octets, 75 at the most`);
    }
    if (line[0] === 0x20 || line[0] === 0x09) {
      const before = lines.at(-1);
      if (!before) throw new Error("line 1: a fold with nothing before it");
      before.push(...line.slice(1));
    } else {
      lines.push(line);
    }
    line = [];
  }
  if (line.length > 0) throw new Error("the last line does not end");
  const decoder = new TextDecoder("utf-8", { fatal: true });
  return lines.map((octets) => decoder.decode(Uint8Array.from(octets)));
}

function assemble(lines: readonly string[]): ParsedComponent {
  type Open = { name: string; properties: ParsedProperty[]; components: ParsedComponent[] };
  const stack: Open[] = [];
  let root: ParsedComponent | null = null;
  for (const line of lines) {
    if (root) throw new Error(`"${line}" after the end`);
    const property = contentLine(line);
    if (property.name === "BEGIN") {
      stack.push({ name: property.raw, properties: [], components: [] });
    } else if (property.name === "END") {
      const closed = stack.pop();
      if (closed?.name !== property.raw) throw new Error(`"${line}" closes nothing`);
      const parent = stack.at(-1);
      if (parent) parent.components.push(closed);
      else root = closed;
    } else {
      const open = stack.at(-1);
      if (!open) throw new Error(`"${line}" outside a component`);
      open.properties.push(property);
    }
  }
  if (!root) throw new Error("the calendar does not end");
  return root;
}

/** contentline = name *(";" param) ":" value; a parameter's value may stand in quotes. */
function contentLine(line: string): ParsedProperty {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: section 3.1 allows no control but the tab
  if (/[\u0000-\u0008\u000a-\u001f\u007f]/.test(line)) throw new Error(`a control in "${line}"`);
  const name = /^[A-Za-z0-9-]+/.exec(line)?.[0];
  if (!name) throw new Error(`"${line}" has no name`);
  const parameters = new Map<string, string>();
  let rest = line.slice(name.length);
  for (;;) {
    const parameter = /^;([A-Za-z0-9-]+)=("[^"]*"|[^";:,]*)/.exec(rest);
    if (!parameter) break;
    parameters.set(parameter[1].toUpperCase(), parameter[2].replace(/^"|"$/g, ""));
    rest = rest.slice(parameter[0].length);
  }
  if (!rest.startsWith(":")) throw new Error(`"${line}" has no value`);
  return { name: name.toUpperCase(), parameters, raw: rest.slice(1) };
}

/** The value of TEXT, section 3.3.11. */
export function textOf(component: ParsedComponent, name: string): string | null {
  const property = component.properties.find((one) => one.name === name);
  if (!property) return null;
  if (/(^|[^\\])(\\\\)*[;,]/.test(property.raw)) throw new Error(`bare ; or , in ${property.raw}`);
  return property.raw.replace(/\\(.?)/g, (whole, escaped: string) => {
    if (escaped === "n" || escaped === "N") return "\n";
    if (escaped === "\\" || escaped === ";" || escaped === ",") return escaped;
    throw new Error(`"${whole}" is no escape`);
  });
}

/** The value of a DATE, `YYYY-MM-DD`, or null for another kind. */
export function dateOf(component: ParsedComponent, name: string): string | null {
  const property = component.properties.find((one) => one.name === name);
  if (property?.parameters.get("VALUE") !== "DATE") return null;
  const match = /^(\d{4})(\d{2})(\d{2})$/.exec(property.raw);
  if (!match) throw new Error(`${name} is no date: ${property.raw}`);
  const text = `${match[1]}-${match[2]}-${match[3]}`;
  if (new Date(`${text}T00:00:00Z`).toISOString().slice(0, 10) !== text) {
    throw new Error(`${name} is no day that exists: ${property.raw}`);
  }
  return text;
}

const ONCE_IN_EVENT = [
  "UID",
  "DTSTAMP",
  "DTSTART",
  "DTEND",
  "SUMMARY",
  "DESCRIPTION",
  "LOCATION",
  "STATUS",
  "SEQUENCE",
  "TRANSP",
];

function checkCalendar(calendar: ParsedComponent): void {
  if (calendar.name !== "VCALENDAR") throw new Error(`begins with ${calendar.name}`);
  for (const name of ["PRODID", "VERSION"]) {
    if (count(calendar, name) !== 1)
      throw new Error(`${name} stands ${count(calendar, name)} times`);
  }
  if (textOf(calendar, "VERSION") !== "2.0") throw new Error("VERSION is not 2.0");
  if (count(calendar, "METHOD") > 1) throw new Error("METHOD stands more than once");
  const seen = new Set<string>();
  for (const event of calendar.components) {
    if (event.name !== "VEVENT") continue;
    for (const name of ["UID", "DTSTAMP", "DTSTART"]) {
      if (count(event, name) !== 1) throw new Error(`${name} of an event is missing or doubled`);
    }
    for (const name of ONCE_IN_EVENT) {
      if (count(event, name) > 1) throw new Error(`${name} stands more than once in an event`);
    }
    const uid = textOf(event, "UID") ?? "";
    if (uid === "" || seen.has(uid)) throw new Error(`UID "${uid}" is empty or taken`);
    seen.add(uid);
    const stamp = event.properties.find((one) => one.name === "DTSTAMP");
    if (!/^\d{8}T\d{6}Z$/.test(stamp?.raw ?? "")) throw new Error(`DTSTAMP ${stamp?.raw}`);
    const [start, end] = [dateOf(event, "DTSTART"), dateOf(event, "DTEND")];
    if (start !== null && count(event, "DTEND") === 1 && (end === null || end <= start)) {
      throw new Error(`DTEND ${end} is not a day after DTSTART ${start}`);
    }
    const status = textOf(event, "STATUS");
    if (status !== null && !["TENTATIVE", "CONFIRMED", "CANCELLED"].includes(status)) {
      throw new Error(`STATUS ${status} is none of an event`);
    }
    const transparency = textOf(event, "TRANSP");
    if (transparency !== null && !["OPAQUE", "TRANSPARENT"].includes(transparency)) {
      throw new Error(`TRANSP ${transparency}`);
    }
  }
}

function count(component: ParsedComponent, name: string): number {
  return component.properties.filter((one) => one.name === name).length;
}
