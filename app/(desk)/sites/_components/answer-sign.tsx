import type { EffectiveAnswer } from "@/lib/core/heaters/readiness";
import { ANSWER_LABELS } from "@/lib/core/heaters/vocabulary";
import styles from "./sites.module.css";

const SIGNS = { yes: "✓", no: "✕", unknown: "?" } as const;

const FROM = {
  seen: "seen",
  inferred: "inferred, not seen",
  record: "by the heater’s record",
  none: "never asked",
} as const;

/** An answer as a sign with its words for those who do not see it; inferred ones stand in dashes. */
export function AnswerSign({ answer, from }: EffectiveAnswer) {
  const words = `${ANSWER_LABELS[answer]}, ${FROM[from]}`;
  return (
    <span
      className={`${styles.sign} ${styles[answer]} ${from === "inferred" ? styles.inferred : ""}`}
    >
      <span aria-hidden="true" title={words}>
        {SIGNS[answer]}
      </span>
      <span className="visually-hidden">{words}</span>
    </span>
  );
}

/** What the signs mean. */
export function SignKey() {
  return (
    <p className={`small soft ${styles.key}`}>
      <span>
        <span className={`${styles.sign} ${styles.yes}`}>✓</span> yes
      </span>
      <span>
        <span className={`${styles.sign} ${styles.no}`}>✕</span> no
      </span>
      <span>
        <span className={`${styles.sign} ${styles.unknown}`}>?</span> not known
      </span>
      <span>
        <span className={`${styles.sign} ${styles.yes} ${styles.inferred}`}>✓</span> in dashes:
        inferred from a like home, seen by nobody
      </span>
    </p>
  );
}
