import type { ImportBatchLine } from "@/lib/services/bring-in-pages";

type Standing = Pick<ImportBatchLine, "status" | "fingerprint" | "work">;

/** Where a file stands, by word and shape. */
export function BatchStatus({ batch }: { readonly batch: Standing }) {
  const { words, mark } = standingOf(batch);
  return <span className={`mark ${mark}`}>{words}</span>;
}

function standingOf({ status, fingerprint, work }: Standing): {
  readonly words: string;
  readonly mark: string;
} {
  if (work !== null) return { words: WORK_WORDS[work], mark: "" };
  switch (status) {
    case "staged":
      return fingerprint === null
        ? { words: "Columns to be matched", mark: "mark--attention" }
        : { words: "Preview to be looked at", mark: "mark--attention" };
    case "committed":
      return { words: "Brought in", mark: "mark--good" };
    case "undone":
      return { words: "Undone", mark: "" };
    case "discarded":
      return { words: "Put aside", mark: "" };
  }
}

const WORK_WORDS = {
  check: "Being checked",
  commit: "Being brought in",
  undo: "Being undone",
} as const;
