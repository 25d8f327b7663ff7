import "server-only";
import { APIError } from "better-auth/api";
import { z } from "zod";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { auth } from "./auth";

const credentials = z.object({
  email: z.email({ message: "Enter an email address." }),
  password: z.string().min(1, "Enter your password."),
});

/** Checks email and password and starts a session; the cookie is set on the answer. */
export async function startSession(input: unknown, headers: Headers): Promise<Outcome<null>> {
  const parsed = parseWith(credentials, input);
  if (!parsed.ok) return parsed;
  try {
    await auth().api.signInEmail({ body: parsed.value, headers });
    return success(null);
  } catch (error) {
    if (error instanceof APIError && error.status === "TOO_MANY_REQUESTS") {
      const seconds = Number(new Headers(error.headers).get("retry-after"));
      return failure({ path: "password", message: waitMessage(seconds) });
    }
    if (error instanceof APIError) {
      return failure({
        path: "password",
        message: "Email and password do not belong together. Check both and try again.",
      });
    }
    throw error;
  }
}

function waitMessage(seconds: number): string {
  const wait = seconds < 90 ? `${seconds} seconds` : `${Math.ceil(seconds / 60)} minutes`;
  return `Too many attempts for this email. Wait ${wait}, then try again.`;
}

export async function endSession(headers: Headers): Promise<void> {
  await auth().api.signOut({ headers });
}

/** Answers the authentication library's own routes. */
export function handleAuthRequest(request: Request): Promise<Response> {
  return auth().handler(request);
}
