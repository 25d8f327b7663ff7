import {
  isCombustion,
  isHeatPump,
  TECHNOLOGY_LABELS,
  type Technology,
} from "@/lib/core/heaters/vocabulary";

/** The technology by word, shape and ink: a copper triangle burns, a blue-green disc pumps heat. */
export function TechnologyMark({ technology }: { readonly technology: Technology }) {
  const kind = isCombustion(technology)
    ? "mark--combustion"
    : isHeatPump(technology)
      ? "mark--heat-pump"
      : "";
  return <span className={`mark ${kind}`}>{TECHNOLOGY_LABELS[technology]}</span>;
}
