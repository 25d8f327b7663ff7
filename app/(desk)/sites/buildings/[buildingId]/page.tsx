import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { ActButton } from "@/app/_components/act-button";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatMoney, formatNumber } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { AnswerSign, SignKey } from "@/app/(desk)/sites/_components/answer-sign";
import { OptionChoice } from "@/app/(desk)/sites/_components/site-filter";
import styles from "@/app/(desk)/sites/_components/sites.module.css";
import { VerdictMark } from "@/app/(desk)/sites/_components/verdict-mark";
import { one, type Search } from "@/app/(desk)/sites/_lib/search";
import { undoCarrying } from "@/app/(desk)/sites/actions";
import { SURVEY_ITEMS, SURVEY_LABELS, surveyItemsOf } from "@/lib/core/heaters/readiness";
import { ServiceError } from "@/lib/services/service-error";
import { type BuildingSurvey, readBuildingSurvey } from "@/lib/services/survey";
import { CopyForm } from "./copy-form";

export const metadata: Metadata = { title: "Survey of a building" };

export default async function BuildingSurveyPage({
  params,
  searchParams,
}: {
  readonly params: Promise<{ readonly buildingId: string }>;
  readonly searchParams: Promise<Search>;
}) {
  const { buildingId } = await params;
  const search = await searchParams;
  const survey = await readBuildingSurvey(
    await requireViewer(),
    buildingId,
    {
      optionCode: one(search, "option"),
      copyFromId: one(search, "copy"),
      sameRiser: one(search, "riser") === "same",
    },
    today(),
  ).catch((error) => {
    if (error instanceof ServiceError && error.code === "not-found") notFound();
    throw error;
  });
  const { building, option, lines, mayEdit } = survey;
  const seen = lines.filter(({ progress }) => progress.isSeen).length;
  const unseenCents = lines.reduce(
    (sum, { verdict }) => sum + (verdict.state === "not-possible" ? 0 : verdict.cost.unseenCents),
    0,
  );
  const unknown = lines.reduce((sum, { progress }) => sum + progress.unknown, 0);
  return (
    <>
      <PageHeading
        title={`${building.propertyName}, ${building.name}`}
        question={`${seen} of ${lines.length} places seen; ${formatNumber(unknown)} answers not known, ${formatMoney(unseenCents)} expected behind them for ${option.name}.`}
      >
        <Link href={`/buildings/${building.id}`}>As it stands</Link>
        <Link href={`/sites/buildings/${building.id}/headroom`}>Electrical headroom</Link>
        <Link href={`/sites/buildings/${building.id}/plant`}>Central plant</Link>
        <Link href={`/sites/buildings/${building.id}/cards`}>Emergency cards</Link>
        <Link href={`/sites?property=${building.propertyId}`}>The property</Link>
      </PageHeading>
      {lines.length === 0 ? (
        <div className="empty">
          <p>No heater is in service in this building.</p>
        </div>
      ) : (
        <>
          <form className={`filter ${styles.screenOnly}`} method="get" aria-label="Option">
            <OptionChoice options={survey.options} optionCode={option.code} />
            <button className="button" type="submit">
              Show
            </button>
          </form>
          <Matrix survey={survey} />
          <SignKey />
          {mayEdit && <CopySection survey={survey} />}
          <Inferences survey={survey} />
        </>
      )}
    </>
  );
}

