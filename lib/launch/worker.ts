import { EnvironmentError, readEnvironment } from "@/lib/config/environment";
import { StartError } from "./start-error";

/** `npm run worker`: one more worker on the database of DATABASE_URL, on this or another machine. */
async function main(): Promise<void> {
  const environment = readEnvironment();
  if (!environment.appDatabaseUrl) {
    throw new StartError(
      "set TANKLORE_APP_DATABASE_URL to the address of the application's own database role",
    );
  }
  process.env.TANKLORE_APP_DATABASE_URL = environment.appDatabaseUrl;
  const { startWork } = await import("@/lib/jobs/worker");
  const work = await startWork();
  console.log("worker ready; Ctrl-C stops it.");
  const stop = () => void work.stop().then(() => process.exit(0));
  process.once("SIGINT", stop).once("SIGTERM", stop);
}

await main().catch((error) => {
  const isPlain = error instanceof StartError || error instanceof EnvironmentError;
  console.error(isPlain ? error.message : error);
  process.exit(1);
});
