import { executeImportWork } from "@/lib/services/bring-in-run";
import type { JobHandler } from "./definitions";

/** Checks, brings in or undoes a batch. Done twice it does it once. */
export const runImportJob: JobHandler = (data, { signal }) => executeImportWork(data, { signal });
