import { failure, type Outcome, success } from "./outcome";

/** Money is a whole number of cents. */
export type Cents = number;

/** Rounds half away from zero, so that a refund rounds as its charge does. */
export function roundToCents(cents: number): Cents {
  return Math.sign(cents) * Math.round(Math.abs(cents));
}

/** `123456` becomes `$1,234.56`, or `$1,235` with `whole`. */
export function formatCents(
  cents: Cents,
  { whole = false, locale = "en-US" }: { readonly whole?: boolean; readonly locale?: string } = {},
): string {
  return new Intl.NumberFormat(locale, {
    style: "currency",
    currency: "USD",
    minimumFractionDigits: whole ? 0 : 2,
    maximumFractionDigits: whole ? 0 : 2,
  }).format(cents / 100);
}

/** Reads `$1,234.56`, `1234.5`, `(120)` (a credit) as cents; more than two decimals are refused. */
export function parseCents(text: string, path = "amount"): Outcome<Cents> {
  const trimmed = text.trim();
  const credit = /^\(.*\)$/.test(trimmed) || /^-/.test(trimmed);
  const digits = trimmed.replace(/[($,\s)-]/g, "");
  if (!/^(\d+(\.\d{0,2})?|\.\d{1,2})$/.test(digits)) {
    return failure({ path, message: `"${text}" is not an amount in dollars and cents` });
  }
  const [dollars, fraction = ""] = digits.split(".");
  const cents = Number(dollars || "0") * 100 + Number(fraction.padEnd(2, "0"));
  if (!Number.isSafeInteger(cents)) return failure({ path, message: `"${text}" is too large` });
  return success(credit ? -cents : cents);
}
