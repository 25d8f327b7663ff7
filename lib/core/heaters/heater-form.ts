import { z } from "zod";
import { type CalendarDay, calendarDay } from "@/lib/core/shared/calendar-day";
import {
  areRead,
  formText,
  oneOf,
  optionalNumber,
  optionalText,
  readBracket,
  readFields,
  requiredText,
} from "./form-fields";
import type { InstallDay, Nameplate } from "./heater";
import {
  ANSWER_LABELS,
  ANSWERS,
  type Answer,
  FUEL_LABELS,
  FUELS,
  type Fuel,
  hasTank,
  INSTALL_EVIDENCE,
  INSTALL_EVIDENCE_LABELS,
  isCombustion,
  isHeatPump,
  PLACE_LABELS,
  PLACES,
  type Place,
  TECHNOLOGIES,
  TECHNOLOGY_LABELS,
  type Technology,
} from "./vocabulary";

/** What a person enters of a heater; the form's text and the record are two forms of it. */
export type HeaterEntry = {
  readonly tag: string;
  readonly buildingId: string;
  /** The home it stands in; null where it serves several from a common place. */
  readonly home: HomeEntry | null;
  readonly homesServed: number;
  readonly technology: Technology;
  readonly fuel: Fuel;
  readonly install: InstallDay;
  readonly nameplate: Nameplate;
  readonly place: Place;
  readonly overFinishedSpace: Answer;
  readonly drainPan: Answer;
  readonly leakShutoff: Answer;
  readonly closedSystem: Answer;
  readonly expansionControl: Answer;
  readonly mixingValve: Answer;
  readonly setpointF: number | null;
  readonly warrantyYears: number | null;
  readonly notes: string | null;
};

export type HomeEntry = {
  readonly label: string;
  readonly floor: number | null;
  readonly riser: string | null;
  readonly bedrooms: number | null;
  readonly bathrooms: number | null;
  readonly occupants: number | null;
};

/** The form's fields and what they are called. */
export const HEATER_FORM_LABELS = {
  tag: "Tag",
  buildingId: "Building",
  unitLabel: "Home",
  floor: "Floor",
  riser: "Riser",
  bedrooms: "Bedrooms",
  bathrooms: "Bathrooms",
  occupants: "Occupants",
  homesServed: "Homes served",
  technology: "Technology",
  fuel: "Fuel",
  installFrom: "Installed",
  installTo: "Installed at the latest",
  installEvidence: "Evidence of the install day",
  manufacturer: "Maker",
  model: "Model",
  serial: "Serial number",
  volumeGal: "Tank volume",
  inputBtuPerHour: "Burner input",
  inputWatts: "Element or compressor input",
  uniformEnergyFactor: "Uniform energy factor",
  firstHourGal: "First-hour rating",
  place: "Place",
  overFinishedSpace: "Over finished rooms",
  drainPan: "Drain pan",
  leakShutoff: "Leak shut-off",
  closedSystem: "Closed cold feed",
  expansionControl: "Expansion control",
  mixingValve: "Mixing valve",
  setpointF: "Setpoint",
  warrantyYears: "Warranty",
  notes: "Notes",
} as const;
export type HeaterFormField = keyof typeof HEATER_FORM_LABELS;
export const HEATER_FORM_FIELDS = Object.keys(HEATER_FORM_LABELS) as readonly HeaterFormField[];

/** The form as it is typed. */
export type HeaterFormText = Readonly<Record<HeaterFormField, string>>;

/** No heater in service is older; what is, is a slip (common practice, no source). */
const FIRST_INSTALL = calendarDay("1940-01-01");

/**
 * Plausibility limits (common practice, no source), the same as for a spreadsheet that is brought in: of
 * a heater of one home, and of a plant that serves many.
 */
const VOLUME_GAL = { low: 0.3, one: 200, many: 10_000 };
const BURNER_BTU_PER_HOUR = { low: 5_000, one: 400_000, many: 5_000_000 };
const ELECTRIC_WATTS = { low: 150, one: 40_000, many: 1_000_000 };
/** Energy factors: heat pumps move more heat than they use, all others lose some of it. */
const HEAT_PUMP_FACTOR = { low: 1, high: 6 };

