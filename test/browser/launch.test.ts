import { once } from "node:events";
import { mkdir, readFile, rm, writeFile } from "node:fs/promises";
import { createServer } from "node:net";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { makeDataDirectory, spawnProgram, startProgram } from "@/test/support/program";

let data: Awaited<ReturnType<typeof makeDataDirectory>>;

beforeAll(async () => {
  data = await makeDataDirectory();
});

afterAll(async () => {
  await data.remove();
});

/** Process id of the database server, from the lock file that it keeps while it runs. */
async function databaseProcess(): Promise<number> {
  const text = await readFile(join(data.path, "postgres/postmaster.pid"), "utf8");
  return Number(text.split("\n")[0]);
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
}

/** Starts the program where it cannot start; gives what it said and its exit code. */
async function failToStart(variables: Readonly<Record<string, string>>) {
  const program = spawnProgram({ PORT: "0", ...variables });
  const code = await program.exited;
  return { code, said: program.output().trim() };
}

describe("starting and stopping", () => {
  test("a first start makes the demo, says where it is and how to sign in; Ctrl-C ends it and its database", async () => {
    const program = await startProgram({ TANKLORE_DATA_DIR: data.path });
    expect(program.output()).toMatch(/demo sign-in: \S+@demo\.example, password: \S+/);
    expect((await fetch(`${program.baseUrl}/sign-in`)).status).toBe(200);
    const database = await databaseProcess();

    expect(await program.interrupt()).toBe(0);
    expect(isAlive(database)).toBe(false);
    expect(isAlive(program.process.pid ?? 0)).toBe(false);
  });

  test("a killed program leaves data that the next start recovers", async () => {
    const program = await startProgram({ TANKLORE_DATA_DIR: data.path });
    const left = await databaseProcess();
    program.process.kill("SIGKILL");
    await once(program.process, "exit").catch(() => undefined);

    const next = await startProgram({ TANKLORE_DATA_DIR: data.path });
    expect(next.output()).not.toMatch(/making the demo portfolio/);
    expect((await fetch(`${next.baseUrl}/sign-in`)).status).toBe(200);
    expect(await databaseProcess()).not.toBe(left);
    expect(isAlive(left)).toBe(false);
    await next.interrupt();
  });

  test("a killed program and a killed database leave data that the next start recovers", async () => {
    const program = await startProgram({ TANKLORE_DATA_DIR: data.path });
    const database = await databaseProcess();
    program.process.kill("SIGKILL");
    process.kill(database, "SIGKILL");

    const next = await startProgram({ TANKLORE_DATA_DIR: data.path });
    expect((await fetch(`${next.baseUrl}/sign-in`)).status).toBe(200);
    await next.interrupt();
  });

  test("a port in use is one clear line", async () => {
    const other = createServer().listen(0, "127.0.0.1");
    await once(other, "listening");
    const address = other.address();
    const port = typeof address === "object" && address ? String(address.port) : "";
    const { code, said } = await failToStart({ PORT: port, TANKLORE_DATA_DIR: data.path });
    other.close();
    expect(code).toBe(1);
    expect(said).toBe(
      `port ${port} on 127.0.0.1 is in use: stop what uses it, or set PORT to another`,
    );
  });

  test("data of another PostgreSQL version is one clear line and is left alone", async () => {
    const other = await makeDataDirectory();
    await mkdir(join(other.path, "postgres"));
    await writeFile(join(other.path, "postgres/PG_VERSION"), "12\n");
    const { code, said } = await failToStart({ TANKLORE_DATA_DIR: other.path });
    expect(code).toBe(1);
    expect(said).toMatch(/^the data in \S+ is of PostgreSQL 12, this program brings \d+: [^\n]+$/);
    expect(await readFile(join(other.path, "postgres/PG_VERSION"), "utf8")).toBe("12\n");
    await other.remove();
  });

  test("a data directory that cannot be written is one clear line", async () => {
    const other = await makeDataDirectory();
    const file = join(other.path, "a-file");
    await writeFile(file, "");
    const { code, said } = await failToStart({ TANKLORE_DATA_DIR: join(file, "data") });
    expect(code).toBe(1);
    expect(said).toMatch(/^cannot (read|write)[^\n]+$/);
    await rm(file);
    await other.remove();
  });

  test("a setting that cannot be used is named", async () => {
    const { code, said } = await failToStart({ PORT: "eighty", TANKLORE_DATA_DIR: data.path });
    expect(code).toBe(1);
    expect(said).toBe("cannot use the settings: PORT must be a port number");
  });
});
