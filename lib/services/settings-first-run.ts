import "server-only";
import { hashPassword } from "better-auth/crypto";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { foundOrganization, isInstallationEmpty } from "@/lib/data/first-run";
import { firstRunSchema } from "./settings-people-form";

/** True while this installation has no organisation: whoever comes first makes it. */
export function isNewInstallation(): Promise<boolean> {
  return isInstallationEmpty();
}

/**
 * Makes the organisation of a new installation and its owner; refused for ever after.
 * @returns the address to sign in with
 */
export async function makeFirstOwner(input: unknown): Promise<Outcome<string>> {
  const refused = {
    path: "",
    message: "This installation has an owner already: ask them to add you, then sign in.",
  };
  if (!(await isInstallationEmpty())) return failure(refused);
  const parsed = parseWith(firstRunSchema, input);
  if (!parsed.ok) return parsed;
  const { organizationName, unitSystem, name, email, password } = parsed.value;
  const passwordHash = await hashPassword(password);
  const organizationId = await foundOrganization({
    organizationName,
    unitSystem,
    name,
    email,
    passwordHash,
  });
  return organizationId === null ? failure(refused) : success(email);
}
