import { resolve } from "node:path";
import { beforeRestore, checkBackup, restoreBackup } from "@/lib/data/backup";
import { prepareAppRole } from "@/lib/data/prepare";
import { reachDatabase, runCommand } from "./reach-database";
import { loadSecrets } from "./secrets";
import { StartError } from "./start-error";

/**
 * `npm run restore -- file`: puts an archive in the place of the record, all or nothing.
 * `npm run restore -- --check file` only reads it and says what it holds.
 */
await runCommand(async (environment) => {
  const names = process.argv.slice(2).filter((argument) => argument !== "--check");
  const onlyCheck = process.argv.includes("--check");
  const [name] = names;
  if (!name || names.length > 1) {
    throw new StartError("say which archive: npm run restore -- [--check] file");
  }
  const file = resolve(name);
  const checked = await checkBackup(file, process.cwd());
  const figures = `${checked.rows.toLocaleString("en-US")} rows of ${checked.tables} tables, made ${checked.madeAt}`;
  if (onlyCheck) {
    console.log(`${file} is whole: ${figures}`);
    return;
  }
  const database = await reachDatabase(environment, { mayMake: true });
  try {
    await restoreBackup({
      adminUrl: database.adminUrl,
      database: database.database,
      file,
      projectRoot: process.cwd(),
    });
    const { appPassword } = await loadSecrets(environment.dataDir);
    if (!environment.appDatabaseUrl) await prepareAppRole(database.ownerUrl, appPassword);
    console.log(`restored: ${figures}`);
    console.log(
      `What was there before, if anything, is kept as database ${beforeRestore(database.database)} until the next restore.`,
    );
  } finally {
    await database.stop();
  }
});