const answer = oneOf(ANSWERS, "Choose yes, no or not known.");

const FIELD_SCHEMAS = {
  tag: requiredText(60, "Give the heater a tag, such as the number on its label."),
  buildingId: z.guid({ error: "Choose the building." }),
  unitLabel: optionalText(40),
  floor: optionalNumber({ low: -5, high: 150, isWhole: true }),
  riser: optionalText(20),
  bedrooms: optionalNumber({ low: 0, high: 12, isWhole: true }),
  bathrooms: optionalNumber({ low: 0, high: 12 }),
  occupants: optionalNumber({ low: 0, high: 40, isWhole: true }),
  homesServed: optionalNumber({ low: 1, high: 2000, isWhole: true }),
  technology: oneOf(TECHNOLOGIES, "Choose how it heats."),
  fuel: oneOf(FUELS, "Choose what it runs on."),
  installEvidence: oneOf(INSTALL_EVIDENCE, "Choose what the install day rests on."),
  manufacturer: optionalText(80),
  model: optionalText(80),
  serial: optionalText(80),
  volumeGal: optionalNumber({ low: VOLUME_GAL.low, high: VOLUME_GAL.many, unit: "gallons" }),
  inputBtuPerHour: optionalNumber({
    low: BURNER_BTU_PER_HOUR.low,
    high: BURNER_BTU_PER_HOUR.many,
    unit: "Btu/h",
  }),
  inputWatts: optionalNumber({
    low: ELECTRIC_WATTS.low,
    high: ELECTRIC_WATTS.many,
    unit: "watts",
  }),
  uniformEnergyFactor: optionalNumber({ low: 0.2, high: HEAT_PUMP_FACTOR.high }),
  firstHourGal: optionalNumber({ low: 1, high: 5000, unit: "gallons" }),
  place: oneOf(PLACES, "Choose where it stands."),
  overFinishedSpace: answer,
  drainPan: answer,
  leakShutoff: answer,
  closedSystem: answer,
  expansionControl: answer,
  mixingValve: answer,
  setpointF: optionalNumber({ low: 80, high: 190, unit: "°F" }),
  warrantyYears: optionalNumber({ low: 0, high: 30, unit: "years" }),
  notes: optionalText(2000),
};

type FieldValues = {
  readonly [F in keyof typeof FIELD_SCHEMAS]: z.output<(typeof FIELD_SCHEMAS)[F]>;
};
type Readable = Partial<FieldValues>;

const ALL_FIELDS = Object.keys(FIELD_SCHEMAS) as readonly (keyof FieldValues)[];

/**
 * The form of a heater: every problem of every field at once, under the field's name.
 * @param today the last day on which it can have been installed.
 */
export function heaterFormSchema(today: CalendarDay) {
  return formText.transform((text, context): HeaterEntry => {
    let isGood = true;
    const complain: Complain = (path, message) => {
      isGood = false;
      context.addIssue({ code: "custom", path: [path], message });
    };
    const values = readFields(FIELD_SCHEMAS, text, context);
    checkFuel(values, complain);
    checkFactor(values, complain);
    checkInput(values, complain);
    checkSize(values, complain);
    checkHome(values, complain);
    const install = readBracket(
      { from: text.installFrom ?? "", to: text.installTo ?? "" },
      { from: "installFrom", to: "installTo", noun: "install day" },
      { today, first: FIRST_INSTALL },
      context,
    );
    if (!install || !isGood || !areRead(values, ...ALL_FIELDS)) return z.NEVER;
    return entryOf(values, { ...install, evidence: values.installEvidence });
  });
}