function Matrix({ survey: { lines, mayEdit } }: { readonly survey: BuildingSurvey }) {
  return (
    <LedgerFrame label="Survey by heater">
      <table className={`ledger ${styles.matrix}`}>
        <thead>
          <tr>
            <th scope="col">Home</th>
            <th scope="col">Heater</th>
            <th scope="col">State</th>
            <th scope="col" className="number">
              Work
            </th>
            {SURVEY_ITEMS.map((item) => (
              <th key={item} scope="col" className={styles.cell}>
                <span className={styles.turned}>{SURVEY_LABELS[item]}</span>
              </th>
            ))}
            {mayEdit && (
              <th scope="col" className={styles.screenOnly}>
                Do
              </th>
            )}
          </tr>
        </thead>
        <tbody>
          {lines.map(({ heater, answers, verdict }) => {
            const asked = new Set(surveyItemsOf(heater.technology));
            const name = heater.home.label ?? heater.tag;
            return (
              <tr key={heater.id}>
                <th scope="row">
                  <Link href={`/sites/heaters/${heater.id}`}>{name}</Link>
                  {heater.home.bedrooms !== null && (
                    <div className="small soft">
                      {heater.home.bedrooms} bed, {heater.home.bathrooms ?? "?"} bath
                    </div>
                  )}
                </th>
                <td>{heater.tag}</td>
                <td>
                  <VerdictMark state={verdict.state} />
                </td>
                <td className="number">
                  {verdict.state === "not-possible" ? "–" : formatMoney(verdict.cost.workCents)}
                </td>
                {SURVEY_ITEMS.map((item) => (
                  <td key={item} className={styles.cell}>
                    {asked.has(item) ? <AnswerSign {...answers[item]} /> : ""}
                  </td>
                ))}
                {mayEdit && (
                  <td className={styles.screenOnly}>
                    <Link href={`/sites/heaters/${heater.id}/survey`} aria-label={`Survey ${name}`}>
                      Survey
                    </Link>
                  </td>
                )}
              </tr>
            );
          })}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function CopySection({ survey }: { readonly survey: BuildingSurvey }) {
  const { lines, copy, option } = survey;
  const sources = lines.filter(({ progress }) => progress.isSeen);
  const unlike = copy?.others.filter(({ why }) => why.length > 0) ?? [];
  const canCarry = copy?.others.some(({ why, gains }) => why.length === 0 && gains > 0) ?? false;
  return (
    <section className={`section ${styles.screenOnly}`} aria-labelledby="carry">
      <h2 id="carry">Carry answers to like homes</h2>
      <p>
        Homes of one plan are built alike. Answers that go with the plan can be carried from a place
        that was seen to the others: they are marked as inferred until somebody looks, they price a
        plan, and they make no line firm. Nothing that is on record is overwritten.
      </p>
      {sources.length === 0 ? (
        <p className="soft">Survey one place first.</p>
      ) : (
        <form className="filter" method="get" aria-label="Place that was seen">
          <input type="hidden" name="option" value={option.code} />
          <div className="field">
            <label htmlFor="copy">From</label>
            <select id="copy" name="copy" defaultValue={copy?.from.id ?? sources[0]?.heater.id}>
              {sources.map(({ heater }) => (
                <option key={heater.id} value={heater.id}>
                  {heater.home.label ? `Home ${heater.home.label}, ${heater.tag}` : heater.tag}
                </option>
              ))}
            </select>
          </div>
          <div className="field">
            <label htmlFor="riser">To</label>
            <select id="riser" name="riser" defaultValue={copy?.sameRiser ? "same" : ""}>
              <option value="">like homes of the building</option>
              <option value="same">like homes of the same riser</option>
            </select>
          </div>
          <button className="button" type="submit">
            See what would go
          </button>
        </form>
      )}
      {copy &&
        (copy.items.length === 0 ? (
          <p className="soft">Nothing was seen there that could be carried over.</p>
        ) : canCarry ? (
          <CopyForm
            key={`${copy.from.id} ${copy.sameRiser} ${copy.others.map(({ gains }) => gains).join()}`}
            fromId={copy.from.id}
            items={copy.items}
            others={copy.others}
            sameRiser={copy.sameRiser}
          />
        ) : (
          <p className="soft">No like home lacks one of these answers.</p>
        ))}
      {unlike.length > 0 && (
        <details>
          <summary className="small">{unlike.length} homes are not taken to be alike</summary>
          <ul className="small">
            {unlike.map(({ heaterId, tag, home, why }) => (
              <li key={heaterId}>
                {home ? `Home ${home}` : tag}: {why.join(", ")}
              </li>
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

function Inferences({ survey: { inferences, mayEdit } }: { readonly survey: BuildingSurvey }) {
  if (inferences.length === 0) return null;
  return (
    <section className="section" aria-labelledby="inferred">
      <h2 id="inferred">Carried over and not yet seen</h2>
      <LedgerFrame label="Answers carried over">
        <table className={`ledger ${styles.medium}`}>
          <thead>
            <tr>
              <th scope="col">From</th>
              <th scope="col" className="number">
                Answers that stand
              </th>
              <th scope="col" className="number">
                Homes
              </th>
              {mayEdit && <th scope="col">Do</th>}
            </tr>
          </thead>
          <tbody>
            {inferences.map(({ id, fromId, fromTag, answers, heaters }) => (
              <tr key={id}>
                <th scope="row">
                  <Link href={`/sites/heaters/${fromId}`}>{fromTag}</Link>
                </th>
                <td className="number">{answers}</td>
                <td className="number">{heaters}</td>
                {mayEdit && (
                  <td>
                    <ActButton act={undoCarrying.bind(null, id)} label="Take back" />
                  </td>
                )}
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </section>
  );
}
