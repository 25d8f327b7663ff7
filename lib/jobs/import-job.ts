import { executeImportWork, refreshRegisterAfterImport } from "@/lib/services/bring-in-run";
import type { JobHandler } from "./definitions";

/** Checks, brings in or undoes a batch, then brings the register up to date. Done twice it does it once. */
export const runImportJob: JobHandler = async (data, { signal }) => {
  await executeImportWork(data, { signal });
  await refreshRegisterAfterImport(data);
};
