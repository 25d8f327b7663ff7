import styles from "./risk.module.css";

export type Range = { readonly lower: number; readonly median: number; readonly upper: number };

/** Ends of a common axis that holds all ranges, with a little room. */
export function axisOf(
  ranges: readonly Range[],
  holds: readonly number[] = [],
): readonly [number, number] {
  const low = Math.min(...holds, ...ranges.map(({ lower }) => lower));
  const high = Math.max(...holds, ...ranges.map(({ upper }) => upper));
  const room = (high - low) * 0.02 || 1;
  return [low - room, high + room];
}

/**
 * Ranges on a common axis in a cell of a table: what was believed as a thin line, what was learnt as
 * a bar with its middle. The numbers stand beside it, so it is not read out.
 */
export function IntervalMark({
  now,
  before,
  alone,
  reference,
  axis: [low, high],
}: {
  readonly now: Range;
  readonly before?: Range;
  /** A single value to be shown as an open mark. */
  readonly alone?: number | null;
  /** Where nothing would change: a vertical rule. */
  readonly reference?: number;
  readonly axis: readonly [number, number];
}) {
  const at = (value: number) => 100 * Math.min(1, Math.max(0, (value - low) / (high - low)));
  const between = (from: number, to: number) => ({
    insetInlineStart: `${at(from)}%`,
    inlineSize: `${at(to) - at(from)}%`,
  });
  return (
    <span className={styles.interval} aria-hidden="true">
      {reference !== undefined && (
        <span className={styles.intervalZero} style={{ insetInlineStart: `${at(reference)}%` }} />
      )}
      {before && (
        <>
          <span className={styles.intervalBefore} style={between(before.lower, before.upper)} />
          <span
            className={styles.intervalBeforeMiddle}
            style={{ insetInlineStart: `${at(before.median)}%` }}
          />
        </>
      )}
      <span className={styles.intervalNow} style={between(now.lower, now.upper)} />
      {alone !== undefined && alone !== null && (
        <span className={styles.intervalAlone} style={{ insetInlineStart: `${at(alone)}%` }} />
      )}
      <span className={styles.intervalMiddle} style={{ insetInlineStart: `${at(now.median)}%` }} />
    </span>
  );
}
