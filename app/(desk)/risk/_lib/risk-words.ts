import { formatNumber } from "@/app/_lib/format";
import type { Verdict } from "@/lib/core/survival/back-test-verdict";

/** `0.12` becomes `+12 %`, `−0.12` becomes `−12 %`: a change, with its sign. */
export function formatChangeOfShare(share: number): string {
  const percent = Math.round(100 * share);
  if (percent === 0) return "0 %";
  return percent > 0 ? `+${percent} %` : `−${formatNumber(-percent)} %`;
}

/** What a back-test came to, in a word or two. */
export const GRADES: Readonly<Record<Verdict["grade"], { label: string; mark: string }>> = {
  good: { label: "held up on past years", mark: "mark mark--good" },
  mixed: { label: "held up in part on past years", mark: "mark" },
  poor: { label: "did not hold up on past years", mark: "mark mark--attention" },
  "too-few": { label: "too few failures to judge it by", mark: "mark" },
};
