import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

export const SURVIVAL_DATA_FOLDER = fileURLToPath(
  new URL("../fixtures/survival/", import.meta.url),
);

/** Rows of a data set as records of text by column; see the folder's README for its source. */
export function readDataSet(name: string): readonly Readonly<Record<string, string>>[] {
  const [head, ...lines] = readFileSync(`${SURVIVAL_DATA_FOLDER}${name}.csv`, "utf8")
    .trim()
    .split("\n");
  const names = head.split(",");
  return lines.map((line) => {
    const cells = line.split(",");
    return Object.fromEntries(names.map((column, i) => [column, cells[i]]));
  });
}

/** One observation as the command `survival-fit` takes it. */
export type Observation = {
  readonly entry?: number;
  readonly exit?: number;
  readonly exitRange?: readonly [number, number];
  readonly event: boolean;
  readonly x?: Readonly<Record<string, number>>;
};

type Row = Readonly<Record<string, string>>;

const withCovariates = (row: Row, names: readonly string[]): Readonly<Record<string, number>> =>
  Object.fromEntries(names.map((name) => [name, Number(row[name])]));

export function ovarian(...covariates: readonly string[]): readonly Observation[] {
  return readDataSet("ovarian").map((row) => ({
    exit: Number(row.futime),
    event: row.fustat === "1",
    x: withCovariates(row, covariates),
  }));
}

/** A patient with a missing covariate is left out, as R does. */
export function lung(...covariates: readonly string[]): readonly Observation[] {
  return readDataSet("lung")
    .filter((row) => covariates.every((name) => row[name] !== "NA"))
    .map((row) => ({
      exit: Number(row.time),
      event: row.status === "2",
      x: withCovariates(row, covariates),
    }));
}

export function aml(): readonly Observation[] {
  return readDataSet("aml").map((row) => ({
    exit: Number(row.time),
    event: row.status === "1",
    x: { nonmaintained: row.x === "Nonmaintained" ? 1 : 0 },
  }));
}

export function bearingCage(): readonly Observation[] {
  return readDataSet("bearing-cage").flatMap((row) =>
    Array.from({ length: Number(row.count) }, () => ({
      exit: Number(row.hours),
      event: row.failed === "1",
    })),
  );
}

export function shockAbsorber(): readonly Observation[] {
  return readDataSet("shock-absorber").map((row) => ({
    exit: Number(row.km),
    event: row.failed === "1",
  }));
}

export function ballBearings(): readonly Observation[] {
  return readDataSet("ball-bearings").map((row) => ({
    exit: Number(row.megarevolutions),
    event: true,
  }));
}

/** Ages in years; the four residents who left on the day they entered say nothing. */
export function channing(): readonly Observation[] {
  return readDataSet("channing")
    .filter((row) => Number(row.age) > Number(row.ageentry))
    .map((row) => ({
      entry: Number(row.ageentry) / 12,
      exit: Number(row.age) / 12,
      event: row.death === "1",
      x: { woman: Number(row.gender) - 1 },
    }));
}

export function breastCosmesis(): readonly Observation[] {
  return readDataSet("breast-cosmesis").map((row) => {
    const x = { treat: Number(row.treat) };
    const lower = Number(row.lower);
    if (row.upper === "" || row.upper === undefined) return { exit: lower, event: false, x };
    return { exitRange: [lower, Number(row.upper)], event: true, x };
  });
}
