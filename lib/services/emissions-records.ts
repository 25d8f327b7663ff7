import "server-only";
import { z } from "zod";
import { emissionsTermsSchema } from "@/lib/core/emissions/emissions-terms";
import { type FactorRow, PUBLISHED_FACTORS } from "@/lib/core/emissions/factors";
import { qualityProblems } from "@/lib/core/emissions/market-instruments";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import {
  deleteInstrument,
  type InstrumentRecord,
  insertInstrument,
  instrumentOf,
  listInstruments,
} from "@/lib/data/emissions-instruments";
import { listAccountProperties } from "@/lib/data/emissions-record";
import {
  type EmissionsTermsRecord,
  readEmissionsTerms,
  writeEmissionsTerms,
} from "@/lib/data/emissions-terms";
import {
  insertFactor,
  listOwnFactors,
  lockFactors,
  type NewFactor,
  type OwnFactor,
  setFactorWithdrawn,
} from "@/lib/data/factors";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { adoptRun } from "./emissions-adoption";
import { factorFormSchema, instrumentFormSchema, termsFormSchema } from "./emissions-forms";
import { mayDo } from "./permissions";
import { requireAction, type Viewer } from "./viewer";

/** A contract with what is against using it in its own years. */
export type InstrumentLine = InstrumentRecord & { readonly problems: readonly string[] };

export type ContractsView = {
  readonly mayEdit: boolean;
  readonly market: string;
  readonly instruments: readonly InstrumentLine[];
  readonly properties: readonly { readonly id: string; readonly name: string }[];
};

/** Certificates, contracts and suppliers' rates on record, each held against the quality criteria. */
export function readContracts(viewer: Viewer): Promise<ContractsView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const { terms } = await readEmissionsTerms(client);
    const instruments = await listInstruments(client);
    return {
      mayEdit: mayDo(viewer.role, "settings.edit"),
      market: terms.market,
      instruments: instruments.map((record) => ({
        ...record,
        problems: qualityProblems(instrumentOf(record), {
          year: record.lastYear,
          market: terms.market,
        }),
      })),
      properties: await listAccountProperties(client),
    };
  });
}

export async function addContract(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(instrumentFormSchema, input);
  if (!parsed.ok) return parsed;
  const { propertyId } = parsed.value;
  return withSql(viewer, async (client) => {
    const properties = await listAccountProperties(client);
    if (propertyId !== null && !properties.some(({ id }) => id === propertyId)) {
      return failure({ path: "propertyId", message: "Choose a property of the list." });
    }
    const id = await insertInstrument(client, viewer.organizationId, parsed.value, viewer.userId);
    await log(client, viewer, "contract.add", "EnergyInstrument", id, { after: parsed.value });
    return success(null);
  });
}

/** Takes a contract out of the accounts to come; kept accounts keep what they used. */
export function removeContract(viewer: Viewer, id: string): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    const before = isId(id) ? await deleteInstrument(client, id) : null;
    if (!before) return failure({ path: "", message: "This contract is no longer on record." });
    await log(client, viewer, "contract.remove", "EnergyInstrument", id, { before });
    return success(null);
  });
}

export type FactorsView = {
  readonly mayEdit: boolean;
  readonly own: readonly OwnFactor[];
  readonly published: readonly FactorRow[];
};

/** The organisation's own factors with every version, beside the published ones. */
export function readFactors(viewer: Viewer): Promise<FactorsView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => ({
    mayEdit: mayDo(viewer.role, "settings.edit"),
    own: await listOwnFactors(client),
    published: PUBLISHED_FACTORS,
  }));
}

