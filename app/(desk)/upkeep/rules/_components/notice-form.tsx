"use client";

import { useState } from "react";
import { ActButton } from "@/app/_components/act-button";
import { CheckedForm } from "@/app/_components/checked-form";
import { resetNoticeWording, sendNoticeWording } from "@/app/(desk)/upkeep/rules/actions";
import {
  fillNotice,
  NOTICE_REMINDER,
  NOTICE_WORDS,
  type NoticeValues,
} from "@/lib/core/upkeep/entry-notice";
import { noticeFormSchema } from "@/lib/services/upkeep-forms";
import styles from "./rules.module.css";

const EXAMPLE: NoticeValues = {
  organization: "our organization",
  property: "the property",
  building: "Building 2",
  home: "204",
  day: "Tuesday, March 9",
  from: "9:00 am",
  to: "11:00 am",
  tasks: "flush sediment, test relief valve",
  minutes: "35",
  person: "our technician",
};

/** The organisation's own wording, with what it becomes beside it. */
export function NoticeForm({
  wording,
  isOwn,
  mayEdit,
}: {
  readonly wording: string;
  readonly isOwn: boolean;
  readonly mayEdit: boolean;
}) {
  const [text, setText] = useState(wording);
  return (
    <>
      <p className="notice notice--attention">
        <strong>Local law.</strong> {NOTICE_REMINDER}
      </p>
      <div className="columns">
        {mayEdit && (
          <div>
            <CheckedForm
              schema={noticeFormSchema}
              action={sendNoticeWording}
              submitLabel="Save wording"
            >
              {(problems) => {
                const own = problems.filter(({ path }) => path === "wording");
                return (
                  <div className={`field ${styles.wording}`}>
                    <label htmlFor="wording">Wording</label>
                    <textarea
                      id="wording"
                      name="wording"
                      value={text}
                      onChange={(event) => setText(event.target.value)}
                      aria-invalid={own.length > 0 || undefined}
                      aria-describedby="wording-hint"
                    />
                    <div className="field__hint" id="wording-hint">
                      Filled in for each home:{" "}
                      {Object.entries(NOTICE_WORDS)
                        .map(([word, meaning]) => `{${word}} ${meaning}`)
                        .join("; ")}
                      .
                    </div>
                    {own.length > 0 && (
                      <div className="field__problem" role="alert">
                        {own.map(({ message }) => message).join(" ")}
                      </div>
                    )}
                  </div>
                );
              }}
            </CheckedForm>
            {isOwn && (
              <ActButton act={resetNoticeWording} label="Take up the program’s wording again" />
            )}
          </div>
        )}
        <div>
          <h3>As a resident reads it</h3>
          <p className={styles.preview}>{fillNotice(text, EXAMPLE)}</p>
        </div>
      </div>
    </>
  );
}
