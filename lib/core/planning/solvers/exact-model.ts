import type { ChosenArrays, ProblemArrays } from "@/lib/core/planning/problem-arrays";

/**
 * The plan as a mixed-integer programme in compressed columns, with the way back from its columns to
 * a plan and from its rows to what they mean. docs/methods/planning.md has the formulas.
 *
 * Money is in dollars here, so that the solver's absolute feasibility tolerance (1e-6) is far below a
 * cent.
 */
export type ExactModel = {
  readonly columnCount: number;
  readonly rowCount: number;
  readonly columnCost: Float64Array;
  readonly columnLower: Float64Array;
  readonly columnUpper: Float64Array;
  readonly integrality: Int32Array;
  readonly rowLower: Float64Array;
  readonly rowUpper: Float64Array;
  readonly starts: Int32Array;
  readonly indices: Int32Array;
  readonly values: Float64Array;
  readonly rows: readonly RowMeaning[];
  readonly columns: ColumnMap;
};

export type RowMeaning =
  | { readonly kind: "assignment"; readonly heater: number }
  | { readonly kind: "budget"; readonly year: number }
  | { readonly kind: "crew"; readonly period: number }
  | { readonly kind: "emission" }
  | { readonly kind: "electrical"; readonly building: number }
  | { readonly kind: "visit"; readonly building: number };

type ColumnMap = {
  /** Column of each choice; -1 for one that was left out. */
  readonly choice: Int32Array;
  /** Column of never for each heater; -1 where it is not allowed. */
  readonly never: Int32Array;
  /** First of `periodCount` columns "upgraded by the end of the period" of each building, or -1. */
  readonly upgraded: Int32Array;
  /** First of `periodCount` columns "load carried at the end of the period", or -1. */
  readonly carried: Int32Array;
  /** Column of a visit by building · periods + period, or -1. */
  readonly visit: Int32Array;
  readonly excess: number;
};

const CENTS_PER_DOLLAR = 100;

/**
 * @param keep choices to leave out are 0; all are kept when absent.
 */
