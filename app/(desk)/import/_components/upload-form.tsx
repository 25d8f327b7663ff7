"use client";

import { useRouter } from "next/navigation";
import { type DragEvent, useId, useRef, useState } from "react";
import { TextField } from "@/app/_components/field";
import styles from "@/app/(desk)/import/import.module.css";
import type { Problem } from "@/lib/core/shared/outcome";

type Sending = { readonly fileName: string; readonly share: number };

/** Takes a file by drop or by choice, sends it as it is and goes on to its columns. */
export function UploadForm({ mostBytes }: { readonly mostBytes: number }) {
  const router = useRouter();
  const form = useRef<HTMLFormElement>(null);
  const [isOver, setIsOver] = useState(false);
  const [sending, setSending] = useState<Sending | null>(null);
  const [problems, setProblems] = useState<readonly Problem[]>([]);
  const inputId = useId();
  const mostMegabytes = Math.round(mostBytes / 1_048_576);

  const send = (file: File) => {
    if (file.size > mostBytes) {
      const message = `The file is larger than ${mostMegabytes} MB; split it and bring in the parts.`;
      setProblems([{ path: "file", message }]);
      return;
    }
    const typed = new FormData(form.current ?? undefined);
    const query = new URLSearchParams({ name: file.name });
    for (const name of ["sheet", "headingRow"]) {
      const text = String(typed.get(name) ?? "").trim();
      if (text) query.set(name, text);
    }
    setProblems([]);
    setSending({ fileName: file.name, share: 0 });
    const request = new XMLHttpRequest();
    request.open("POST", `/api/import?${query}`);
    request.responseType = "json";
    request.upload.onprogress = ({ loaded, total }) =>
      setSending({ fileName: file.name, share: total > 0 ? loaded / total : 0 });
    request.onload = () => {
      const answer = request.response as {
        readonly batchId?: string;
        readonly problems?: readonly Problem[];
      } | null;
      if (answer?.batchId) router.push(`/import/${answer.batchId}`);
      else {
        setSending(null);
        setProblems(answer?.problems ?? [NOT_SENT]);
      }
    };
    request.onerror = () => {
      setSending(null);
      setProblems([NOT_SENT]);
    };
    request.send(file);
  };

  const onDrop = (event: DragEvent) => {
    event.preventDefault();
    setIsOver(false);
    const file = event.dataTransfer.files[0];
    if (file && !sending) send(file);
  };

  return (
    <form ref={form} onSubmit={(event) => event.preventDefault()}>
      {/* biome-ignore lint/a11y/noStaticElementInteractions: dropping is a second way beside the file input, which the keyboard reaches */}
      <div
        className={styles.drop}
        data-over={isOver}
        onDragOver={(event) => {
          event.preventDefault();
          setIsOver(true);
        }}
        onDragLeave={() => setIsOver(false)}
        onDrop={onDrop}
      >
        <div className="field">
          <label htmlFor={inputId}>Drop a CSV or XLSX file here, or choose one</label>
          <input
            id={inputId}
            type="file"
            accept=".csv,.tsv,.txt,.xlsx"
            disabled={sending !== null}
            aria-describedby={`${inputId}-hint`}
            onChange={(event) => {
              const file = event.currentTarget.files?.[0];
              event.currentTarget.value = "";
              if (file) send(file);
            }}
          />
          <div className="field__hint" id={`${inputId}-hint`}>
            Up to {mostMegabytes} MB and 200,000 rows, one heater a row. Nothing is written into the
            record before you have seen what would change.
          </div>
        </div>
        {sending && <SendingProgress {...sending} />}
        {problems.length > 0 && (
          <p className="notice notice--attention" role="alert">
            {problems.map(({ message }) => message).join(" ")}
          </p>
        )}
        <details>
          <summary className="small">A certain sheet, or headings in a certain row</summary>
          <div className="field-grid">
            <TextField
              name="sheet"
              label="Sheet of a workbook"
              hint="Empty: the first one with cells."
              maxLength={200}
            />
            <TextField
              name="headingRow"
              label="Row of the headings"
              hint="Empty: found by the words in it."
              type="number"
              min={1}
              inputMode="numeric"
            />
          </div>
        </details>
      </div>
    </form>
  );
}

const NOT_SENT: Problem = {
  path: "file",
  message: "The file did not arrive: look to the connection and try again. Nothing of it was kept.",
};

function SendingProgress({ fileName, share }: Sending) {
  const percent = Math.round(share * 100);
  const words = share < 1 ? `Sending ${fileName}, ${percent} %` : `Reading ${fileName} …`;
  return (
    <div role="status" style={{ width: "100%", maxWidth: "30rem" }}>
      <p>{words}</p>
      <div
        className="progress"
        role="progressbar"
        aria-label="Sending the file"
        aria-valuemin={0}
        aria-valuemax={100}
        aria-valuenow={percent}
      >
        <div style={{ width: `${percent}%` }} />
      </div>
    </div>
  );
}
