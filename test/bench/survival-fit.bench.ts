import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createRandom } from "@/lib/core/stats/random";
import { fitLifetimes } from "@/lib/core/survival/fit-lifetimes";
import { fitRecords } from "@/lib/core/survival/fit-records";
import { lifetimeColumns, type ObservedLifetime } from "@/lib/core/survival/lifetimes";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { PORTFOLIO_TODAY, simulatePortfolio } from "@/test/support/simulate-portfolio";

const LIFETIMES = 100_000;
const COEFFICIENTS = [0.1, 0.2, -0.1, 0.05, 0, 0.15];
const ROUNDS = 5;
const RECORDS = 10_000;

/** Right-censored lifetimes with six covariates, drawn from a known law. */
function inventLifetimes(): readonly ObservedLifetime[] {
  const random = createRandom(5);
  return Array.from({ length: LIFETIMES }, () => {
    const x = COEFFICIENTS.map(() => random.nextNormal());
    const rate = Math.exp(x.reduce((sum, value, j) => sum + value * COEFFICIENTS[j], 0));
    const life = (14.65 * (-Math.log1p(-random.nextUniform())) ** (1 / 2.5)) / rate;
    const end = 0.01 + 25 * random.nextUniform();
    const at = Math.min(life, end);
    return { entry: 0, lower: at, upper: at, outcome: life <= end ? "failed" : "alive", x };
  });
}

/** R's survreg on the same lifetimes: median seconds and its log-likelihood; null without R. */
function timeSurvreg(lifetimes: readonly ObservedLifetime[]) {
  const folder = mkdtempSync(join(tmpdir(), "survival-bench-"));
  try {
    const file = join(folder, "lifetimes.csv");
    writeFileSync(
      file,
      `time,failed,${COEFFICIENTS.map((_, j) => `x${j}`).join(",")}\n${lifetimes
        .map(({ lower, outcome, x }) => [lower, Number(outcome === "failed"), ...x].join(","))
        .join("\n")}\n`,
    );
    const script = [
      "suppressPackageStartupMessages(library(survival))",
      `d <- read.csv("${file}")`,
      `seconds <- replicate(${ROUNDS}, system.time(f <<- survreg(Surv(time, failed) ~ ., d))["elapsed"])`,
      'cat(median(seconds), formatC(f$loglik[2], digits = 12), "\\n")',
    ].join("; ");
    const { status, stdout } = spawnSync("Rscript", ["-e", script], { encoding: "utf8" });
    if (status !== 0) return null;
    const [seconds, logLikelihood] = stdout.trim().split(/\s+/).map(Number);
    return { seconds, logLikelihood };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** A fit of many lifetimes, against R's survreg where R is installed, and of a whole record. */
export async function run(): Promise<void> {
  compareWithSurvreg();
  const records = simulatePortfolio({
    truth: PRIOR_MODEL,
    seed: 3,
    heaters: RECORDS,
    properties: 100,
    recordYears: 15,
  });
  const start = performance.now();
  const fit = fitRecords(records, { today: PORTFOLIO_TODAY, method: "bench" });
  if (!fit.ok) throw new Error(JSON.stringify(fit.problems));
  console.log(
    `learning from the record of ${RECORDS} heaters at 100 properties, care and brackets included: ` +
      `${((performance.now() - start) / 1000).toFixed(1)} s`,
  );
}

function compareWithSurvreg(): void {
  const lifetimes = inventLifetimes();
  const names = COEFFICIENTS.map((_, j) => `x${j}`);
  const times: number[] = [];
  let logLikelihood = Number.NaN;
  for (let round = 0; round < ROUNDS; round++) {
    const start = performance.now();
    const fit = fitLifetimes(lifetimeColumns(names, lifetimes), null);
    times.push((performance.now() - start) / 1000);
    if (!fit.ok) throw new Error(JSON.stringify(fit.problems));
    logLikelihood = fit.value.logLikelihood;
  }
  const seconds = times.sort((a, b) => a - b)[Math.floor(ROUNDS / 2)];
  const ours = `fit of ${LIFETIMES} lifetimes with ${names.length} covariates: ${seconds.toFixed(3)} s`;
  const theirs = timeSurvreg(lifetimes);
  if (theirs === null) {
    console.log(`${ours} (R is not installed, no comparison)`);
    return;
  }
  console.log(
    `${ours}, R survreg ${theirs.seconds.toFixed(3)} s, R takes ${(theirs.seconds / seconds).toFixed(1)} times as long ` +
      `(log-likelihoods ${logLikelihood.toFixed(4)} and ${theirs.logLikelihood.toFixed(4)})`,
  );
}
