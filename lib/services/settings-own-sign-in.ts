import "server-only";
import { APIError } from "better-auth/api";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { auth } from "./auth";
import { changePasswordSchema } from "./settings-people-form";

/** Changes the password of whoever is signed in; other sessions of theirs end. */
export async function changeOwnPassword(input: unknown, headers: Headers): Promise<Outcome<null>> {
  const parsed = parseWith(changePasswordSchema, input);
  if (!parsed.ok) return parsed;
  const { current, password } = parsed.value;
  try {
    await auth().api.changePassword({
      body: { currentPassword: current, newPassword: password, revokeOtherSessions: true },
      headers,
    });
    return success(null);
  } catch (error) {
    if (error instanceof APIError) {
      return failure({ path: "current", message: "This is not your password. Type it again." });
    }
    throw error;
  }
}
