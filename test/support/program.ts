import { type ChildProcess, spawn } from "node:child_process";
import { chmod, mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";

export type Program = {
  readonly baseUrl: string;
  readonly output: () => string;
  readonly process: ChildProcess;
  /** Asks it to end as Ctrl-C does and waits; gives the exit code. */
  readonly interrupt: () => Promise<number | null>;
};

/** A data directory that the database's account can reach. */
export async function makeDataDirectory(): Promise<{ path: string; remove: () => Promise<void> }> {
  const path = await mkdtemp(join(tmpdir(), "tanklore-data-"));
  await chmod(path, 0o755);
  return { path, remove: () => rm(path, { recursive: true, force: true }) };
}

/** Starts the program as `npm start` does. */
export function spawnProgram(variables: Readonly<Record<string, string>>): {
  readonly process: ChildProcess;
  readonly output: () => string;
  readonly exited: Promise<number | null>;
} {
  const child = spawn(process.execPath, ["--import", "tsx", "lib/launch/start.ts"], {
    cwd: process.cwd(),
    env: { ...environmentWithoutTests(), ...variables },
    stdio: ["ignore", "pipe", "pipe"],
  });
  let output = "";
  for (const stream of [child.stdout, child.stderr]) {
    stream.on("data", (chunk: Buffer) => {
      output += chunk.toString();
    });
  }
  const exited = new Promise<number | null>((resolve) => child.once("exit", resolve));
  return { process: child, output: () => output, exited };
}

/** Waits until it says that it is ready. */
export async function startProgram(variables: Readonly<Record<string, string>>): Promise<Program> {
  const program = spawnProgram({ PORT: "0", ...variables });
  const ready = /is ready: (http:\/\/\S+)/;
  const baseUrl = await new Promise<string>((resolve, reject) => {
    const look = setInterval(() => {
      const match = ready.exec(program.output());
      if (!match?.[1] || !program.output().includes("Ctrl-C")) return;
      clearInterval(look);
      resolve(match[1]);
    }, 50);
    void program.exited.then(() => {
      clearInterval(look);
      reject(new Error(`the program ended:\n${program.output()}`));
    });
  });
  return {
    baseUrl,
    output: program.output,
    process: program.process,
    interrupt: () => {
      program.process.kill("SIGINT");
      return program.exited;
    },
  };
}

/** The settings of a test run must not reach the program under test. */
function environmentWithoutTests(): NodeJS.ProcessEnv {
  const own = Object.entries(process.env).filter(
    ([name]) => !/^(VITEST|TEST$|NODE_ENV$|TANKLORE_|DATABASE_URL$|PORT$|HOST$)/.test(name),
  );
  return Object.fromEntries(own) as NodeJS.ProcessEnv;
}
