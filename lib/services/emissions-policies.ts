import "server-only";
import { z } from "zod";
import { type PolicyRule, policyRuleSchema } from "@/lib/core/emissions/policies";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import {
  deletePolicy,
  insertPolicy,
  listPolicies,
  type PolicyRecord,
} from "@/lib/data/emissions-policies";
import { listAccountProperties } from "@/lib/data/emissions-record";
import { withSql } from "@/lib/data/tenant";
import { policyFormSchema } from "./emissions-forms";
import { mayDo } from "./permissions";
import { requireAction, type Viewer } from "./viewer";

export type PoliciesView = {
  readonly mayEdit: boolean;
  readonly policies: readonly PolicyRecord[];
  readonly properties: readonly { readonly id: string; readonly name: string }[];
};

/** The rules that properties must keep. */
export function readPolicies(viewer: Viewer): Promise<PoliciesView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => ({
    mayEdit: mayDo(viewer.role, "settings.edit"),
    policies: await listPolicies(client),
    properties: await listAccountProperties(client),
  }));
}

/** Adds a rule; the next account checks it along the plan. */
export async function addPolicy(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(policyFormSchema, input);
  if (!parsed.ok) return parsed;
  const form = parsed.value;
  const rule = parseWith(policyRuleSchema, ruleOf(form));
  if (!rule.ok) return rule;
  const policy = {
    name: form.name,
    propertyId: form.propertyId,
    rule: rule.value,
    source: form.source,
  };
  return withSql(viewer, async (client) => {
    const properties = await listAccountProperties(client);
    if (policy.propertyId !== null && !properties.some(({ id }) => id === policy.propertyId)) {
      return failure({ path: "propertyId", message: "Choose a property of the list." });
    }
    const id = await insertPolicy(client, viewer.organizationId, policy, viewer.userId);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "policy.add",
      entity: "PropertyPolicy",
      entityId: id,
      after: policy,
    });
    return success(null);
  });
}

function ruleOf(form: z.output<typeof policyFormSchema>): unknown {
  if (form.kind !== "limit") return { kind: form.kind, from: form.from };
  const { dollarsPerTonneOver } = form;
  return {
    kind: "limit",
    basis: form.basis,
    coverage: form.coverage,
    steps: form.steps,
    otherKgPerYear: form.otherKgPerYear ?? 0,
    centsPerTonneOver: dollarsPerTonneOver === null ? null : Math.round(dollarsPerTonneOver * 100),
  } satisfies PolicyRule;
}

export function removePolicy(viewer: Viewer, id: string): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    const before = z.uuid().safeParse(id).success ? await deletePolicy(client, id) : null;
    if (!before) return failure({ path: "", message: "This rule is no longer on record." });
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "policy.remove",
      entity: "PropertyPolicy",
      entityId: id,
      before,
    });
    return success(null);
  });
}