function entryOf(form: FieldValues, install: InstallDay): HeaterEntry {
  const { unitLabel: label, floor, riser, bedrooms, bathrooms, occupants } = form;
  return {
    tag: form.tag,
    buildingId: form.buildingId,
    home: label === null ? null : { label, floor, riser, bedrooms, bathrooms, occupants },
    homesServed: form.homesServed ?? 1,
    technology: form.technology,
    fuel: form.fuel,
    install,
    nameplate: {
      manufacturer: form.manufacturer,
      model: form.model,
      serial: form.serial,
      volumeGal: form.volumeGal,
      inputBtuPerHour: form.inputBtuPerHour,
      inputWatts: form.inputWatts,
      uniformEnergyFactor: form.uniformEnergyFactor,
      firstHourGal: form.firstHourGal,
    },
    place: form.place,
    overFinishedSpace: form.overFinishedSpace,
    drainPan: form.drainPan,
    leakShutoff: form.leakShutoff,
    closedSystem: form.closedSystem,
    expansionControl: form.expansionControl,
    mixingValve: form.mixingValve,
    setpointF: form.setpointF,
    warrantyYears: form.warrantyYears,
    notes: form.notes,
  };
}

type Complain = (path: HeaterFormField, message: string) => void;

function checkFuel({ technology, fuel }: Readable, complain: Complain): void {
  if (!technology || !fuel) return;
  const kind = TECHNOLOGY_LABELS[technology];
  const burns = isCombustion(technology);
  if (burns && fuel === "electricity") complain("fuel", `"${kind}" burns a fuel.`);
  if (!burns && fuel !== "electricity") {
    complain("fuel", `"${kind}" runs on electricity, not on ${FUEL_LABELS[fuel].toLowerCase()}.`);
  }
}

function checkFactor({ technology, uniformEnergyFactor }: Readable, complain: Complain): void {
  if (!technology || uniformEnergyFactor == null) return;
  if (isHeatPump(technology) && uniformEnergyFactor < HEAT_PUMP_FACTOR.low) {
    complain("uniformEnergyFactor", "A heat pump's factor is 1 or more.");
  }
  if (!isHeatPump(technology) && uniformEnergyFactor >= 1) {
    complain("uniformEnergyFactor", "Only a heat pump has a factor of 1 or more.");
  }
}

function checkInput(
  { technology, inputBtuPerHour, inputWatts }: Readable,
  complain: Complain,
): void {
  if (!technology) return;
  const burns = isCombustion(technology);
  if (burns && inputWatts != null) {
    complain("inputWatts", "A burner's input is given in Btu/h; leave this empty.");
  }
  if (!burns && inputBtuPerHour != null) {
    complain("inputBtuPerHour", "Only a burner has an input in Btu/h; leave this empty.");
  }
}

function checkSize(form: Readable, complain: Complain): void {
  if (form.technology && !hasTank(form.technology) && form.volumeGal != null) {
    complain("volumeGal", "A tankless heater stores no water; leave this empty.");
  }
  if (form.homesServed === undefined || (form.homesServed ?? 1) > 1) return;
  const most = (
    path: HeaterFormField,
    value: number | null | undefined,
    high: number,
    unit: string,
  ) => {
    if (value == null || value <= high) return;
    complain(
      path,
      `More than ${high.toLocaleString("en-US")} ${unit} is too much for one home; say how many homes it serves.`,
    );
  };
  most("volumeGal", form.volumeGal, VOLUME_GAL.one, "gallons");
  most("inputBtuPerHour", form.inputBtuPerHour, BURNER_BTU_PER_HOUR.one, "Btu/h");
  most("inputWatts", form.inputWatts, ELECTRIC_WATTS.one, "watts");
}

const HOME_FACTS = ["floor", "riser", "bedrooms", "bathrooms", "occupants"] as const;

function checkHome(form: Readable, complain: Complain): void {
  if (form.unitLabel !== null) return;
  const given = HOME_FACTS.find((fact) => form[fact] != null);
  if (!given) return;
  complain("unitLabel", `${HEATER_FORM_LABELS[given]} belongs to a home: give the home's number.`);
}

