import type { Outcome } from "@/lib/core/shared/outcome";

type Door = (input: unknown) => Outcome<unknown> | Promise<Outcome<unknown>>;

/** What can be computed without the web application; docs/compute.md has the formats. */
const DOORS: Readonly<Record<string, () => Promise<Door>>> = {
  "survival-fit": async () => (await import("@/lib/core/survival/compute-fit")).computeSurvivalFit,
  "survival-predict": async () =>
    (await import("@/lib/core/survival/compute-predict")).computeSurvivalPredict,
  plan: async () => (await import("@/lib/core/planning/compute-plan")).computePlan,
  simulate: async () =>
    (await import("@/lib/core/planning/simulation/compute-simulate")).computeSimulate,
  energy: async () => (await import("@/lib/core/energy/energy-door")).computeEnergyDoor,
  emissions: async () => (await import("@/lib/core/emissions/emissions-door")).computeEmissionsDoor,
  sizing: async () => (await import("@/lib/core/heaters/sizing-door")).computeSizing,
  water: async () => (await import("@/lib/core/upkeep/water-door")).computeWater,
  upkeep: async () => (await import("@/lib/core/upkeep/upkeep-door")).computeUpkeep,
};

const BAD_INPUT = 2;
const FAILURE = 1;

async function main(what: string | undefined): Promise<number> {
  const load = what === undefined ? undefined : DOORS[what];
  if (!load) {
    const known = Object.keys(DOORS).join(", ");
    return refuse("", `say what to compute: one of ${known}; got ${what ?? "nothing"}`);
  }
  let input: unknown;
  try {
    input = JSON.parse(await readAll(process.stdin));
  } catch (error) {
    return refuse("", `standard input is not JSON: ${(error as Error).message}`);
  }
  const compute = await load();
  const outcome = await compute(input);
  if (!outcome.ok) {
    const [problem] = outcome.problems;
    return refuse(problem?.path ?? "", problem?.message ?? "the input cannot be used");
  }
  await write(`${JSON.stringify(outcome.value)}\n`);
  return 0;
}

function refuse(path: string, message: string): number {
  process.stderr.write(`${JSON.stringify({ error: { path, message } })}\n`);
  return BAD_INPUT;
}

async function readAll(stream: NodeJS.ReadableStream): Promise<string> {
  const chunks: Buffer[] = [];
  for await (const chunk of stream) chunks.push(Buffer.from(chunk));
  return Buffer.concat(chunks).toString("utf8");
}

/** A pipe may take less than all at once; leaving before it has drained would cut the answer. */
function write(text: string): Promise<void> {
  return new Promise((resolve) => process.stdout.write(text, () => resolve()));
}

process.exitCode = await main(process.argv[2]).catch((error) => {
  console.error(error);
  return FAILURE;
});