export function buildExactModel(arrays: ProblemArrays, keep?: Uint8Array): ExactModel {
  const T = arrays.periodCount;
  const draft = new ModelDraft();
  const { choiceStart, heaterStart } = arrays;
  const budgetRow = new Int32Array(arrays.yearCount).fill(-1);
  const crewRow = new Int32Array(T).fill(-1);
  for (let k = 0; k < arrays.yearCount; k++) {
    if (Number.isFinite(arrays.budgetLimit[k])) {
      budgetRow[k] = draft.row(
        { kind: "budget", year: k },
        -Infinity,
        dollars(arrays.budgetLimit[k]),
      );
    }
  }
  for (let t = 0; t < T; t++) {
    if (Number.isFinite(arrays.crewLimit[t])) {
      crewRow[t] = draft.row({ kind: "crew", period: t }, -Infinity, arrays.crewLimit[t]);
    }
  }
  const capped = Number.isFinite(arrays.emissionCapKg);
  const emissionRow = capped
    ? draft.row({ kind: "emission" }, -Infinity, arrays.emissionCapKg)
    : -1;

  const columns = {
    choice: new Int32Array(arrays.cost.length).fill(-1),
    never: new Int32Array(arrays.heaterCount).fill(-1),
    upgraded: new Int32Array(arrays.buildingCount).fill(-1),
    carried: new Int32Array(arrays.buildingCount).fill(-1),
    visit: new Int32Array(arrays.buildingCount * T).fill(-1),
    excess: -1,
  };
  if (capped && Number.isFinite(arrays.excessCentsPerKg)) {
    columns.excess = draft.column(dollars(arrays.excessCentsPerKg), 0, Infinity, false);
    draft.entry(emissionRow, -1);
  }

  /** Money spent in a period, in the rows of its year and of the years it could have moved on to. */
  const budgetEntries = (perPeriod: readonly (readonly [period: number, cents: number])[]) => {
    for (let k = 0; k < arrays.yearCount; k++) {
      if (budgetRow[k] < 0) continue;
      let value = 0;
      for (const [t, cents] of perPeriod) {
        value += arrays.budgetWeight[k * arrays.yearCount + arrays.yearOfPeriod[t]] * cents;
      }
      if (value !== 0) draft.entry(budgetRow[k], dollars(value));
    }
  };

  for (let b = 0; b < arrays.buildingCount; b++) {
    const electrical = describeElectrical(arrays, b, keep);
    let totalRow = -1;
    let carriedRow = -1;
    let roomRow = -1;
    if (electrical.kind === "total") {
      totalRow = draft.row({ kind: "electrical", building: b }, -Infinity, electrical.limit);
    }
    if (electrical.kind === "upgrade") {
      const meaning = { kind: "electrical", building: b } as const;
      // carried[t] − carried[t−1] − loads added in t = 0;  carried[t] − adds·upgraded[t] ≤ headroom.
      carriedRow = draft.rowBlock(T, meaning, 0, 0);
      roomRow = draft.rowBlock(T, meaning, -Infinity, arrays.headroom[b]);
      const monotoneRow = draft.rowBlock(T - 1, meaning, 0, Infinity);
      columns.carried[b] = draft.columnCount;
      for (let t = 0; t < T; t++) {
        draft.column(0, 0, Infinity, false);
        draft.entry(carriedRow + t, 1);
        if (t + 1 < T) draft.entry(carriedRow + t + 1, -1);
        draft.entry(roomRow + t, 1);
      }
      columns.upgraded[b] = draft.columnCount;
      const fee = arrays.upgradeCents[b];
      for (let t = 0; t < T; t++) {
        const later = t + 1 < T ? arrays.discount[t + 1] : 0;
        draft.column(dollars(fee * (arrays.discount[t] - later)), 0, 1, true);
        draft.entry(roomRow + t, -electrical.adds);
        if (t > 0) draft.entry(monotoneRow + t - 1, 1);
        if (t + 1 < T) draft.entry(monotoneRow + t, -1);
        budgetEntries(
          t + 1 < T
            ? [
                [t, fee],
                [t + 1, -fee],
              ]
            : [[t, fee]],
        );
      }
    }

    const visitCents = arrays.mobilisationCents[b];
    for (let i = heaterStart[b]; i < heaterStart[b + 1]; i++) {
      const assignmentRow = draft.row({ kind: "assignment", heater: i }, 1, 1);
      if (Number.isFinite(arrays.neverCost[i])) {
        columns.never[i] = draft.column(dollars(arrays.neverCost[i]), 0, 1, true);
        draft.entry(assignmentRow, 1);
        if (capped && arrays.neverKg[i] !== 0) draft.entry(emissionRow, arrays.neverKg[i]);
      }
      const visitRow = new Int32Array(T).fill(-1);
      const linkRow = new Int32Array(T).fill(-1);
      for (let j = choiceStart[i]; j < choiceStart[i + 1]; j++) {
        if (keep?.[j] === 0) continue;
        const t = arrays.period[j];
        const load = arrays.circuit[j];
        columns.choice[j] = draft.column(dollars(arrays.cost[j]), 0, 1, true);
        draft.entry(assignmentRow, 1);
        budgetEntries([[t, arrays.capital[j]]]);
        if (crewRow[t] >= 0 && arrays.hours[j] !== 0) draft.entry(crewRow[t], arrays.hours[j]);
        if (capped && arrays.kg[j] !== 0) draft.entry(emissionRow, arrays.kg[j]);
        if (load > 0) {
          if (totalRow >= 0) draft.entry(totalRow, load);
          if (carriedRow >= 0) {
            draft.entry(carriedRow + t, -load);
            if (load > arrays.headroom[b]) {
              // This load alone needs the upgrade: said for each heater, the relaxation is far tighter.
              if (linkRow[t] < 0) {
                linkRow[t] = draft.row({ kind: "electrical", building: b }, -Infinity, 0);
                draft.lateEntry(columns.upgraded[b] + t, linkRow[t], -1);
              }
              draft.entry(linkRow[t], 1);
            }
          }
        }
        if (visitCents > 0) {
          if (visitRow[t] < 0) {
            visitRow[t] = draft.row({ kind: "visit", building: b }, -Infinity, 0);
          }
          draft.entry(visitRow[t], 1);
        }
      }
      for (let t = 0; t < T; t++) {
        if (visitRow[t] < 0) continue;
        const at = b * T + t;
        if (columns.visit[at] < 0) {
          columns.visit[at] = draft.column(dollars(visitCents * arrays.discount[t]), 0, 1, true);
          budgetEntries([[t, visitCents]]);
        }
        draft.lateEntry(columns.visit[at], visitRow[t], -1);
      }
    }
  }
  return { ...draft.finish(), columns };
}

