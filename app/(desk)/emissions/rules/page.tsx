import type { Metadata } from "next";
import { ActButton } from "@/app/_components/act-button";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { dropPolicy } from "@/app/(desk)/emissions/record-actions";
import {
  LIMIT_BASIS_LABELS,
  POLICY_KIND_LABELS,
  type PolicyRule,
} from "@/lib/core/emissions/policies";
import { readPolicies } from "@/lib/services/emissions-policies";
import { PolicyForm } from "./policy-form";

export const metadata: Metadata = { title: "Rules" };

export default async function RulesPage() {
  const { mayEdit, policies, properties } = await readPolicies(await requireViewer());
  return (
    <>
      <section className="section">
        <h2>Rules that properties must keep</h2>
        <p>
          Building performance limits and low-emission appliance rules, as you enter them from the
          law. The next account checks each along the plan, or along today’s heaters where there is
          none, and names the years in which it is broken. What the law says is for your counsel to
          decide.
        </p>
        {policies.length === 0 ? (
          <p className="soft">None on record.</p>
        ) : (
          <LedgerFrame label="Rules">
            <table className="ledger">
              <thead>
                <tr>
                  <th scope="col">Rule</th>
                  <th scope="col">Kind</th>
                  <th scope="col">Property</th>
                  <th scope="col">Says</th>
                  <th scope="col">Source</th>
                  {mayEdit && <th scope="col">Take out</th>}
                </tr>
              </thead>
              <tbody>
                {policies.map((policy) => (
                  <tr key={policy.id}>
                    <th scope="row">{policy.name}</th>
                    <td>{POLICY_KIND_LABELS[policy.rule.kind]}</td>
                    <td>{policy.propertyName ?? "all"}</td>
                    <td>{sayRule(policy.rule)}</td>
                    <td>{policy.source}</td>
                    {mayEdit && (
                      <td>
                        <ActButton act={dropPolicy.bind(null, policy.id)} label="Take out" />
                      </td>
                    )}
                  </tr>
                ))}
              </tbody>
            </table>
          </LedgerFrame>
        )}
      </section>
      {mayEdit && (
        <section className="section">
          <h2>Add a rule</h2>
          <PolicyForm properties={properties.map(({ id, name }) => ({ id, name }))} />
        </section>
      )}
    </>
  );
}

function sayRule(rule: PolicyRule): string {
  if (rule.kind !== "limit") return `from ${formatDay(rule.from)} on`;
  const steps = rule.steps.map(
    ({ fromYear, limitKg }) => `${fromYear}: ${formatNumber(limitKg, limitKg < 10 ? 2 : 0)}`,
  );
  const price =
    rule.centsPerTonneOver === null
      ? ""
      : `; $${formatNumber(rule.centsPerTonneOver / 100)} a tonne above`;
  return `${steps.join(", ")} ${LIMIT_BASIS_LABELS[rule.basis]}${price}`;
}