/** Adds the next version of an own factor: of a grid region or a fuel all three gases at once. */
export async function addFactor(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(factorFormSchema, input);
  if (!parsed.ok) return parsed;
  const { activity, region, vintage, source, co2e, ...gases } = parsed.value;
  const isResidual = activity === "residual-mix";
  const isGrid = activity === "grid-electricity";
  const common = { activity, vintage, source, region: isGrid || isResidual ? region : null };
  const rows: NewFactor[] = isResidual
    ? [{ ...common, gas: "co2e", value: co2e ?? 0, unit: "kg/kWh" }]
    : (["co2", "ch4", "n2o"] as const).map((gas) => ({
        ...common,
        gas,
        value: gases[gas] ?? 0,
        unit: isGrid ? "lb/MWh" : "kg/mmBtu",
      }));
  return withSql(viewer, async (client) => {
    await lockFactors(client, viewer.organizationId);
    for (const row of rows) {
      const { id } = await insertFactor(client, viewer.organizationId, row, viewer.userId);
      await log(client, viewer, "factor.add", "EmissionFactor", id, { after: row });
    }
    return success(null);
  });
}

/** Withdraws a version of an own factor, or takes it back into force. Nothing is ever deleted. */
export function withdrawFactor(
  viewer: Viewer,
  id: string,
  isWithdrawn: boolean,
): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    const factor = isId(id) ? await setFactorWithdrawn(client, id, isWithdrawn) : null;
    if (!factor) return failure({ path: "", message: "This factor is not on record." });
    const action = isWithdrawn ? "factor.withdraw" : "factor.restore";
    await log(client, viewer, action, "EmissionFactor", id, { after: factor });
    return success(null);
  });
}

export type TermsView = EmissionsTermsRecord & { readonly mayEdit: boolean };

/** The rules of the account. */
export function readTerms(viewer: Viewer): Promise<TermsView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => ({
    ...(await readEmissionsTerms(client)),
    mayEdit: mayDo(viewer.role, "settings.edit"),
  }));
}

/** Changes the rules for the accounts to come; kept accounts keep theirs. */
export async function saveTerms(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(termsFormSchema, input);
  if (!parsed.ok) return parsed;
  const form = parsed.value;
  return withSql(viewer, async (client) => {
    const { terms: before } = await readEmissionsTerms(client);
    const checked = parseWith(emissionsTermsSchema, {
      ...before,
      gwpSet: form.gwpSet,
      coverage: form.coverage,
      market: form.market,
      baseYear: form.baseYear,
      recalculationThreshold: form.thresholdPercent / 100,
      changes: form.changes,
      // Another base year or another coverage is another figure: it is adopted anew.
      adopted:
        form.baseYear === before.baseYear && form.coverage === before.coverage
          ? before.adopted
          : null,
      target: form.target,
      upstreamLeakShare: form.upstreamPercent === null ? null : form.upstreamPercent / 100,
      refrigerant: {
        annualLeakShare: form.leakPercent / 100,
        endOfLifeLossShare: form.endOfLifePercent / 100,
      },
      gridOutlook: { source: form.outlookSource ?? "", points: form.outlook },
    });
    if (!checked.ok) return checked;
    const isWritten = await writeEmissionsTerms(client, viewer.organizationId, {
      terms: checked.value,
      version: form.version,
      updatedBy: viewer.userId,
    });
    if (!isWritten) {
      return failure({
        path: "",
        message:
          "Somebody has changed this since you opened it. Load the page again; nothing was saved.",
      });
    }
    await log(client, viewer, "emissions.rules", "EmissionsTerms", null, {
      before,
      after: checked.value,
    });
    return success(null);
  });
}

/** Adopts a kept account's base year; see {@link adoptRun}. */
export function adoptBaseYear(
  viewer: Viewer,
  runId: string,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    if (!isId(runId)) return failure({ path: "", message: "There is no such account." });
    const adopted = await adoptRun(client, viewer.organizationId, runId, {
      today,
      updatedBy: viewer.userId,
    });
    if (!adopted.ok) return adopted;
    await log(client, viewer, "emissions.adopt", "EmissionsTerms", null, adopted.value);
    return success(null);
  });
}

function log(
  client: TenantClient,
  viewer: Viewer,
  action: string,
  entity: string,
  entityId: string | null,
  change: { readonly before?: unknown; readonly after?: unknown },
): Promise<void> {
  return writeAudit(client, viewer.organizationId, {
    userId: viewer.userId,
    action,
    entity,
    entityId,
    ...change,
  });
}

function isId(text: string): boolean {
  return z.uuid().safeParse(text).success;
}
