import type { Worker } from "node:worker_threads";
import type { ProblemArrays } from "@/lib/core/planning/problem-arrays";
import { BuildingOracle, type OracleAnswer } from "@/lib/core/planning/solvers/building-oracle";
import {
  type BuildingTeam,
  soloTeam,
  type TeamFor,
} from "@/lib/core/planning/solvers/building-team";
import { type TeamOrder, type TeamReport, takeGroups } from "./team-thread";
import { startThread } from "./thread";

/** Below this many heaters starting threads takes longer than they save. */
const FEWEST_HEATERS = 5_000;

/**
 * A team of this thread and `threads` − 1 others. Groups of buildings are fixed and each is answered by
 * one thread in one order, so that a plan is the same to the bit for any number of threads. Until the
 * others have started, and in problems too small for them, this thread answers alone.
 *
 * @throws {RangeError} for fewer than one thread
 */
export function threadTeam(threads: number): TeamFor {
  if (!(Number.isInteger(threads) && threads >= 1)) {
    throw new RangeError(`threads must be a whole number above zero, got ${threads}`);
  }
  return (arrays) =>
    threads === 1 || arrays.heaterCount < FEWEST_HEATERS
      ? soloTeam(arrays)
      : new ThreadTeam(inSharedMemory(arrays), threads - 1);
}

class ThreadTeam implements BuildingTeam {
  readonly #arrays: ProblemArrays;
  readonly #oracle: BuildingOracle;
  readonly #members: readonly Worker[];
  #number = 0;
  #onReport: (report: TeamReport) => void = () => undefined;
  #onFailure: (error: Error) => void = () => undefined;
  #failed: Error | null = null;

  constructor(arrays: ProblemArrays, members: number) {
    this.#arrays = arrays;
    this.#oracle = new BuildingOracle(arrays);
    this.#members = Array.from({ length: members }, () => {
      const member = startThread(new URL("./team-thread.ts", import.meta.url), {
        team: true,
        arrays,
      });
      member.on("message", (report: TeamReport) => this.#onReport(report));
      member.on("error", (error) => {
        this.#failed = error;
        this.#onFailure(error);
      });
      return member;
    });
  }

  newInt16Array = (length: number): Int16Array =>
    new Int16Array(new SharedArrayBuffer(length * Int16Array.BYTES_PER_ELEMENT));

  evaluate: BuildingTeam["evaluate"] = (task) =>
    new Promise<readonly OracleAnswer[]>((resolve, reject) => {
      if (this.#failed) {
        reject(this.#failed);
        return;
      }
      const number = ++this.#number;
      const next = new Int32Array(new SharedArrayBuffer(Int32Array.BYTES_PER_ELEMENT));
      const answers: OracleAnswer[] = new Array(task.groups.length);
      let missing = task.groups.length;
      const take = (taken: TeamReport["answers"]) => {
        for (const [group, answer] of taken) answers[group] = answer;
        missing -= taken.length;
        if (missing === 0) resolve(answers);
      };
      this.#onFailure = reject;
      this.#onReport = (report) => {
        if (report.number === number) take(report.answers);
      };
      const order: TeamOrder = { number, task, next };
      for (const member of this.#members) member.postMessage(order);
      take(takeGroups(this.#arrays, this.#oracle, order));
    });

  end: BuildingTeam["end"] = async () => {
    this.#onFailure = () => undefined;
    await Promise.all(this.#members.map((member) => member.terminate()));
  };
}

/** The same arrays in memory that threads share; those that are there already stay. */
export function inSharedMemory(arrays: ProblemArrays): ProblemArrays {
  const shared = Object.entries(arrays).map(([name, value]: [string, unknown]) => {
    if (value instanceof Float64Array) return [name, sharedCopy(value, Float64Array)];
    if (value instanceof Int32Array) return [name, sharedCopy(value, Int32Array)];
    if (value instanceof Int16Array) return [name, sharedCopy(value, Int16Array)];
    return [name, value];
  });
  return Object.fromEntries(shared) as ProblemArrays;
}

function sharedCopy<T extends Float64Array | Int32Array | Int16Array>(
  values: T,
  kind: new (buffer: SharedArrayBuffer) => T,
): T {
  if (values.buffer instanceof SharedArrayBuffer) return values;
  const copy = new kind(new SharedArrayBuffer(values.byteLength));
  copy.set(values);
  return copy;
}
