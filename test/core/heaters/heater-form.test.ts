import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { readDayText } from "@/lib/core/heaters/form-fields";
import {
  EMPTY_HEATER_FORM,
  HEATER_FORM_FIELDS,
  type HeaterEntry,
  type HeaterFormText,
  heaterFormSchema,
  heaterFormText,
  mergeHeaterForms,
} from "@/lib/core/heaters/heater-form";
import { EMPTY_RETIREMENT_FORM, retirementFormSchema } from "@/lib/core/heaters/retirement-form";
import {
  ANSWERS,
  INSTALL_EVIDENCE,
  isCombustion,
  isHeatPump,
  PLACES,
  TECHNOLOGIES,
} from "@/lib/core/heaters/vocabulary";
import { calendarDay, dayOfNumber } from "@/lib/core/shared/calendar-day";
import { parseWith } from "@/lib/core/shared/validation";

const today = calendarDay("2026-06-30");
const GOOD: HeaterFormText = {
  ...EMPTY_HEATER_FORM,
  tag: "WH-7",
  buildingId: "5235da20-6300-48d1-8002-000000000000",
  unitLabel: "203",
  floor: "2",
  technology: "gas-storage",
  fuel: "natural-gas",
  installFrom: "2015-06-03",
  installEvidence: "invoice",
  volumeGal: "40",
  inputBtuPerHour: "40,000",
  uniformEnergyFactor: "0.58",
  setpointF: "120",
};

function parse(changes: Partial<HeaterFormText> = {}) {
  return parseWith(heaterFormSchema(today), { ...GOOD, ...changes });
}

/** The fields that complain. */
function complaints(changes: Partial<HeaterFormText>): readonly string[] {
  const result = parse(changes);
  return result.ok ? [] : result.problems.map(({ path }) => path);
}

function entry(changes: Partial<HeaterFormText> = {}): HeaterEntry {
  const result = parse(changes);
  if (!result.ok) throw new Error(JSON.stringify(result.problems));
  return result.value;
}

describe("the form of a heater", () => {
  test("a filled form becomes an entry; what is left empty is not known", () => {
    expect(entry()).toMatchObject({
      tag: "WH-7",
      home: { label: "203", floor: 2, riser: null, bedrooms: null },
      install: { earliest: "2015-06-03", latest: "2015-06-03", evidence: "invoice" },
      nameplate: { volumeGal: 40, inputBtuPerHour: 40_000, inputWatts: null, serial: null },
      setpointF: 120,
      warrantyYears: null,
    });
  });

  test("every problem is told at once, each at its field", () => {
    const bad = {
      tag: " ",
      installFrom: "2035-02-01",
      volumeGal: "forty",
      setpointF: "400",
      fuel: "electricity",
    };
    expect([...complaints(bad)].sort()).toEqual([
      "fuel",
      "installFrom",
      "setpointF",
      "tag",
      "volumeGal",
    ]);
  });

  test("an install day after today is refused with both days named", () => {
    const result = parse({ installFrom: "2026-07-01" });
    expect(result).toEqual({
      ok: false,
      problems: [
        { path: "installFrom", message: "2026-07-01 is in the future; today is 2026-06-30." },
      ],
    });
    expect(complaints({ installFrom: "2026-06-30" })).toEqual([]);
  });

  test("a bracket must rise", () => {
    expect(complaints({ installFrom: "2015-06-03", installTo: "2015-06-02" })).toEqual([
      "installTo",
    ]);
    expect(entry({ installFrom: "2015-06-03", installTo: "2015-06-03" }).install.latest).toBe(
      "2015-06-03",
    );
  });

  test("a year stands for its days, and this year for its days until today", () => {
    expect(entry({ installFrom: "2015" }).install).toMatchObject({
      earliest: "2015-01-01",
      latest: "2015-12-31",
    });
    expect(entry({ installFrom: "2026" }).install.latest).toBe("2026-06-30");
    expect(entry({ installFrom: "2009", installTo: "2011-02" }).install).toMatchObject({
      earliest: "2009-01-01",
      latest: "2011-02-28",
    });
  });

  test("an install day that is missing or no day is refused", () => {
    for (const installFrom of ["", "spring", "2015-02-30", "2015-13", "1939"]) {
      expect(complaints({ installFrom }), installFrom).toEqual(["installFrom"]);
    }
  });

  test.each([
    ["gas-storage", "electricity"],
    ["gas-instantaneous", "electricity"],
    ["electric-storage", "natural-gas"],
    ["heat-pump-storage", "propane"],
  ])("%s does not run on %s", (technology, fuel) => {
    const input = { inputBtuPerHour: "", volumeGal: "", uniformEnergyFactor: "" };
    expect(complaints({ technology, fuel, ...input })).toEqual(["fuel"]);
  });

  test("an input goes with what burns or draws current", () => {
    expect(complaints({ inputWatts: "4500" })).toEqual(["inputWatts"]);
    expect(complaints({ technology: "electric-storage", fuel: "electricity" })).toEqual([
      "inputBtuPerHour",
    ]);
  });

  // The uniform energy factor is delivered heat over energy used (10 CFR 430 subpart B appendix E, from
  // memory): above 1 only where heat is moved rather than made.
  test("only a heat pump has an energy factor of 1 or more", () => {
    expect(complaints({ uniformEnergyFactor: "1" })).toEqual(["uniformEnergyFactor"]);
    expect(complaints({ uniformEnergyFactor: "0.99" })).toEqual([]);
    const pump = { technology: "heat-pump-storage", fuel: "electricity", inputBtuPerHour: "" };
    expect(complaints({ ...pump, uniformEnergyFactor: "0.9" })).toEqual(["uniformEnergyFactor"]);
    expect(complaints({ ...pump, uniformEnergyFactor: "3.5" })).toEqual([]);
  });

  test("a volume for many homes needs to say how many", () => {
    expect(complaints({ volumeGal: "200" })).toEqual([]);
    expect(complaints({ volumeGal: "201" })).toEqual(["volumeGal"]);
    expect(complaints({ volumeGal: "201", homesServed: "12" })).toEqual([]);
  });

  test("a tankless heater has no volume", () => {
    expect(complaints({ technology: "gas-instantaneous" })).toEqual(["volumeGal"]);
  });

  test("setpoints outside 80 to 190 °F are refused", () => {
    for (const [setpointF, isRefused] of [
      ["79", true],
      ["80", false],
      ["190", false],
      ["191", true],
    ] as const) {
      expect(complaints({ setpointF }), setpointF).toEqual(isRefused ? ["setpointF"] : []);
    }
  });

  test("a floor or bedrooms without a home are refused, for there is no home to keep them", () => {
    expect(complaints({ unitLabel: "", floor: "2" })).toEqual(["unitLabel"]);
    expect(entry({ unitLabel: "", floor: "" }).home).toBeNull();
  });

  test("what is not a form is refused, not thrown", () => {
    expect(parseWith(heaterFormSchema(today), null).ok).toBe(false);
    expect(parseWith(heaterFormSchema(today), { tag: 7 }).ok).toBe(false);
    expect(parseWith(heaterFormSchema(today), {}).ok).toBe(false);
  });

  test("writing an entry into the form and reading it again gives the same entry", () => {
    fc.assert(
      fc.property(entries, (original) => {
        const again = parseWith(heaterFormSchema(today), heaterFormText(original));
        expect(again).toEqual({ ok: true, value: original });
      }),
    );
  });
});

