import { asPerson } from "./tenant";

export { signInRecords as signInDatabase } from "./connections";

export type Membership = {
  readonly organizationId: string;
  readonly organizationName: string;
  readonly isDemo: boolean;
  readonly unitSystem: "us" | "si";
  readonly role: string;
};

/** The organisations a person belongs to, oldest membership first. */
export function findMemberships(userId: string): Promise<readonly Membership[]> {
  return asPerson(userId, async (client) => {
    const { rows } = await client.query<Membership>(
      `SELECT o.id AS "organizationId", o.name AS "organizationName", o."isDemo", o."unitSystem", m.role
       FROM "Member" m JOIN "Organization" o ON o.id = m."organizationId"
       WHERE m."userId" = $1
       ORDER BY m."createdAt", m.id`,
      [userId],
    );
    return rows;
  });
}
