import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { listOptions } from "@/lib/data/options";
import { withSql } from "@/lib/data/tenant";
import { addOption, readCatalogue, saveOption } from "@/lib/services/option-catalogue";
import { formOfOption, type OptionFormValues } from "@/lib/services/option-form";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

let database: TestDatabase;
let owner: Viewer;

beforeAll(async () => {
  database = await openTestDatabase();
  owner = await anOrganization(database);
  await readCatalogue(owner);
});

afterAll(async () => {
  await database?.close();
});

async function theOption(code: string) {
  const option = (await withSql(owner, listOptions)).find((each) => each.code === code);
  if (!option) throw new Error(`no option ${code}`);
  return option;
}

async function theForm(code: string): Promise<OptionFormValues> {
  const { name, isActive, terms } = await theOption(code);
  return formOfOption(name, isActive, terms);
}

const INCENTIVE: OptionFormValues["incentives"][number] = {
  programme: "An invented programme",
  dollars: "1000",
  maximumSharePercent: "50",
  validFrom: "2027-01-01",
  validTo: "2028-12-31",
  programmeCapDollars: "$20,000",
  source: "invented",
};

describe("what an option of the catalogue may say", () => {
  test("saved as it was read is as it was, the shared plant too", async () => {
    for (const { code } of (await readCatalogue(owner)).options) {
      const before = await theOption(code);
      expect(await saveOption(owner, code, await theForm(code))).toEqual({ ok: true, value: null });
      expect(await theOption(code)).toEqual(before);
    }
  });

  test("includes a programme's dates and cap, rules by date, a rating and its own change of cost", async () => {
    const form = await theForm("hp240-50");
    const saved = await saveOption(owner, "hp240-50", {
      ...form,
      incentives: [INCENTIVE],
      policyDates: [{ notFrom: "2031-01-01", rule: "An invented rule", source: "" }],
      firstHourGal: { value: "67", evidence: "published", source: "label" },
      escalationPercent: { value: "−1.5", evidence: "assumed", source: "" },
    });
    expect(saved).toEqual({ ok: true, value: null });
    const { terms } = await theOption("hp240-50");
    expect(terms.incentives[0]).toMatchObject({
      validFrom: "2027-01-01",
      validTo: "2028-12-31",
      programmeCapCents: 2_000_000,
      maximumShare: 0.5,
    });
    expect(terms.policyDates).toEqual([
      { notFrom: "2031-01-01", rule: "An invented rule", source: "" },
    ]);
    expect(terms.firstHourGal).toEqual({ value: 67, evidence: "published", source: "label" });
    expect(terms.escalationPerYear?.value).toBeCloseTo(-0.015, 10);
    // Read again and saved, nothing moves.
    await saveOption(owner, "hp240-50", await theForm("hp240-50"));
    expect((await theOption("hp240-50")).terms).toEqual(terms);
  });

  test("includes its storage, circuits, refrigerant and what its place must offer", async () => {
    const form = await theForm("hp240-65");
    const saved = await saveOption(owner, "hp240-65", {
      ...form,
      volumeGal: "66",
      circuitLoad: "0.5",
      refrigerantType: "R-290",
      refrigerantKg: { ...form.refrigerantKg, value: "0.15" },
      requiredReadiness: ["noise", "condensate-route"],
    });
    expect(saved).toEqual({ ok: true, value: null });
    const { terms } = await theOption("hp240-65");
    expect(terms).toMatchObject({
      volumeGal: 66,
      circuitLoad: 0.5,
      refrigerant: { type: "R-290", chargeKg: { value: 0.15, evidence: "entered" } },
    });
    expect([...terms.requiredReadiness].sort()).toEqual(["condensate-route", "noise"]);
    const refused = await saveOption(owner, "hp240-65", {
      ...form,
      circuitLoad: "",
      refrigerantKg: { ...form.refrigerantKg, value: "" },
    });
    expect(refused.ok ? [] : refused.problems.map(({ path }) => path).sort()).toEqual([
      "circuitLoad",
      "refrigerantKg.value",
    ]);
  });

  test("may gain a cost part and lose one, at the plant and a home", async () => {
    const form = await theForm("hp-central");
    if (!form.perHome) throw new Error("no plant");
    const { noiseWork: _, ...costs } = form.costs;
    const part = {
      low: "100",
      likely: "200",
      high: "300",
      evidence: "entered" as const,
      source: "an offer",
    };
    await saveOption(owner, "hp-central", {
      ...form,
      costs: { ...costs, straps: part },
      perHome: { ...form.perHome, costs: { ...form.perHome.costs, permit: part }, volumeGal: "30" },
    });
    const { terms } = await theOption("hp-central");
    expect(terms.costs.noiseWork).toBeUndefined();
    expect(terms.costs.straps).toMatchObject({ likelyCents: 20_000, evidence: "entered" });
    expect(terms.perHome?.costs.permit?.highCents).toBe(30_000);
    expect(terms.perHome?.volumeGal).toBe(30);
  });

  test.each([
    [{ incentives: [{ ...INCENTIVE, validFrom: "2029-01-01" }] }, "incentives[0].validTo"],
    [
      { incentives: [{ ...INCENTIVE, programmeCapDollars: "lots" }] },
      "incentives[0].programmeCapDollars",
    ],
    [{ policyDates: [{ notFrom: "", rule: " ", source: "" }] }, "policyDates[0].notFrom"],
    [{ firstHourGal: { value: "0", evidence: "assumed", source: "" } }, "firstHourGal.value"],
    [
      { escalationPercent: { value: "200", evidence: "assumed", source: "" } },
      "escalationPercent.value",
    ],
  ])("is refused with where and what: %j", async (changes, path) => {
    const refused = await saveOption(owner, "hp240-80", {
      ...(await theForm("hp240-80")),
      ...changes,
    });
    expect(refused.ok ? [] : refused.problems.map((problem) => problem.path)).toContain(path);
  });
});

describe("an option that is added", () => {
  test("is a copy under a code of its own, or one of the starting catalogue that is missing", async () => {
    expect(await addOption(owner, "gas-40")).toEqual({ ok: true, value: { code: "gas-40-2" } });
    expect(await addOption(owner, "gas-40")).toEqual({ ok: true, value: { code: "gas-40-3" } });
    expect((await theOption("gas-40-2")).terms).toEqual((await theOption("gas-40")).terms);

    await database.owner.query(
      `DELETE FROM "OptionType" WHERE code = 'hp-split' AND "organizationId" = $1`,
      [owner.organizationId],
    );
    expect((await readCatalogue(owner)).startingOptions.map(({ code }) => code)).toEqual([
      "hp-split",
    ]);
    expect(await addOption(owner, "hp-split")).toEqual({ ok: true, value: { code: "hp-split" } });
    expect((await readCatalogue(owner)).startingOptions).toEqual([]);
  });

  test("starts from something that exists, by somebody who may", async () => {
    expect((await addOption(owner, "unheard-of")).ok).toBe(false);
    expect(() => addOption({ ...owner, role: "viewer" }, "gas-40")).toThrow(/not-allowed/);
  });
});
