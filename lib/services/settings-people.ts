import "server-only";
import { createHash, randomBytes } from "node:crypto";
import { hashPassword } from "better-auth/crypto";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import {
  countOtherMemberships,
  deleteMember,
  disableSignIn,
  findLink,
  findUserByEmail,
  insertMember,
  insertUser,
  listPeople,
  lockMembers,
  type PersonRow,
  replaceLink,
  setPassword,
  takeLink,
  updateMemberRole,
} from "@/lib/data/people";
import { isUniqueViolation } from "@/lib/data/sql-errors";
import { asPerson, type TenantClient, withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import {
  addPersonSchema,
  changeRoleSchema,
  choosePasswordSchema,
  personSchema,
} from "./settings-people-form";
import { requireAction, type Viewer } from "./viewer";

/** How long a link to choose a password works. */
export const LINK_DAYS = 7;

export type PeopleView = { readonly mayManage: boolean; readonly people: readonly PersonRow[] };

/** The people of the organisation with their roles. */
export function readPeople(viewer: Viewer): Promise<PeopleView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => ({
    mayManage: mayDo(viewer.role, "people.manage"),
    people: await listPeople(client),
  }));
}

/** A link by which a person chooses a password; its token is shown once and kept as a hash. */
export type PasswordLink = {
  readonly token: string;
  readonly name: string;
  readonly email: string;
};

/**
 * Adds a person with a role. They sign in once they have chosen a password by the link. An address
 * that signs in for another organisation of this installation is refused.
 */
export async function addPerson(viewer: Viewer, input: unknown): Promise<Outcome<PasswordLink>> {
  requireAction(viewer, "people.manage");
  const parsed = parseWith(addPersonSchema, input);
  if (!parsed.ok) return parsed;
  const { name, email, role } = parsed.value;
  const taken = (message: string) => failure({ path: "email", message });
  try {
    return await withSql(viewer, async (client) => {
      const known = await findUserByEmail(client, email);
      if (known) {
        const members = await lockMembers(client);
        if (members.some(({ userId }) => userId === known.id)) {
          return taken("This person is here already: change the role in the list.");
        }
        if ((await countOtherMemberships(client, viewer.organizationId, known.id)) > 0) {
          return taken("This address signs in for another organization here: use another one.");
        }
      }
      const userId = known?.id ?? (await insertUser(client, { name, email }));
      await insertMember(client, viewer.organizationId, { userId, role });
      await log(client, viewer, "person.add", userId, undefined, { name, email, role });
      const token = await makeLink(client, userId);
      return success({ token, name: known?.name ?? name, email });
    });
  } catch (error) {
    if (isUniqueViolation(error)) return taken("Somebody has just added this address.");
    throw error;
  }
}

/** A new link for a person who lost theirs or forgot the password; earlier links stop working. */
export async function renewLink(viewer: Viewer, input: unknown): Promise<Outcome<PasswordLink>> {
  requireAction(viewer, "people.manage");
  const parsed = parseWith(personSchema, input);
  if (!parsed.ok) return parsed;
  const { userId } = parsed.value;
  return withSql(viewer, async (client) => {
    const person = (await listPeople(client)).find((one) => one.userId === userId);
    if (!person) return failure(NO_SUCH_PERSON);
    // Whoever holds the link takes the sign-in over, so it may not open another organisation.
    if ((await countOtherMemberships(client, viewer.organizationId, userId)) > 0) {
      return failure({ path: "", message: "This person belongs to another organization too." });
    }
    const token = await makeLink(client, userId);
    await log(client, viewer, "person.link", userId, undefined, { name: person.name });
    return success({ token, name: person.name, email: person.email });
  });
}

/** Gives a person another role; the last owner stays one. */
export async function changeRole(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "people.manage");
  const parsed = parseWith(changeRoleSchema, input);
  if (!parsed.ok) return parsed;
  const { userId, role } = parsed.value;
  return withSql(viewer, async (client) => {
    const members = await lockMembers(client);
    const member = members.find((one) => one.userId === userId);
    if (!member) return failure(NO_SUCH_PERSON);
    if (member.role === role) return success(null);
    if (role !== "owner" && isLastOwner(members, userId)) return failure(LAST_OWNER);
    await updateMemberRole(client, userId, role);
    await log(client, viewer, "person.role", userId, { role: member.role }, { role });
    return success(null);
  });
}

/** Takes a person out of the organisation and ends their sign-in; the last owner stays. */
export async function removePerson(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "people.manage");
  const parsed = parseWith(personSchema, input);
  if (!parsed.ok) return parsed;
  const { userId } = parsed.value;
  return withSql(viewer, async (client) => {
    const members = await lockMembers(client);
    const person = (await listPeople(client)).find((one) => one.userId === userId);
    if (!person) return failure(NO_SUCH_PERSON);
    if (isLastOwner(members, userId)) return failure(LAST_OWNER);
    const others = await countOtherMemberships(client, viewer.organizationId, userId);
    await deleteMember(client, userId);
    if (others === 0) await disableSignIn(client, userId);
    const { name, email, role } = person;
    await log(client, viewer, "person.remove", userId, { name, email, role }, undefined);
    return success(null);
  });
}

const NO_SUCH_PERSON = { path: "", message: "This person is not in the organization any more." };
const LAST_OWNER = {
  path: "role",
  message: "This is the last owner: make somebody else an owner first.",
};

function isLastOwner(
  members: readonly { readonly userId: string; readonly role: string }[],
  userId: string,
): boolean {
  return members.every((member) => (member.role === "owner") === (member.userId === userId));
}

/** Whose link this is; null when it was used, replaced or is too old. */
export async function readLink(
  token: string,
): Promise<{ readonly name: string; readonly email: string } | null> {
  return findLink(hashToken(token));
}

/**
 * Chooses a password by a link, once.
 * @returns the address to sign in with
 */
export async function choosePassword(token: string, input: unknown): Promise<Outcome<string>> {
  const parsed = parseWith(choosePasswordSchema, input);
  if (!parsed.ok) return parsed;
  const tokenHash = hashToken(token);
  const used = { path: "", message: "This link does not work any more: ask an owner for another." };
  const link = await findLink(tokenHash);
  if (!link) return failure(used);
  const passwordHash = await hashPassword(parsed.value.password);
  return asPerson(link.userId, async (client) => {
    if (!(await takeLink(client, tokenHash))) return failure(used);
    await setPassword(client, link.userId, passwordHash);
    return success(link.email);
  });
}

async function makeLink(client: TenantClient, userId: string): Promise<string> {
  const token = randomBytes(32).toString("base64url");
  await replaceLink(client, { userId, tokenHash: hashToken(token), days: LINK_DAYS });
  return token;
}

function hashToken(token: string): string {
  return createHash("sha256").update(token).digest("hex");
}

function log(
  client: TenantClient,
  viewer: Viewer,
  action: string,
  userId: string,
  before: unknown,
  after: unknown,
): Promise<void> {
  return writeAudit(client, viewer.organizationId, {
    userId: viewer.userId,
    action,
    entity: "Person",
    entityId: userId,
    before,
    after,
  });
}
