/** Where a heater stands in its building; null where the record does not say. */
export type ElevationPlace = {
  readonly heaterId: string;
  /** The home's number; the heater's tag where it serves no single home. */
  readonly label: string;
  readonly floor: number | null;
  readonly riser: string | null;
};

/** One line of the drawing: a floor of a building by risers, or a line of the plain grid. */
export type ElevationRow<T> = {
  /** null in the plain grid, whose lines are no floors. */
  readonly floor: number | null;
  /** What stands at each column, left to right; an empty list where nothing does. */
  readonly places: readonly (readonly T[])[];
};

export type Elevation<T> = {
  /** `stacks`: floors by risers. `homes`: a plain grid by home number, where no floors or risers are known. */
  readonly kind: "stacks" | "homes";
  /** The columns' names, left to right; empty in the plain grid. */
  readonly risers: readonly string[];
  /** Top floor first. */
  readonly rows: readonly ElevationRow<T>[];
  /** Heaters of a building drawn by stacks whose own floor or riser is not known, by home number. */
  readonly unplaced: readonly T[];
};

/** Homes on a line of the plain grid. */
const HOMES_ON_A_LINE = 8;

const counting = new Intl.Collator("en", { numeric: true });

function byLabel(left: ElevationPlace, right: ElevationPlace): number {
  return counting.compare(left.label, right.label) || (left.heaterId < right.heaterId ? -1 : 1);
}

/**
 * Arranges the heaters of one building as the building stands: top floor first, risers left to
 * right in the order people count ("2" before "10"). Every floor between the lowest and the highest
 * is drawn, also one without a heater, so that heights are true. Where fewer than half of the heaters
 * have both floor and riser, a drawing would mislead, and all are laid out by home number.
 *
 * The order of the input does not matter.
 */
export function arrangeElevation<T extends ElevationPlace>(heaters: readonly T[]): Elevation<T> {
  const ordered = [...heaters].sort(byLabel);
  const placed = ordered.filter(({ floor, riser }) => floor !== null && riser !== null);
  if (placed.length * 2 < ordered.length || placed.length === 0) {
    const rows: ElevationRow<T>[] = [];
    for (let start = 0; start < ordered.length; start += HOMES_ON_A_LINE) {
      const line = ordered.slice(start, start + HOMES_ON_A_LINE);
      rows.push({ floor: null, places: line.map((heater) => [heater]) });
    }
    return { kind: "homes", risers: [], rows, unplaced: [] };
  }
  const risers = [...new Set(placed.map(({ riser }) => riser ?? ""))].sort(counting.compare);
  const floors = placed.map(({ floor }) => floor ?? 0);
  const byPlace = new Map<string, T[]>();
  for (const heater of placed) {
    const key = `${heater.floor} ${heater.riser}`;
    byPlace.set(key, [...(byPlace.get(key) ?? []), heater]);
  }
  const lowest = Math.min(...floors);
  const rows: ElevationRow<T>[] = [];
  for (let floor = Math.max(...floors); floor >= lowest; floor--) {
    rows.push({ floor, places: risers.map((riser) => byPlace.get(`${floor} ${riser}`) ?? []) });
  }
  return {
    kind: "stacks",
    risers,
    rows,
    unplaced: ordered.filter(({ floor, riser }) => floor === null || riser === null),
  };
}
