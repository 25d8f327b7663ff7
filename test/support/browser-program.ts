import type { TestProject } from "vitest/node";
import { makeDataDirectory, startProgram } from "./program";

declare module "vitest" {
  interface ProvidedContext {
    /** Address of the program with its demo portfolio, built for production. */
    baseUrl: string;
  }
}

/** One program with a fresh demo for all browser tests. */
export default async function setup(project: TestProject): Promise<() => Promise<void>> {
  const data = await makeDataDirectory();
  const program = await startProgram({ TANKLORE_DATA_DIR: data.path });
  project.provide("baseUrl", program.baseUrl);
  return async () => {
    await program.interrupt();
    await data.remove();
  };
}
