import { EnvironmentError, readEnvironment } from "@/lib/config/environment";
import { startThread } from "@/lib/jobs/thread";
import { buildIfStale } from "./build";
import { openDatabase } from "./database";
import { generateClient } from "./generate";
import { loadSecrets } from "./secrets";
import { StartError } from "./start-error";
import { reservePort, serveWeb } from "./web";

type Stoppable = { readonly stop: () => Promise<void> };

/** Starts everything in order and stops it in the reverse order. */
async function main(): Promise<void> {
  const flags = new Set(process.argv.slice(2));
  const isDev = flags.has("--dev");
  Object.assign(process.env, { NODE_ENV: isDev ? "development" : "production" });
  process.env.NEXT_TELEMETRY_DISABLED = "1";
  const projectRoot = process.cwd();
  const say = (line: string) => console.log(line);

  const running: Stoppable[] = [];
  let stopping: Promise<void> | null = null;
  const stopAll = () => {
    stopping ??= (async () => {
      for (const part of running.reverse()) {
        await part.stop().catch((error) => console.error(`while stopping: ${String(error)}`));
      }
    })();
    return stopping;
  };
  const onSignal = () => {
    if (stopping) return;
    say("stopping …");
    void stopAll().then(() => process.exit(0));
  };
  process.on("SIGINT", onSignal).on("SIGTERM", onSignal);

  try {
    const environment = readEnvironment();
    const reserved = await reservePort(environment.host, environment.port);
    const secrets = await loadSecrets(environment.dataDir);
    await generateClient(projectRoot);

    const database = await openDatabase(environment, secrets, projectRoot);
    running.push(database);
    const address = reserved.address();
    const port = typeof address === "object" && address ? address.port : environment.port;
    const baseUrl = environment.baseUrl ?? `http://${environment.host}:${port}`;
    Object.assign(process.env, {
      TANKLORE_APP_DATABASE_URL: database.appUrl,
      TANKLORE_AUTH_SECRET: environment.authSecret ?? secrets.authSecret,
      TANKLORE_BASE_URL: baseUrl,
    });

    const wantsDemo = database.isEmbedded || flags.has("--demo");
    const demo = await import("./demo");
    if (wantsDemo && database.isEmpty) await demo.loadDemo(database.ownerUrl, say);

    if (!isDev) await buildIfStale(projectRoot, say);
    running.push(await startWorker());
    const { host, metricsToken } = environment;
    running.push(await serveWeb(reserved, { projectRoot, isDev, host, metricsToken }));

    const signIn = await demo.describeSignIn(database.ownerUrl);
    say([`Tanklore is ready: ${baseUrl}`, ...signIn, "Ctrl-C stops it."].join("\n"));
  } catch (error) {
    await stopAll();
    const isPlain = error instanceof StartError || error instanceof EnvironmentError;
    console.error(isPlain ? error.message : error);
    process.exit(1);
  }
}

/** Jobs run in a thread of their own, off the request path. */
async function startWorker(): Promise<{ stop: () => Promise<void> }> {
  const worker = startThread(new URL("../jobs/worker-thread.ts", import.meta.url));
  await new Promise<void>((resolve, reject) => {
    worker.once("message", () => resolve());
    worker.once("error", reject);
  });
  const ended = new Promise<void>((resolve) => worker.once("exit", () => resolve()));
  return {
    stop: async () => {
      worker.postMessage("stop");
      const impatience = setTimeout(() => void worker.terminate(), 5_000);
      await ended;
      clearTimeout(impatience);
    },
  };
}

await main();
