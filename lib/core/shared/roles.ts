/** What a person is to an organisation; one permission table in lib/services says what each may do. */
export const ROLES = ["owner", "manager", "maintenance", "sustainability", "viewer"] as const;
export type Role = (typeof ROLES)[number];

export const ROLE_LABELS: Readonly<Record<Role, string>> = {
  owner: "Owner",
  manager: "Portfolio manager",
  maintenance: "Maintenance lead",
  sustainability: "Sustainability officer",
  viewer: "Viewer",
};
