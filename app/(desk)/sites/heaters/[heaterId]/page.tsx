import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { ActButton } from "@/app/_components/act-button";
import { Caution } from "@/app/_components/caution";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatDay, formatMoney, formatNumber } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { AnswerSign, SignKey } from "@/app/(desk)/sites/_components/answer-sign";
import { OptionVerdictPart } from "@/app/(desk)/sites/_components/option-verdict-part";
import { PhotoTaker } from "@/app/(desk)/sites/_components/photo-taker";
import styles from "@/app/(desk)/sites/_components/sites.module.css";
import { VerdictMark } from "@/app/(desk)/sites/_components/verdict-mark";
import { dropPhoto } from "@/app/(desk)/sites/actions";
import { CAUTIONS, type HazardousAct } from "@/lib/core/heaters/cautions";
import { SURVEY_LABELS } from "@/lib/core/heaters/readiness";
import { adviseByMeasures, isMeasuredItem } from "@/lib/core/heaters/readiness-measures";
import type { SizingVerdict } from "@/lib/core/heaters/sizing";
import type { OptionVerdict } from "@/lib/core/planning/option-verdict";
import { type HeaterSite, readHeaterSite } from "@/lib/services/survey";

export const metadata: Metadata = { title: "What can go there" };

const SIZE_WORDS: Readonly<Record<SizingVerdict, string>> = {
  enough: "large enough",
  close: "just enough",
  short: "too small",
  unknown: "not known",
};

export default async function HeaterSitePage({
  params,
}: {
  readonly params: Promise<{ readonly heaterId: string }>;
}) {
  const { heaterId } = await params;
  const day = today();
  const site = await readHeaterSite(await requireViewer(), heaterId, day);
  if (!site) notFound();
  const { heater, building, verdicts } = site;
  const cautions = [...new Set(verdicts.flatMap((verdict) => verdict.cautions))];
  return (
    <>
      <PageHeading
        title={`What can go there: ${heater.home.label ? `home ${heater.home.label}` : heater.tag}`}
        question={
          <>
            {building.propertyName}, {building.name} ·{" "}
            <Link href={`/heaters/${heaterId}`}>{heater.tag}</Link> ·{" "}
            <TechnologyMark technology={heater.technology} />
          </>
        }
      >
        {site.mayEdit && (
          <Link className="button button--primary" href={`/sites/heaters/${heaterId}/survey`}>
            Survey the place
          </Link>
        )}
        <Link className="button" href={`/sites/heaters/${heaterId}/card`}>
          Emergency card
        </Link>
        <Link className="button" href={`/sites/buildings/${building.id}`}>
          The building
        </Link>
      </PageHeading>
      <section className="section">
        <h2>Options, held against this place</h2>
        {verdicts.length === 0 ? (
          <p className="soft">
            The <Link href="/plans/options">options catalogue</Link> offers nothing.
          </p>
        ) : (
          <OptionsTable verdicts={verdicts} />
        )}
        <p className="small soft">
          A line that is not seen blocks a firm line of a plan, not a budget line. Costs are today’s
          and the catalogue’s; what is not known counts by half (assumed).
        </p>
      </section>
      <section className="section">
        <h2>Option by option</h2>
        {verdicts.map((verdict) => (
          <OptionVerdictPart
            key={verdict.code}
            verdict={verdict}
            headroomCircuits={building.headroomCircuits}
          />
        ))}
      </section>
      <section className="section">
        <h2>The survey</h2>
        <SurveyTable site={site} />
        <SignKey />
      </section>
      <section className="section">
        <h2>Photos</h2>
        <Photos site={site} today={day} />
      </section>
      <section className="section">
        <h2>Cautions</h2>
        <div className="columns">
          {cautions.map((act: HazardousAct) => (
            <Caution key={act}>{CAUTIONS[act]}</Caution>
          ))}
        </div>
      </section>
    </>
  );
}

