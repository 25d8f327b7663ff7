import Link from "next/link";
import { Caution } from "@/app/_components/caution";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatDay, formatMoney } from "@/app/_lib/format";
import { ELECTRICIAN_DECIDES } from "@/lib/core/heaters/electrical";
import { isCombustion, PLACE_LABELS } from "@/lib/core/heaters/vocabulary";
import type { BuildingCards, EmergencyCard } from "@/lib/services/emergency-card";
import { DUTY_LABELS } from "@/lib/services/emergency-form";
import styles from "./cards.module.css";

/** The people to call, once a sheet. */
export function People({ contacts }: Pick<BuildingCards, "contacts">) {
  if (contacts.length === 0) {
    return (
      <p className="notice notice--attention">
        No telephone number is on record. <Link href="/sites/cards/terms">Enter whom to call</Link>{" "}
        before this hangs on a wall.
      </p>
    );
  }
  return (
    <LedgerFrame label="People to call">
      <table className={`ledger ${styles.people}`}>
        <caption>People to call</caption>
        <thead>
          <tr>
            <th scope="col">For</th>
            <th scope="col">Who</th>
            <th scope="col">Telephone</th>
          </tr>
        </thead>
        <tbody>
          {contacts.map(({ duty, name, phone }) => (
            <tr key={`${duty} ${name} ${phone}`}>
              <th scope="row">{DUTY_LABELS[duty]}</th>
              <td>{name}</td>
              <td>
                <a href={`tel:${phone.replace(/[^+0-9]/g, "")}`}>{phone}</a>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

/** What everybody does first, whatever failed. */
export function FirstSteps() {
  return (
    <ol className={styles.steps}>
      <li>
        Gas smelt, an alarm for carbon monoxide, or water near wiring: everybody out, call from
        outside, touch nothing.
      </li>
      <li>
        A leak: close the cold-water valve at the heater, or the home’s; switch off its breaker or
        turn its gas control to off. Water that runs out is hot.
      </li>
      <li>Tell the homes that are without hot water, and when it will be back.</li>
      <li>Call from the list below. Then have the option of the heater’s card put in.</li>
      <li>Note the failure, its day and its cause at the heater: the risk model learns from it.</li>
    </ol>
  );
}

/** One heater's card. */
export function Card({
  card,
  isLinked = true,
}: {
  readonly card: EmergencyCard;
  readonly isLinked?: boolean;
}) {
  const { heater, choice, answers } = card;
  const { verdict, isPreApproved, passedOver } = choice;
  const name = heater.home.label ? `Home ${heater.home.label}` : heater.tag;
  const circuits = [
    ["240 V", answers["circuit-240v"]],
    ["120 V", answers["circuit-120v"]],
  ] as const;
  const gaps = verdict
    ? verdict.items.filter(({ answer, from }) => answer !== "yes" || from === "inferred")
    : [];
  return (
    <article className={styles.card} aria-label={name}>
      <div className={styles.head}>
        <span className={styles.home}>
          {isLinked ? <Link href={`/sites/heaters/${heater.id}/card`}>{name}</Link> : name}
        </span>
        <span className="small">
          {heater.tag} · <TechnologyMark technology={heater.technology} /> ·{" "}
          {PLACE_LABELS[heater.place].toLowerCase()}
          {heater.home.homesServed > 1 ? ` · serves ${heater.home.homesServed} homes` : ""}
        </span>
      </div>
      {verdict === null ? (
        <p className="notice notice--attention">
          Nothing that is listed for failures can go in here. Decide it now, not on the day.
        </p>
      ) : (
        <div>
          <div className="small soft">
            {isPreApproved ? "Approved beforehand" : "Nothing approved is ready: instead"}
          </div>
          <div className={styles.install}>{verdict.name}</div>
          <div className="small">
            {formatMoney(verdict.cost.totalCents)}
            {verdict.sizing.verdict === "short" && (
              <>
                {" · "}
                <span className="mark mark--attention">too small for the busiest hour</span>
              </>
            )}
            {verdict.fitsService === false && (
              <>
                {" · "}
                <span className="mark mark--attention">the service needs an upgrade first</span>
              </>
            )}
          </div>
        </div>
      )}
      <dl className="facts small">
        <dt>Circuits</dt>
        <dd>
          {circuits
            .map(
              ([volts, { answer, from }]) =>
                `${volts} ${answer === "yes" ? "there" : answer === "no" ? "none" : "not known"}${from === "inferred" ? " (inferred)" : ""}`,
            )
            .join("; ")}
        </dd>
        {gaps.length > 0 && (
          <>
            <dt>To see to</dt>
            <dd>
              {gaps
                .map(
                  ({ item, answer, from }) =>
                    `${GAP_WORDS[item]}${answer === "unknown" ? " (not known)" : from === "inferred" ? " (inferred)" : ""}`,
                )
                .join(", ")}
            </dd>
          </>
        )}
        {isCombustion(heater.technology) && (
          <>
            <dt>Gas and vent</dt>
            <dd>
              Capped by a licensed gas fitter.
              {answers["common-vent"].answer === "yes"
                ? " Other appliances stay on its vent: tested for spillage before anybody leaves."
                : answers["common-vent"].answer === "unknown"
                  ? " Look whether others use its vent."
                  : ""}
            </dd>
          </>
        )}
        {passedOver.length > 0 && (
          <>
            <dt>Approved, not ready</dt>
            <dd>{passedOver.map(({ name: option, why }) => `${option}: ${why}`).join(" ")}</dd>
          </>
        )}
      </dl>
    </article>
  );
}

const GAP_WORDS = {
  "circuit-240v": "240 V circuit",
  "circuit-120v": "120 V circuit",
  "panel-space": "space in the panel",
  "air-volume": "room air or ducts",
  "condensate-route": "condensate line or pump",
  clearance: "clearance",
  "drain-pan": "drain pan",
  "leak-shutoff": "leak shut-off",
  "relief-discharge": "relief pipe",
  "seismic-straps": "straps",
  "vent-capoff": "vent and gas cap-off",
  structure: "floor",
  noise: "noise",
} as const;

/** What the sheet rests on, and the cautions once. */
export function CardsFoot({
  terms,
  cautions,
}: Pick<BuildingCards, "terms"> & { readonly cautions: readonly string[] }) {
  return (
    <>
      <p className="small soft">
        {terms.approved
          ? `Options approved by ${terms.approved.by} on ${formatDay(terms.approved.on)}. `
          : "Nobody has approved options for failures yet: these are the starting lists. "}
        Costs are today’s, from the options catalogue. {ELECTRICIAN_DECIDES}
      </p>
      <div className={styles.cautions}>
        {cautions.map((words) => (
          <Caution key={words}>{words}</Caution>
        ))}
      </div>
    </>
  );
}
