"use client";

import Link from "next/link";
import { useRouter } from "next/navigation";
import { type FormEvent, useEffect, useMemo, useState, useTransition } from "react";
import { Caution } from "@/app/_components/caution";
import { TextField } from "@/app/_components/field";
import { formatDay } from "@/app/_lib/format";
import { PhotoTaker } from "@/app/(desk)/sites/_components/photo-taker";
import { recordSurvey } from "@/app/(desk)/sites/actions";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import {
  SURVEY_LABELS,
  SURVEY_QUESTIONS,
  type SurveyAnswer,
  type SurveyItem,
} from "@/lib/core/heaters/readiness";
import {
  adviseByMeasures,
  isMeasuredItem,
  type MeasuredItem,
} from "@/lib/core/heaters/readiness-measures";
import { ANSWER_LABELS, ANSWERS, type Answer } from "@/lib/core/heaters/vocabulary";
import { addDays, type CalendarDay } from "@/lib/core/shared/calendar-day";
import type { Problem } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { surveyEntrySchema } from "@/lib/services/survey-form";
import styles from "./survey.module.css";

/** What was typed at one item; texts as they stand in the fields. */
type Draft = {
  readonly answer: Answer | null;
  readonly note: string;
  readonly measures: Readonly<Record<string, string>>;
};
type Drafts = Readonly<Partial<Record<SurveyItem, Draft>>>;

const EMPTY: Draft = { answer: null, note: "", measures: {} };

const MEASURE_FIELDS: Readonly<
  Record<MeasuredItem, readonly { readonly name: string; readonly label: string }[]>
> = {
  "air-volume": [
    { name: "lengthFt", label: "Length, ft" },
    { name: "widthFt", label: "Width, ft" },
    { name: "heightFt", label: "Height, ft" },
    { name: "louvreSquareInches", label: "Louvres, in² free" },
  ],
  "condensate-route": [
    { name: "runFt", label: "Way to drain, ft" },
    { name: "fallIn", label: "Fall to it, in" },
  ],
  "common-vent": [
    { name: "leftBtuPerHour", label: "Input that stays, Btu/h" },
    { name: "roomCubicFeet", label: "Room, ft³" },
  ],
};

const mayStayEmpty = new Set(["louvreSquareInches", "roomCubicFeet"]);

/** The measures as the schema wants them; null when nothing was measured. */
function measuresOf(item: SurveyItem, texts: Draft["measures"]): Record<string, unknown> | null {
  if (!isMeasuredItem(item)) return null;
  const fields = MEASURE_FIELDS[item];
  if (fields.every(({ name }) => (texts[name] ?? "").trim() === "")) return null;
  const read: Record<string, unknown> = Object.fromEntries(
    fields.map(({ name }) => {
      const text = (texts[name] ?? "").replace(/[,\s]/g, "");
      if (text === "" && mayStayEmpty.has(name)) return [name, null];
      return [name, text === "" ? Number.NaN : Number(text)];
    }),
  );
  if (item === "air-volume") read.isDucted = texts.isDucted === "yes";
  return read;
}

/** Answers are kept on the phone until they are sent. */
const storageKey = (heaterId: string) => `survey ${heaterId}`;

/**
 * The survey of one heater's place, for one hand on a phone: large answers, what to look at beside each,
 * cautions where they belong. What is typed stays on the phone until the server has it.
 */
export function SurveyForm({
  heaterId,
  items,
  survey,
  inputBtuPerHour,
  today,
  next,
}: {
  readonly heaterId: string;
  readonly items: readonly SurveyItem[];
  readonly survey: readonly SurveyAnswer[];
  readonly inputBtuPerHour: number | null;
  readonly today: CalendarDay;
  readonly next: { readonly id: string; readonly label: string } | null;
}) {
  const router = useRouter();
  const [drafts, setDrafts] = useState<Drafts>({});
  const [observedOn, setObservedOn] = useState<string>(today);
  const [problems, setProblems] = useState<readonly Problem[]>([]);
  const [isSaved, setIsSaved] = useState(false);
  const [isPending, startTransition] = useTransition();
  const known = useMemo(() => new Map(survey.map((each) => [each.item, each])), [survey]);
  const answered = items.filter((item) => drafts[item]?.answer);

  useEffect(() => {
    try {
      const kept = localStorage.getItem(storageKey(heaterId));
      if (kept) setDrafts(JSON.parse(kept));
    } catch {
      // A phone that keeps nothing still sends.
    }
  }, [heaterId]);

  const change = (item: SurveyItem, changes: Partial<Draft>) => {
    const all = { ...drafts, [item]: { ...EMPTY, ...drafts[item], ...changes } };
    setDrafts(all);
    setIsSaved(false);
    try {
      localStorage.setItem(storageKey(heaterId), JSON.stringify(all));
    } catch {
      // See above.
    }
  };

  const send = (event: FormEvent) => {
    event.preventDefault();
    const entry = {
      observedOn,
      answers: answered.map((item) => {
        const draft = drafts[item] ?? EMPTY;
        return {
          item,
          answer: draft.answer,
          note: draft.note,
          measures: measuresOf(item, draft.measures),
        };
      }),
    };
    const checked = parseWith(surveyEntrySchema(addDays(today, 1)), entry);
    if (!checked.ok) {
      setProblems(checked.problems);
      return;
    }
    startTransition(async () => {
      try {
        const answer = await recordSurvey(heaterId, entry);
        setProblems(answer.problems);
        if (!answer.isSaved) return;
        setDrafts({});
        setIsSaved(true);
        localStorage.removeItem(storageKey(heaterId));
        router.refresh();
      } catch {
        setProblems([
          {
            path: "",
            message: "The server was not reached. Your answers are kept here; send them again.",
          },
        ]);
      }
    });
  };

  const problemsOf = (item: SurveyItem) => {
    const at = answered.indexOf(item);
    return at < 0 ? [] : problems.filter(({ path }) => path.startsWith(`answers[${at}]`));
  };
  const general = problems.filter(({ path }) => !path.startsWith("answers["));

  return (
    <form className={styles.form} noValidate onSubmit={send}>
      <div className="field-grid">
        <TextField
          name="observedOn"
          label="Day of the visit"
          type="date"
          problems={problems}
          value={observedOn}
          onChange={(event) => setObservedOn(event.target.value)}
        />
      </div>
      <p className="small soft">
        Answer what you see; leave the rest. “Not known” says that you looked and could not tell.
      </p>
      {items.map((item) => (
        <Question
          key={item}
          item={item}
          heaterId={heaterId}
          known={known.get(item)}
          draft={drafts[item] ?? EMPTY}
          problems={problemsOf(item)}
          inputBtuPerHour={inputBtuPerHour}
          today={today}
          onChange={(changes) => change(item, changes)}
        />
      ))}
      <div className={styles.send}>
        <button className="button button--primary" type="submit" disabled={isPending}>
          {isPending
            ? "Sending …"
            : `Keep ${answered.length} ${answered.length === 1 ? "answer" : "answers"}`}
        </button>
        {next && (
          <Link className="button" href={`/sites/heaters/${next.id}/survey`}>
            Next: {next.label}
          </Link>
        )}
        <span role="status">{isSaved ? "Kept." : ""}</span>
        {general.length > 0 && (
          <p className="field__problem" role="alert">
            {general.map(({ message }) => message).join(" ")}
          </p>
        )}
      </div>
    </form>
  );
}

