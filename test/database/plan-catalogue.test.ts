import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { DEFAULT_OPTIONS } from "@/lib/core/planning/options";
import { ensureOptions, listOptions } from "@/lib/data/options";
import { withSql } from "@/lib/data/tenant";
import { readCatalogue, saveOption } from "@/lib/services/option-catalogue";
import { formOfOption, type OptionFormValues } from "@/lib/services/option-form";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

let database: TestDatabase;
let owner: Viewer;

beforeAll(async () => {
  database = await openTestDatabase();
  owner = await anOrganization(database);
});

afterAll(async () => {
  await database?.close();
});

async function theForm(code: string): Promise<OptionFormValues> {
  const option = (await readCatalogue(owner)).options.find((each) => each.code === code);
  if (!option) throw new Error("no option");
  return formOfOption(option.name, option.isActive, option.terms);
}

describe("the options catalogue", () => {
  test("is the starting one on first use, once, whoever comes at the same time", async () => {
    const fresh = await anOrganization(database, { name: "Fresh" });
    await Promise.all(
      Array.from({ length: 4 }, () =>
        withSql(fresh, (client) => ensureOptions(client, fresh.organizationId)),
      ),
    );

    const options = await withSql(fresh, listOptions);
    expect(options.map(({ code, name, terms }) => ({ code, name, terms }))).toEqual(
      DEFAULT_OPTIONS.map(({ code, name, terms }) => ({ code, name, terms })),
    );
  });

  test("of another organisation is untouched by a change", async () => {
    const other = await anOrganization(database, { name: "Other" });
    await readCatalogue(other);
    const form = await theForm("gas-40");
    const permit = form.costs.permit;
    if (!permit) throw new Error("no permit");

    const saved = await saveOption(owner, "gas-40", {
      ...form,
      costs: { ...form.costs, permit: { ...permit, likely: "220" } },
    });

    expect(saved).toEqual({ ok: true, value: null });
    const own = (await readCatalogue(owner)).options.find(({ code }) => code === "gas-40");
    const others = (await readCatalogue(other)).options.find(({ code }) => code === "gas-40");
    expect(own?.terms.costs.permit?.likelyCents).toBe(22_000);
    expect(others?.terms.costs.permit?.likelyCents).toBe(18_000);
  });

  test("marks a changed figure as the organisation's own, and leaves the others assumed", async () => {
    const form = await theForm("hp240-50");
    const equipment = form.costs.equipment;
    if (!equipment) throw new Error("no equipment");

    await saveOption(owner, "hp240-50", {
      ...form,
      costs: { ...form.costs, equipment: { ...equipment, likely: "$2,050" } },
    });

    const terms = (await readCatalogue(owner)).options.find(
      ({ code }) => code === "hp240-50",
    )?.terms;
    expect(terms?.costs.equipment).toEqual({
      lowCents: 150_000,
      likelyCents: 205_000,
      highCents: 250_000,
      evidence: "entered",
      source: "our own figure",
    });
    expect(terms?.costs.labour?.evidence).toBe("assumed");
  });

  test("saved as it was read is as it was", async () => {
    const before = (await readCatalogue(owner)).options.find(({ code }) => code === "hp240-65");

    await saveOption(owner, "hp240-65", await theForm("hp240-65"));

    const after = (await readCatalogue(owner)).options.find(({ code }) => code === "hp240-65");
    expect(after).toEqual(before);
  });

  test("refuses figures that cannot be, naming each field", async () => {
    const form = await theForm("hp240-80");
    const labour = form.costs.labour;
    if (!labour) throw new Error("no labour");

    const refused = await saveOption(owner, "hp240-80", {
      ...form,
      name: " ",
      costs: { ...form.costs, labour: { ...labour, low: "-1", likely: "abc" } },
      expectedLifeYears: { ...form.expectedLifeYears, value: "0" },
      validFrom: "2027-06-01",
      validTo: "2027-01-01",
    });
    const named = await saveOption(owner, "hp240-80", { ...form, name: " " });

    expect(refused.ok).toBe(false);
    expect(named.ok ? [] : named.problems).toEqual([
      { path: "name", message: "Give the option a name." },
    ]);
    const unnamed = await saveOption(owner, "hp240-80", {
      ...form,
      costs: { ...form.costs, labour: { ...labour, low: "-1", likely: "abc" } },
      expectedLifeYears: { ...form.expectedLifeYears, value: "0" },
      validFrom: "2027-06-01",
      validTo: "2027-01-01",
    });
    expect(unnamed.ok ? [] : unnamed.problems).toEqual([
      { path: "costs.labour.low", message: "The low cost cannot be negative." },
      { path: "costs.labour.likely", message: '"abc" is not a number.' },
      { path: "expectedLifeYears.value", message: "The expected life must be above 0." },
      { path: "validTo", message: "The last day is before the first day." },
    ]);
  });

  test("is not a viewer's to change", async () => {
    const form = await theForm("gas-40");
    const looker: Viewer = { ...owner, role: "viewer" };

    expect((await readCatalogue(looker)).mayEdit).toBe(false);
    expect(() => saveOption(looker, "gas-40", form)).toThrow(/not-allowed/);
  });
});
