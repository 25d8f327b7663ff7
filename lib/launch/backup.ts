import { existsSync } from "node:fs";
import { stat } from "node:fs/promises";
import { resolve } from "node:path";
import { writeBackup } from "@/lib/data/backup";
import { reachDatabase, runCommand } from "./reach-database";
import { StartError } from "./start-error";

/** `npm run backup [-- file]`: the whole record in one archive, while the program runs or not. */
await runCommand(async (environment) => {
  const now = new Date();
  const stamp = now.toISOString().slice(0, 16).replace(/[:T]/g, "-");
  const file = resolve(process.argv[2] ?? `tanklore-${stamp}.archive.gz`);
  if (existsSync(file)) throw new StartError(`${file} exists already: choose another name`);
  const database = await reachDatabase(environment, { mayMake: false });
  try {
    const { tables, rows, jobs } = await writeBackup(database.ownerUrl, file, now).catch(explain);
    const { size } = await stat(file);
    console.log(
      `${file}: ${rows.toLocaleString("en-US")} rows of ${tables} tables, ${jobs} waiting jobs, ${(size / 1e6).toFixed(1)} MB`,
    );
    console.log("Keep the installation's secrets.json with it: second factors need its key.");
  } finally {
    await database.stop();
  }
});

function explain(error: NodeJS.ErrnoException): never {
  const isFile = ["ENOENT", "EACCES", "ENOSPC", "EROFS", "EISDIR"].includes(error.code ?? "");
  throw isFile ? new StartError(`cannot write the archive (${error.message})`) : error;
}
