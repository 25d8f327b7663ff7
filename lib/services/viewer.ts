import "server-only";
import { ROLES, type Role } from "@/lib/core/shared/roles";
import { findMemberships } from "@/lib/data/sign-in";
import type { Tenant } from "@/lib/data/tenant";
import { auth } from "./auth";
import { type Action, mayDo } from "./permissions";
import { ServiceError } from "./service-error";

/** The person who is looking, and the organisation they look at. */
export type Viewer = Tenant & {
  readonly userId: string;
  readonly name: string;
  readonly email: string;
  readonly role: Role;
  readonly organizationName: string;
  readonly isDemo: boolean;
  readonly unitSystem: "us" | "si";
};

/** Who sent a request, or null when nobody is signed in or belongs to no organisation. */
export async function viewerOf(headers: Headers): Promise<Viewer | null> {
  const session = await auth().api.getSession({ headers });
  if (!session) return null;
  const [membership] = await findMemberships(session.user.id);
  if (!membership) return null;
  const role = ROLES.find((known) => known === membership.role);
  if (!role) return null;
  return {
    userId: session.user.id,
    name: session.user.name,
    email: session.user.email,
    organizationId: membership.organizationId,
    organizationName: membership.organizationName,
    isDemo: membership.isDemo,
    unitSystem: membership.unitSystem,
    role,
  };
}

/** @throws {ServiceError} `not-allowed` when the viewer's role does not include the action. */
export function requireAction(viewer: Viewer, action: Action): void {
  if (!mayDo(viewer.role, action)) {
    throw new ServiceError("not-allowed", "Your role does not include this. Ask an owner.");
  }
}