const maybe = <T>(value: fc.Arbitrary<T>) => fc.option(value, { nil: null });
const words = (most: number) =>
  fc
    .string({ minLength: 1, maxLength: most })
    .map((text) => text.trim())
    .filter((text) => text !== "");

const entries: fc.Arbitrary<HeaterEntry> = fc
  .record({
    technology: fc.constantFrom(...TECHNOLOGIES),
    tag: words(60),
    home: maybe(
      fc.record({
        label: words(40),
        floor: maybe(fc.integer({ min: -5, max: 150 })),
        riser: maybe(words(20)),
        bedrooms: maybe(fc.integer({ min: 0, max: 12 })),
        bathrooms: maybe(fc.constantFrom(0, 1, 1.5, 2, 12)),
        occupants: maybe(fc.integer({ min: 0, max: 40 })),
      }),
    ),
    homesServed: fc.integer({ min: 1, max: 2000 }),
    days: fc.tuple(fc.integer({ min: 0, max: 20_000 }), fc.integer({ min: 0, max: 600 })),
    evidence: fc.constantFrom(...INSTALL_EVIDENCE),
    names: fc.tuple(maybe(words(80)), maybe(words(80)), maybe(words(80))),
    volumeGal: maybe(fc.double({ min: 0.5, max: 120, noNaN: true })),
    input: maybe(fc.integer({ min: 5_000, max: 40_000 })),
    factor: maybe(fc.double({ min: 0.2, max: 0.99, noNaN: true })),
    firstHourGal: maybe(fc.integer({ min: 1, max: 200 })),
    place: fc.constantFrom(...PLACES),
    answers: fc.array(fc.constantFrom(...ANSWERS), { minLength: 6, maxLength: 6 }),
    setpointF: maybe(fc.integer({ min: 80, max: 190 })),
    warrantyYears: maybe(fc.integer({ min: 0, max: 30 })),
    notes: maybe(words(200)),
  })
  .map((parts): HeaterEntry => {
    const { technology, names, answers } = parts;
    const burns = isCombustion(technology);
    const [first, length] = parts.days;
    const at = (index: number) => answers[index] as (typeof ANSWERS)[number];
    return {
      tag: parts.tag,
      buildingId: GOOD.buildingId,
      home: parts.home,
      homesServed: parts.homesServed,
      technology,
      fuel: burns ? "propane" : "electricity",
      install: {
        earliest: dayOfNumber(first),
        latest: dayOfNumber(Math.min(first + length, 20_634)),
        evidence: parts.evidence,
      },
      nameplate: {
        manufacturer: names[0],
        model: names[1],
        serial: names[2],
        volumeGal: technology.endsWith("instantaneous") ? null : parts.volumeGal,
        inputBtuPerHour: burns ? parts.input : null,
        inputWatts: burns ? null : parts.input,
        uniformEnergyFactor:
          parts.factor === null ? null : isHeatPump(technology) ? 2 + parts.factor : parts.factor,
        firstHourGal: parts.firstHourGal,
      },
      place: parts.place,
      overFinishedSpace: at(0),
      drainPan: at(1),
      leakShutoff: at(2),
      closedSystem: at(3),
      expansionControl: at(4),
      mixingValve: at(5),
      setpointF: parts.setpointF,
      warrantyYears: parts.warrantyYears,
      notes: parts.notes,
    };
  });

