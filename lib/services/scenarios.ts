import "server-only";
import { z } from "zod";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { writeAudit } from "@/lib/data/audit";
import { type CatalogueOption, ensureOptions, listOptions } from "@/lib/data/options";
import { countHeatersInService, listRuns, type RunRecord } from "@/lib/data/plans";
import {
  findScenario,
  insertScenario,
  listScenarios,
  type ScenarioRecord,
  updateScenario,
} from "@/lib/data/scenarios";
import { withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import type { PlanHeadline } from "./plan-summary";
import {
  type FormOption,
  formOfTerms,
  readScenarioForm,
  type ScenarioFormValues,
  startingForm,
} from "./scenario-form";
import { requireAction, type Viewer } from "./viewer";

const isId = (text: string) => z.uuid().safeParse(text).success;

export type BoardRun = Omit<RunRecord, "scenarioName"> & { readonly headline: PlanHeadline | null };

export type ScenarioBoard = {
  readonly mayEdit: boolean;
  readonly heatersInService: number;
  readonly scenarios: readonly (Omit<ScenarioRecord, "terms"> & {
    readonly firstYear: string;
    readonly lastYear: string;
    readonly firstYearBudgetCents: number | null;
    /** The latest first. */
    readonly runs: readonly BoardRun[];
  })[];
};

/** Scenarios side by side with their runs. */
export function readScenarioBoard(viewer: Viewer): Promise<ScenarioBoard> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const scenarios = await listScenarios(client);
    const runs = await listRuns(client);
    return {
      mayEdit: mayDo(viewer.role, "plan.edit"),
      heatersInService: await countHeatersInService(client),
      scenarios: scenarios.map(({ terms, ...scenario }) => ({
        ...scenario,
        firstYear: terms.periods[0]?.budgetYear ?? "",
        lastYear: terms.periods[terms.periods.length - 1]?.budgetYear ?? "",
        firstYearBudgetCents: terms.budgets[terms.periods[0]?.budgetYear ?? ""]?.cents ?? null,
        runs: runs
          .filter((run) => run.scenarioId === scenario.id)
          .map((run) => ({ ...run, headline: run.headline as PlanHeadline | null })),
      })),
    };
  });
}

export type ScenarioForm = {
  readonly values: ScenarioFormValues;
  readonly catalogue: readonly CatalogueOption[];
  /** Null for a scenario that does not exist yet. */
  readonly scenario: {
    readonly id: string;
    readonly version: number;
    readonly runCount: number;
  } | null;
};

/** What the form of a new scenario (`id` null) or of an existing one begins with. */
export function openScenarioForm(viewer: Viewer, id: string | null): Promise<ScenarioForm | null> {
  requireAction(viewer, "plan.edit");
  return withSql(viewer, async (client) => {
    await ensureOptions(client, viewer.organizationId);
    const catalogue = await listOptions(client);
    if (id === null) {
      const heaters = await countHeatersInService(client);
      const existing = (await listScenarios(client)).length;
      const values = startingForm(formOptions(catalogue), heaters);
      const name = existing === 0 ? values.name : `Plan ${existing + 1}`;
      return { values: { ...values, name }, catalogue, scenario: null };
    }
    const scenario = isId(id) ? await findScenario(client, id) : null;
    if (!scenario) return null;
    return {
      values: formOfTerms(scenario.name, scenario.terms),
      catalogue,
      scenario: { id: scenario.id, version: scenario.version, runCount: scenario.runCount },
    };
  });
}

/** Options that a new scenario may plan with. */
function formOptions(catalogue: readonly CatalogueOption[]): readonly FormOption[] {
  return catalogue
    .filter(({ isActive }) => isActive)
    .map(({ code, name, terms }) => ({ code, name, technology: terms.technology }));
}

/**
 * Stores a scenario. One that has runs is kept as it was, so that its runs can be explained; the
 * change goes into a copy.
 */
export function saveScenario(
  viewer: Viewer,
  at: { readonly id: string; readonly version: number } | null,
  values: ScenarioFormValues,
  today: CalendarDay,
): Promise<Outcome<{ readonly id: string; readonly isCopy: boolean }>> {
  requireAction(viewer, "plan.edit");
  return withSql(viewer, async (client) => {
    await ensureOptions(client, viewer.organizationId);
    const catalogue = formOptions(await listOptions(client));
    const form = readScenarioForm(values, { today, catalogue });
    if (!form.ok) return form;

    const before = at && isId(at.id) ? await findScenario(client, at.id) : null;
    if (at && !before) {
      return failure({ path: "", message: "This scenario is no longer there. Make a new one." });
    }
    if (before && before.runCount === 0) {
      const isUpdated = await updateScenario(client, before.id, at?.version ?? 0, form.value);
      if (!isUpdated) {
        return failure({
          path: "",
          message:
            "Somebody else changed this scenario meanwhile. Open it again and repeat the change.",
        });
      }
      await writeAudit(client, viewer.organizationId, {
        userId: viewer.userId,
        action: "scenario.edit",
        entity: "Scenario",
        entityId: before.id,
        before: { name: before.name, terms: before.terms },
        after: form.value,
      });
      return success({ id: before.id, isCopy: false });
    }

    const name =
      before && before.name === form.value.name ? `${before.name}, changed` : form.value.name;
    const id = await insertScenario(client, viewer.organizationId, {
      name,
      terms: form.value.terms,
      createdBy: viewer.userId,
    });
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: before ? "scenario.copy" : "scenario.create",
      entity: "Scenario",
      entityId: id,
      after: { name, terms: form.value.terms, copiedFrom: before?.id ?? null },
    });
    return success({ id, isCopy: before !== null });
  });
}
