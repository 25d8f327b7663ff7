import type { Problem } from "@/lib/core/shared/outcome";
import styles from "./plans.module.css";

/** Everything that a form has to have put right, at its head. */
export function ProblemList({ problems }: { readonly problems: readonly Problem[] }) {
  if (problems.length === 0) return null;
  return (
    <div className="notice notice--attention" role="alert">
      <strong>
        {problems.length === 1
          ? "One thing is to be put right."
          : `${problems.length} things are to be put right.`}
      </strong>
      <ul className={styles.list}>
        {problems.map(({ path, message }) => (
          <li key={`${path} ${message}`}>{message}</li>
        ))}
      </ul>
    </div>
  );
}
