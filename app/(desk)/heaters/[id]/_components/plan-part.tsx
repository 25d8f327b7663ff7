import Link from "next/link";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatDay, formatMoney, formatShare } from "@/app/_lib/format";
import { formatBracket } from "@/app/(desk)/heaters/_lib/install-text";
import { RETIREMENT_CAUSE_LABELS } from "@/lib/core/heaters/vocabulary";
import type { HeaterPage } from "@/lib/services/heater-page";
import styles from "./heater.module.css";

/** What is planned for it, and what stood here before and after. */
export function PlanPart({ page }: { readonly page: HeaterPage }) {
  return (
    <div className="columns">
      <section className="section" aria-labelledby="plan">
        <h2 id="plan">Plan</h2>
        <PlanLineText page={page} />
      </section>
      <section className="section" aria-labelledby="chain">
        <h2 id="chain">In this place</h2>
        <ol className={styles.plain}>
          {page.chain.map((link) => (
            <li key={link.id}>
              {link.id === page.id ? (
                <strong>{link.tag}</strong>
              ) : (
                <Link href={`/heaters/${link.id}`}>{link.tag}</Link>
              )}{" "}
              <TechnologyMark technology={link.technology} />,{" "}
              {formatBracket(link.installEarliest, link.installLatest)}
              {link.endEarliest && link.endLatest && link.cause
                ? ` until ${formatBracket(link.endEarliest, link.endLatest)}: ${RETIREMENT_CAUSE_LABELS[link.cause].toLowerCase()}`
                : ", in service"}
            </li>
          ))}
        </ol>
      </section>
    </div>
  );
}

function PlanLineText({ page }: { readonly page: HeaterPage }) {
  const { planned, status } = page;
  if (status === "retired") return <p className="soft">A retired heater is not planned for.</p>;
  if (!planned) {
    return (
      <p className="soft">
        No finished plan has a line for it. <Link href="/plans">Plans</Link> are computed for all
        heaters in service.
      </p>
    );
  }
  const plan = <Link href={`/plans/${planned.runId}`}>{planned.scenarioName}</Link>;
  if (planned.period === null) {
    return (
      <p>
        {plan} leaves it until it fails
        {planned.failsBefore === null
          ? ""
          : `, which it does within the horizon with a chance of ${formatShare(planned.failsBefore, 0)}`}
        .
      </p>
    );
  }
  return (
    <p>
      {plan} replaces it in <strong>{planned.period}</strong>
      {planned.periodStart && ` (from ${formatDay(planned.periodStart)})`} with{" "}
      <strong>{planned.optionName ?? planned.optionCode}</strong> for{" "}
      {formatMoney(planned.capitalCents)}
      {planned.failsBefore === null
        ? ""
        : `; the chance that it fails before is ${formatShare(planned.failsBefore)}`}
      .
    </p>
  );
}
