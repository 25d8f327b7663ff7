import type { Role } from "@/lib/core/shared/roles";

/** Name of the demo organisation. Owner, region, streets and makers are invented. */
export const DEMO_NAME = "Sarnholt Homes (invented demo)";

/** Password of every demo sign-in; the demo is only made where nothing else is. */
export const DEMO_PASSWORD = "sarnholt-demo";

export type DemoPerson = {
  /** Under `.example`, which never resolves (RFC 2606). */
  readonly email: string;
  readonly name: string;
  readonly role: Role;
};

/** One sign-in for each role, named by it. */
export const DEMO_PEOPLE: readonly DemoPerson[] = [
  { email: "owner@demo.example", name: "Demo owner", role: "owner" },
  { email: "manager@demo.example", name: "Demo portfolio manager", role: "manager" },
  { email: "maintenance@demo.example", name: "Demo maintenance lead", role: "maintenance" },
  {
    email: "sustainability@demo.example",
    name: "Demo sustainability officer",
    role: "sustainability",
  },
  { email: "viewer@demo.example", name: "Demo viewer", role: "viewer" },
];
