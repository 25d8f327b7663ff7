import { formatMoney, formatNumber } from "@/app/_lib/format";

/** `+$300`, `−$20`, `none`, or a dash where it is not known. */
export function centsDifference(cents: number | null): string {
  if (cents === null) return "–";
  if (cents === 0) return "none";
  return `${cents > 0 ? "+" : "−"}${formatMoney(Math.abs(cents))}`;
}

/** Days outside the planned period in words. */
export function daysDifference(days: number | null): string {
  if (days === null) return "day not known";
  if (days === 0) return "as planned";
  const count = Math.abs(days);
  return `${formatNumber(count)} ${count === 1 ? "day" : "days"} ${days < 0 ? "early" : "late"}`;
}
