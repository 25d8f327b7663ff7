import type { Role } from "@/lib/core/shared/roles";

/** Everything that may be done, and by whom; the only such table. */
const PERMISSIONS = {
  "record.read": ["owner", "manager", "maintenance", "sustainability", "viewer"],
  "heater.edit": ["owner", "manager", "maintenance"],
  "import.run": ["owner", "manager"],
  "visit.record": ["owner", "manager", "maintenance"],
  "risk.run": ["owner", "manager", "maintenance"],
  "plan.edit": ["owner", "manager"],
  "settings.edit": ["owner", "manager", "sustainability"],
  "people.manage": ["owner"],
} as const satisfies Record<string, readonly Role[]>;

export type Action = keyof typeof PERMISSIONS;

export const ACTIONS = Object.keys(PERMISSIONS) as readonly Action[];

export function mayDo(role: Role, action: Action): boolean {
  return (PERMISSIONS[action] as readonly Role[]).includes(role);
}