function Question({
  item,
  heaterId,
  known,
  draft,
  problems,
  inputBtuPerHour,
  today,
  onChange,
}: {
  readonly item: SurveyItem;
  readonly heaterId: string;
  readonly known: SurveyAnswer | undefined;
  readonly draft: Draft;
  readonly problems: readonly Problem[];
  readonly inputBtuPerHour: number | null;
  readonly today: CalendarDay;
  readonly onChange: (changes: Partial<Draft>) => void;
}) {
  const { question, look, caution } = SURVEY_QUESTIONS[item];
  const measures = measuresOf(item, draft.measures);
  const advice =
    isMeasuredItem(item) && measures !== null
      ? adviseByMeasures(item, measures, inputBtuPerHour)
      : null;
  return (
    <fieldset className={styles.item}>
      <legend>{question}</legend>
      <div className={styles.answers}>
        {ANSWERS.map((answer) => (
          <label key={answer}>
            <input
              type="radio"
              name={item}
              value={answer}
              checked={draft.answer === answer}
              onChange={() => onChange({ answer })}
            />
            {ANSWER_LABELS[answer]}
          </label>
        ))}
      </div>
      <p className="small soft">
        <strong>{SURVEY_LABELS[item]}.</strong> {look}
        {known && (
          <>
            {" "}
            On record: {ANSWER_LABELS[known.answer].toLowerCase()}
            {known.basis === "inferred" ? ", inferred from a like home" : ""}
            {known.observedOn ? `, ${formatDay(known.observedOn)}` : ""}
            {known.note ? `, “${known.note}”` : ""}.
          </>
        )}
      </p>
      {caution && <Caution>{CAUTIONS[caution]}</Caution>}
      <details>
        <summary className="small">Note, measures, photo</summary>
        <div className="section">
          {isMeasuredItem(item) && (
            <div className={styles.measures}>
              {MEASURE_FIELDS[item].map(({ name, label }) => (
                <TextField
                  key={name}
                  name={`${item}.${name}`}
                  label={label}
                  inputMode="decimal"
                  value={draft.measures[name] ?? ""}
                  onChange={(event) =>
                    onChange({ measures: { ...draft.measures, [name]: event.target.value } })
                  }
                />
              ))}
              {item === "air-volume" && (
                <label className={styles.check}>
                  <input
                    type="checkbox"
                    checked={draft.measures.isDucted === "yes"}
                    onChange={(event) =>
                      onChange({
                        measures: {
                          ...draft.measures,
                          isDucted: event.target.checked ? "yes" : "",
                        },
                      })
                    }
                  />
                  Ducts are possible
                </label>
              )}
            </div>
          )}
          {advice && (
            <p className="notice small" role="status">
              {advice.sentences.join(" ")}
              {advice.answer && (
                <> By the published rule: {ANSWER_LABELS[advice.answer].toLowerCase()}.</>
              )}
            </p>
          )}
          <TextField
            name={`${item}.note`}
            label="Note"
            maxLength={500}
            value={draft.note}
            onChange={(event) => onChange({ note: event.target.value })}
          />
          <PhotoTaker heaterId={heaterId} item={item} today={today} />
        </div>
      </details>
      {problems.length > 0 && (
        <p className="field__problem" role="alert">
          {problems.map(({ message }) => message).join(" ")}
        </p>
      )}
    </fieldset>
  );
}