/** A heater as the form shows it. Reading the text again gives the same entry. */
export function heaterFormText(entry: HeaterEntry): HeaterFormText {
  const { install, nameplate, home } = entry;
  const write = (value: string | number | null) => (value === null ? "" : String(value));
  return {
    tag: entry.tag,
    buildingId: entry.buildingId,
    unitLabel: write(home?.label ?? null),
    floor: write(home?.floor ?? null),
    riser: write(home?.riser ?? null),
    bedrooms: write(home?.bedrooms ?? null),
    bathrooms: write(home?.bathrooms ?? null),
    occupants: write(home?.occupants ?? null),
    homesServed: write(entry.homesServed),
    technology: entry.technology,
    fuel: entry.fuel,
    installFrom: install.earliest,
    installTo: install.latest === install.earliest ? "" : install.latest,
    installEvidence: install.evidence,
    manufacturer: write(nameplate.manufacturer),
    model: write(nameplate.model),
    serial: write(nameplate.serial),
    volumeGal: write(nameplate.volumeGal),
    inputBtuPerHour: write(nameplate.inputBtuPerHour),
    inputWatts: write(nameplate.inputWatts),
    uniformEnergyFactor: write(nameplate.uniformEnergyFactor),
    firstHourGal: write(nameplate.firstHourGal),
    place: entry.place,
    overFinishedSpace: entry.overFinishedSpace,
    drainPan: entry.drainPan,
    leakShutoff: entry.leakShutoff,
    closedSystem: entry.closedSystem,
    expansionControl: entry.expansionControl,
    mixingValve: entry.mixingValve,
    setpointF: write(entry.setpointF),
    warrantyYears: write(entry.warrantyYears),
    notes: write(entry.notes),
  };
}

/** The form of a heater of which nothing is known yet. */
export const EMPTY_HEATER_FORM: HeaterFormText = {
  ...(Object.fromEntries(HEATER_FORM_FIELDS.map((field) => [field, ""])) as HeaterFormText),
  homesServed: "1",
  technology: "gas-storage",
  fuel: "natural-gas",
  installEvidence: "none",
  place: "other",
  overFinishedSpace: "unknown",
  drainPan: "unknown",
  leakShutoff: "unknown",
  closedSystem: "unknown",
  expansionControl: "unknown",
  mixingValve: "unknown",
};

const CHOICE_LABELS: Readonly<Partial<Record<HeaterFormField, Readonly<Record<string, string>>>>> =
  {
    technology: TECHNOLOGY_LABELS,
    fuel: FUEL_LABELS,
    installEvidence: INSTALL_EVIDENCE_LABELS,
    place: PLACE_LABELS,
    overFinishedSpace: ANSWER_LABELS,
    drainPan: ANSWER_LABELS,
    leakShutoff: ANSWER_LABELS,
    closedSystem: ANSWER_LABELS,
    expansionControl: ANSWER_LABELS,
    mixingValve: ANSWER_LABELS,
  };

/** The text of a field as a person reads it: the label of a choice, "empty" for nothing. */
export function describeFormText(field: HeaterFormField, text: string): string {
  if (text.trim() === "") return "empty";
  return CHOICE_LABELS[field]?.[text] ?? text;
}

/**
 * What becomes of an edit when somebody else has changed the record since it was opened.
 *
 * @param base the record as the editor opened it
 * @param theirs the record as it is now
 * @param mine what the editor typed
 */
export function mergeHeaterForms(
  base: HeaterFormText,
  theirs: HeaterFormText,
  mine: HeaterFormText,
): {
  /** Their changes where mine has none, mine elsewhere. */
  readonly merged: HeaterFormText;
  /** Fields taken over from them. */
  readonly taken: readonly HeaterFormField[];
  /** Fields that both changed, differently: a person decides. */
  readonly clashes: readonly HeaterFormField[];
} {
  const taken: HeaterFormField[] = [];
  const clashes: HeaterFormField[] = [];
  const merged = { ...mine };
  for (const field of HEATER_FORM_FIELDS) {
    const same = (a: HeaterFormText, b: HeaterFormText) => a[field].trim() === b[field].trim();
    if (same(theirs, base) || same(theirs, mine)) continue;
    if (same(mine, base)) {
      merged[field] = theirs[field];
      taken.push(field);
    } else {
      clashes.push(field);
    }
  }
  return { merged, taken, clashes };
}
