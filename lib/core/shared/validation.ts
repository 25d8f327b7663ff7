import type { z } from "zod";
import { failure, type Outcome, type Problem, success } from "./outcome";

/** Parses `input` with a zod schema and returns every issue as a {@link Problem} with its path. */
export function parseWith<S extends z.ZodType>(schema: S, input: unknown): Outcome<z.output<S>> {
  const result = schema.safeParse(input);
  if (result.success) return success(result.data);
  return failure(...result.error.issues.map(problemOfIssue));
}

function problemOfIssue(issue: z.core.$ZodIssue): Problem {
  const at = formatPath(issue.path);
  if (issue.code === "unrecognized_keys") {
    const key = issue.keys[0];
    return { path: at ? `${at}.${key}` : key, message: `unknown key "${key}"` };
  }
  return { path: at, message: issue.message };
}

/** `["heaters", 3, "ageYears"]` becomes `heaters[3].ageYears`. */
export function formatPath(path: readonly PropertyKey[]): string {
  let text = "";
  for (const part of path) {
    if (typeof part === "number") text += `[${part}]`;
    else text += text === "" ? String(part) : `.${String(part)}`;
  }
  return text;
}