/** The plan that a point of the model means, binaries rounded. */
export function chosenFromPoint(
  arrays: ProblemArrays,
  { columns }: ExactModel,
  point: ArrayLike<number>,
): ChosenArrays {
  const choice = new Int32Array(arrays.heaterCount).fill(-1);
  for (let i = 0; i < arrays.heaterCount; i++) {
    for (let j = arrays.choiceStart[i]; j < arrays.choiceStart[i + 1]; j++) {
      if (columns.choice[j] >= 0 && point[columns.choice[j]] > 0.5) choice[i] = j;
    }
  }
  const upgrade = new Int16Array(arrays.buildingCount).fill(-1);
  for (let b = 0; b < arrays.buildingCount; b++) {
    if (columns.upgraded[b] < 0) continue;
    for (let t = arrays.periodCount - 1; t >= 0; t--) {
      if (point[columns.upgraded[b] + t] > 0.5) upgrade[b] = t;
    }
  }
  return { choice, upgrade };
}

/** The point of the model that a plan is: what a warm start needs. */
export function pointFromChosen(
  arrays: ProblemArrays,
  { columns, columnCount }: ExactModel,
  chosen: ChosenArrays,
): Float64Array {
  const T = arrays.periodCount;
  const point = new Float64Array(columnCount);
  let kg = 0;
  for (let b = 0; b < arrays.buildingCount; b++) {
    const carried = new Float64Array(T);
    for (let i = arrays.heaterStart[b]; i < arrays.heaterStart[b + 1]; i++) {
      const j = chosen.choice[i];
      if (j < 0) {
        if (columns.never[i] >= 0) point[columns.never[i]] = 1;
        kg += arrays.neverKg[i];
        continue;
      }
      if (columns.choice[j] >= 0) point[columns.choice[j]] = 1;
      kg += arrays.kg[j];
      carried[arrays.period[j]] += arrays.circuit[j];
      const visit = columns.visit[b * T + arrays.period[j]];
      if (visit >= 0) point[visit] = 1;
    }
    for (let t = 1; t < T; t++) carried[t] += carried[t - 1];
    for (let t = 0; t < T; t++) {
      if (columns.carried[b] >= 0) point[columns.carried[b] + t] = carried[t];
      if (columns.upgraded[b] >= 0 && chosen.upgrade[b] >= 0 && chosen.upgrade[b] <= t) {
        point[columns.upgraded[b] + t] = 1;
      }
    }
  }
  if (columns.excess >= 0) point[columns.excess] = Math.max(0, kg - arrays.emissionCapKg);
  return point;
}

type Electrical =
  | { readonly kind: "free" }
  | { readonly kind: "total"; readonly limit: number }
  | { readonly kind: "upgrade"; readonly adds: number };

