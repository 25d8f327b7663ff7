import { isHeatPump } from "@/lib/core/heaters/vocabulary";
import type { CatalogueOption } from "@/lib/data/options";
import { ServiceError } from "./service-error";

/**
 * The option that places are held against: the one asked for, else the first heat pump for one home.
 * @throws {ServiceError} `invalid` when the catalogue offers nothing.
 */
export function referenceOption(
  options: readonly CatalogueOption[],
  asked: string | null,
): CatalogueOption {
  const option =
    options.find(({ code }) => code === asked) ??
    options.find(({ terms }) => isHeatPump(terms.technology) && terms.perHome === undefined) ??
    options[0];
  if (!option) {
    throw new ServiceError(
      "invalid",
      "The options catalogue offers nothing. Put an option back into use first.",
    );
  }
  return option;
}