describe("days as people write them", () => {
  test.each([
    ["2015-06-03", "2015-06-03", "2015-06-03"],
    [" 6/3/2015 ", "2015-06-03", "2015-06-03"],
    ["2016-02", "2016-02-01", "2016-02-29"],
    ["2015", "2015-01-01", "2015-12-31"],
  ])("%s means %s to %s", (text, earliest, latest) => {
    expect(readDayText(text)).toEqual({ earliest, latest });
  });

  test("what is no day is not guessed", () => {
    for (const text of ["13/1/2015", "2015-00", "15", "June", "2015-6-3"]) {
      expect(readDayText(text), text).toBeNull();
    }
  });
});

describe("two people edit one heater", () => {
  const base = { ...GOOD, serial: "A", setpointF: "120", notes: "" };

  test("their change to a field that I left alone is taken over", () => {
    const result = mergeHeaterForms(base, { ...base, serial: "B" }, { ...base, setpointF: "125" });
    expect(result.merged).toEqual({ ...base, serial: "B", setpointF: "125" });
    expect(result.taken).toEqual(["serial"]);
    expect(result.clashes).toEqual([]);
  });

  test("a field that both changed differently is a clash, and mine stays until a person decides", () => {
    const result = mergeHeaterForms(base, { ...base, serial: "B" }, { ...base, serial: "C" });
    expect(result.clashes).toEqual(["serial"]);
    expect(result.merged.serial).toBe("C");
  });

  test("the same change by both is no clash", () => {
    const result = mergeHeaterForms(base, { ...base, serial: "B" }, { ...base, serial: " B " });
    expect([...result.taken, ...result.clashes]).toEqual([]);
  });

  test("with nothing changed by the other, mine is what stays", () => {
    fc.assert(
      fc.property(fc.constantFrom(...HEATER_FORM_FIELDS), fc.string(), (field, text) => {
        const mine = { ...base, [field]: text };
        expect(mergeHeaterForms(base, base, mine).merged).toEqual(mine);
      }),
    );
  });
});

describe("the form that retires a heater", () => {
  const schema = retirementFormSchema({ today, installedFrom: calendarDay("2015-06-03") });
  const good = { ...EMPTY_RETIREMENT_FORM, cause: "leak", endFrom: "2026-06-01", emergency: "yes" };
  const paths = (changes: object) => {
    const result = parseWith(schema, { ...good, ...changes });
    return result.ok ? [] : result.problems.map(({ path }) => path);
  };

  test("a filled form becomes an entry in whole cents", () => {
    expect(parseWith(schema, { ...good, cost: "$1,850.50" })).toEqual({
      ok: true,
      value: {
        cause: "leak",
        earliest: "2026-06-01",
        latest: "2026-06-01",
        emergency: true,
        costCents: 185_050,
        note: null,
      },
    });
  });

  test("a heater does not end before it was installed, nor after today", () => {
    expect(paths({ endFrom: "2015-06-02" })).toEqual(["endFrom"]);
    expect(paths({ endFrom: "2015-06-03" })).toEqual([]);
    expect(paths({ endFrom: "2026-07-01" })).toEqual(["endFrom"]);
  });

  test("a planned swap is no emergency", () => {
    expect(paths({ cause: "planned" })).toEqual(["emergency"]);
    expect(paths({ cause: "planned", emergency: "" })).toEqual([]);
  });

  test("cause, day and cost complain together", () => {
    expect([...paths({ cause: "", endFrom: "", cost: "much" })].sort()).toEqual([
      "cause",
      "cost",
      "endFrom",
    ]);
  });
});
