import type { Role } from "@/lib/core/shared/roles";

/** Every screen of a signed-in person, with the role that has most to do there. */
export const SCREENS: readonly { readonly path: string; readonly role: Role }[] = [
  { path: "/", role: "manager" },
  { path: "/heaters", role: "maintenance" },
  { path: "/heaters/new", role: "manager" },
  { path: "/sites", role: "manager" },
  { path: "/sites/headroom", role: "manager" },
  { path: "/sites/cards", role: "manager" },
  { path: "/sites/cards/terms", role: "manager" },
  { path: "/sites/spares", role: "manager" },
  { path: "/risk", role: "manager" },
  { path: "/risk/fits", role: "manager" },
  { path: "/plans", role: "manager" },
  { path: "/plans/new", role: "manager" },
  { path: "/plans/options", role: "manager" },
  { path: "/plans/options/hp240-50", role: "manager" },
  { path: "/plans/options/hp-central", role: "manager" },
  { path: "/upkeep", role: "maintenance" },
  { path: "/emissions", role: "sustainability" },
  { path: "/import", role: "manager" },
  { path: "/settings", role: "owner" },
];