/**
 * Which electrical rows a building needs: none when everything fits; one on the total when no upgrade
 * is possible; otherwise rows by period, with the added load cut to what could ever be used.
 */
function describeElectrical(arrays: ProblemArrays, b: number, keep?: Uint8Array): Electrical {
  let most = 0;
  for (let i = arrays.heaterStart[b]; i < arrays.heaterStart[b + 1]; i++) {
    let heaviest = 0;
    for (let j = arrays.choiceStart[i]; j < arrays.choiceStart[i + 1]; j++) {
      if (keep?.[j] !== 0) heaviest = Math.max(heaviest, arrays.circuit[j]);
    }
    most += heaviest;
  }
  const headroom = arrays.headroom[b];
  if (most <= headroom) return { kind: "free" };
  if (!Number.isFinite(arrays.upgradeCents[b]) || arrays.upgradeAdds[b] === 0) {
    return { kind: "total", limit: headroom };
  }
  return { kind: "upgrade", adds: Math.min(arrays.upgradeAdds[b], most - headroom) };
}

function dollars(cents: number): number {
  return cents / CENTS_PER_DOLLAR;
}

/** Collects columns with their entries; entries of a column that stands already are added at the end. */
class ModelDraft {
  readonly #cost: number[] = [];
  readonly #lower: number[] = [];
  readonly #upper: number[] = [];
  readonly #integer: number[] = [];
  readonly #rowLower: number[] = [];
  readonly #rowUpper: number[] = [];
  readonly #rows: RowMeaning[] = [];
  readonly #entryColumn: number[] = [];
  readonly #entryRow: number[] = [];
  readonly #entryValue: number[] = [];

  get columnCount(): number {
    return this.#cost.length;
  }

  row(meaning: RowMeaning, lower: number, upper: number): number {
    this.#rows.push(meaning);
    this.#rowLower.push(lower);
    this.#rowUpper.push(upper);
    return this.#rows.length - 1;
  }

  rowBlock(count: number, meaning: RowMeaning, lower: number, upper: number): number {
    const first = this.#rows.length;
    for (let n = 0; n < count; n++) this.row(meaning, lower, upper);
    return first;
  }

  column(cost: number, lower: number, upper: number, integer: boolean): number {
    this.#cost.push(cost);
    this.#lower.push(lower);
    this.#upper.push(upper);
    this.#integer.push(integer ? 1 : 0);
    return this.#cost.length - 1;
  }

  /** An entry of the column made last. */
  entry(row: number, value: number): void {
    this.lateEntry(this.#cost.length - 1, row, value);
  }

  lateEntry(column: number, row: number, value: number): void {
    this.#entryColumn.push(column);
    this.#entryRow.push(row);
    this.#entryValue.push(value);
  }

  finish(): Omit<ExactModel, "columns"> {
    const columnCount = this.#cost.length;
    const entryCount = this.#entryColumn.length;
    const starts = new Int32Array(columnCount + 1);
    for (const column of this.#entryColumn) starts[column + 1]++;
    for (let c = 0; c < columnCount; c++) starts[c + 1] += starts[c];
    const next = starts.slice(0, columnCount);
    const indices = new Int32Array(entryCount);
    const values = new Float64Array(entryCount);
    for (let e = 0; e < entryCount; e++) {
      const at = next[this.#entryColumn[e]]++;
      indices[at] = this.#entryRow[e];
      values[at] = this.#entryValue[e];
    }
    return {
      columnCount,
      rowCount: this.#rows.length,
      columnCost: Float64Array.from(this.#cost),
      columnLower: Float64Array.from(this.#lower),
      columnUpper: Float64Array.from(this.#upper),
      integrality: Int32Array.from(this.#integer),
      rowLower: Float64Array.from(this.#rowLower),
      rowUpper: Float64Array.from(this.#rowUpper),
      starts,
      indices,
      values,
      rows: this.#rows,
    };
  }
}
