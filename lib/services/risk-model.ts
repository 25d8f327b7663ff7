import { FIT_METHOD } from "@/lib/core/survival/fit-records";
import { PRIOR_MODEL, type SurvivalModel } from "@/lib/core/survival/model";
import { findAdoptedModel, findAdoptedNumber } from "@/lib/data/survival-fits";
import type { SqlClient } from "@/lib/data/tenant";

/**
 * The model that the organisation has in use: its adopted fit, or published lifetimes before one is
 * adopted. Its `method` names it beside every number it gives.
 */
export async function loadCurrentModel(client: SqlClient): Promise<SurvivalModel> {
  return (await findAdoptedModel(client, FIT_METHOD)) ?? PRIOR_MODEL;
}

/** The `method` of the model in use, without reading the model. */
export async function readCurrentMethod(client: SqlClient): Promise<string> {
  const number = await findAdoptedNumber(client, FIT_METHOD);
  return number === null ? PRIOR_MODEL.method : fitName(number);
}

/** Name of the fit with this number, as rankings and plans that used it say it. */
export function fitName(number: number): string {
  return `fit ${number}`;
}
