/** True when a row was refused because another has the same key (SQLSTATE 23505). */
export function isUniqueViolation(error: unknown): boolean {
  return (error as { code?: unknown } | null)?.code === "23505";
}
