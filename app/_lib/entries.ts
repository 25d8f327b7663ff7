/** The texts of a form by field, as both sides check them. */
export function entriesOf(form: FormData): Record<string, string> {
  return Object.fromEntries(
    [...form].flatMap(([name, value]) => (typeof value === "string" ? [[name, value]] : [])),
  );
}
