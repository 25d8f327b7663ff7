import styles from "@/app/(desk)/import/import.module.css";

const STEPS = ["Columns", "Preview", "In the record"] as const;

/** Where in the way in a file is. */
export function Steps({ current }: { readonly current: 0 | 1 | 2 }) {
  return (
    <ol className={styles.steps} aria-label="Steps">
      {STEPS.map((step, index) => (
        <li key={step} aria-current={index === current ? "step" : undefined}>
          {step}
        </li>
      ))}
    </ol>
  );
}