function OptionsTable({ verdicts }: { readonly verdicts: readonly OptionVerdict[] }) {
  return (
    <LedgerFrame label="Options">
      <table className={`ledger ${styles.wide}`}>
        <thead>
          <tr>
            <th scope="col">Option</th>
            <th scope="col">State</th>
            <th scope="col">Size for this home</th>
            <th scope="col" className="number">
              Margin, gal
            </th>
            <th scope="col" className="number">
              Missing
            </th>
            <th scope="col" className="number">
              Not seen
            </th>
            <th scope="col" className="number">
              Swap
            </th>
            <th scope="col" className="number">
              Work here
            </th>
            <th scope="col" className="number">
              Total
            </th>
            <th scope="col">Service</th>
          </tr>
        </thead>
        <tbody>
          {verdicts.map((verdict) => {
            const { sizing, cost, fitsService, circuitLoad } = verdict;
            return (
              <tr key={verdict.code}>
                <th scope="row">{verdict.name}</th>
                <td>
                  <VerdictMark state={verdict.state} />
                </td>
                <td>
                  {sizing.verdict === "short" ? (
                    <span className="mark mark--attention">{SIZE_WORDS.short}</span>
                  ) : (
                    SIZE_WORDS[sizing.verdict]
                  )}
                </td>
                <td className="number">
                  {sizing.marginGal === null ? "–" : formatNumber(sizing.marginGal)}
                </td>
                <td className="number">{verdict.missing.length}</td>
                <td className="number">{verdict.unknown.length + verdict.inferred.length}</td>
                <td className="number">{formatMoney(cost.swapCents)}</td>
                <td className="number">{formatMoney(cost.workCents)}</td>
                <td className="number">{formatMoney(cost.totalCents)}</td>
                <td>
                  {circuitLoad === 0
                    ? "no new circuit"
                    : fitsService === null
                      ? "no limit known"
                      : fitsService
                        ? "carries it"
                        : "needs an upgrade first"}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function SurveyTable({ site }: { readonly site: HeaterSite }) {
  const byItem = new Map(site.survey.map((answer) => [answer.item, answer]));
  return (
    <LedgerFrame label="Survey answers">
      <table className={`ledger ${styles.medium}`}>
        <thead>
          <tr>
            <th scope="col">Item</th>
            <th scope="col">Answer</th>
            <th scope="col">Seen on</th>
            <th scope="col">By</th>
            <th scope="col">Note and measures</th>
          </tr>
        </thead>
        <tbody>
          {site.items.map((item) => {
            const answer = byItem.get(item);
            const advice =
              answer?.measures && isMeasuredItem(item)
                ? adviseByMeasures(item, answer.measures, site.heater.nameplate.inputBtuPerHour)
                : null;
            const from = answer?.inferredFromId
              ? site.inferredFrom.get(answer.inferredFromId)
              : undefined;
            return (
              <tr key={item}>
                <th scope="row">{SURVEY_LABELS[item]}</th>
                <td>
                  <AnswerSign {...site.answers[item]} />
                </td>
                <td>{answer?.observedOn ? formatDay(answer.observedOn) : "–"}</td>
                <td>{answer?.observedBy ?? "–"}</td>
                <td>
                  {from && <>Inferred from {from}, not seen here. </>}
                  {answer?.note}
                  {advice && <div className="small soft">{advice.sentences.join(" ")}</div>}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function Photos({
  site,
  today: day,
}: {
  readonly site: HeaterSite;
  readonly today: ReturnType<typeof today>;
}) {
  return (
    <>
      {site.photos.length === 0 ? (
        <p className="soft">None yet. Panel, vent and the way in are worth a picture.</p>
      ) : (
        <ul className={styles.photos}>
          {site.photos.map((photo) => {
            const words = photo.item ? SURVEY_LABELS[photo.item] : "The place";
            return (
              <li key={photo.id}>
                <a href={`/sites/photos/${photo.id}`}>
                  {/* biome-ignore lint/performance/noImgElement: a picture from our own database, already small */}
                  <img
                    src={`/sites/photos/${photo.id}`}
                    alt={`${words}, ${formatDay(photo.takenOn)}`}
                    loading="lazy"
                  />
                </a>
                <span className="small">
                  {words}
                  <br />
                  <span className="soft">
                    {formatDay(photo.takenOn)}, {photo.takenBy}
                  </span>
                </span>
                {site.mayEdit && (
                  <ActButton act={dropPhoto.bind(null, photo.id)} label="Take it off" />
                )}
              </li>
            );
          })}
        </ul>
      )}
      {site.mayEdit && <PhotoTaker heaterId={site.heater.id} item={null} today={day} />}
    </>
  );
}
