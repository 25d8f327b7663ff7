import type { TestProject } from "vitest/node";
import { startThrowawayServer } from "./throwaway-server";

declare module "vitest" {
  interface ProvidedContext {
    /** Owner's connection to the maintenance database of the throw-away server. */
    adminUrl: string;
  }
}

/** One throw-away server for all database tests; each file copies its own database from the template. */
export default async function setup(project: TestProject): Promise<() => Promise<void>> {
  const server = await startThrowawayServer();
  project.provide("adminUrl", server.urlOf("postgres"));
  return server.stop;
}
