/** The closed sets of words that the record uses. A label is what a person reads. */

/** How the water is heated. Central means one plant for a riser or a building. */
export const TECHNOLOGIES = [
  "gas-storage",
  "gas-instantaneous",
  "electric-storage",
  "electric-instantaneous",
  "heat-pump-storage",
  "heat-pump-plug-in",
  "heat-pump-split",
  "heat-pump-central",
] as const;
export type Technology = (typeof TECHNOLOGIES)[number];

export const TECHNOLOGY_LABELS: Readonly<Record<Technology, string>> = {
  "gas-storage": "Gas tank",
  "gas-instantaneous": "Gas tankless",
  "electric-storage": "Electric tank",
  "electric-instantaneous": "Electric tankless",
  "heat-pump-storage": "Heat pump, 240 V",
  "heat-pump-plug-in": "Heat pump, 120 V plug-in",
  "heat-pump-split": "Heat pump, split",
  "heat-pump-central": "Heat pump, central plant",
};

/** What a combustion appliance burns; electric technologies always have `electricity`. */
export const FUELS = ["natural-gas", "propane", "fuel-oil", "electricity"] as const;
export type Fuel = (typeof FUELS)[number];

export const FUEL_LABELS: Readonly<Record<Fuel, string>> = {
  "natural-gas": "Natural gas",
  propane: "Propane",
  "fuel-oil": "Fuel oil",
  electricity: "Electricity",
};

export function isCombustion(technology: Technology): boolean {
  return technology === "gas-storage" || technology === "gas-instantaneous";
}

export function isHeatPump(technology: Technology): boolean {
  return technology.startsWith("heat-pump");
}

/** True for technologies with a glass-lined tank, a sacrificial anode and sediment to flush. */
export function hasTank(technology: Technology): boolean {
  return technology !== "gas-instantaneous" && technology !== "electric-instantaneous";
}

/** Where the heater stands. */
export const PLACES = [
  "interior-closet",
  "exterior-closet",
  "garage",
  "utility-room",
  "laundry",
  "kitchen",
  "basement",
  "attic",
  "mechanical-room",
  "roof",
  "other",
] as const;
export type Place = (typeof PLACES)[number];

export const PLACE_LABELS: Readonly<Record<Place, string>> = {
  "interior-closet": "Interior closet",
  "exterior-closet": "Exterior closet",
  garage: "Garage",
  "utility-room": "Utility room",
  laundry: "Laundry",
  kitchen: "Kitchen",
  basement: "Basement",
  attic: "Attic",
  "mechanical-room": "Mechanical room",
  roof: "Roof",
  other: "Other",
};

/** Yes, no, or not known: never guessed. */
export const ANSWERS = ["yes", "no", "unknown"] as const;
export type Answer = (typeof ANSWERS)[number];

export const ANSWER_LABELS: Readonly<Record<Answer, string>> = {
  yes: "Yes",
  no: "No",
  unknown: "Not known",
};

/** What the install day rests on. `none` means that only a bracket from the building is known. */
export const INSTALL_EVIDENCE = [
  "invoice",
  "permit",
  "serial-number",
  "warranty-card",
  "staff-estimate",
  "building-age",
  "none",
] as const;
export type InstallEvidence = (typeof INSTALL_EVIDENCE)[number];

export const INSTALL_EVIDENCE_LABELS: Readonly<Record<InstallEvidence, string>> = {
  invoice: "Invoice",
  permit: "Permit",
  "serial-number": "Serial number",
  "warranty-card": "Warranty card",
  "staff-estimate": "Staff estimate",
  "building-age": "Building age",
  none: "No evidence",
};

export const HEATER_STATUSES = ["in-service", "retired"] as const;
export type HeaterStatus = (typeof HEATER_STATUSES)[number];

export const HEATER_STATUS_LABELS: Readonly<Record<HeaterStatus, string>> = {
  "in-service": "In service",
  retired: "Retired",
};

/** Why a heater left service. Leak, no heat and damage are failures; planned and other are not. */
export const RETIREMENT_CAUSES = ["leak", "no-heat", "planned", "damage", "other"] as const;
export type RetirementCause = (typeof RETIREMENT_CAUSES)[number];

export const RETIREMENT_CAUSE_LABELS: Readonly<Record<RetirementCause, string>> = {
  leak: "Leak",
  "no-heat": "No heat, not worth repair",
  planned: "Planned swap",
  damage: "Damage from outside",
  other: "Other",
};

/** True when the retirement is a failure of the heater itself; all else censors its lifetime. */
export function isFailureCause(cause: RetirementCause): boolean {
  return cause === "leak" || cause === "no-heat";
}

/** What an anode inspection last found. `unknown` when none is on record. */
export const ANODE_STATES = ["unknown", "protected", "spent"] as const;
export type AnodeState = (typeof ANODE_STATES)[number];

/** Recurring care of a heater. */
export const TASK_KINDS = [
  "flush",
  "anode-inspection",
  "anode-replacement",
  "relief-valve-test",
  "expansion-tank-pressure",
  "burner-vent-check",
  "combustion-safety",
  "filter-condensate",
  "strap-check",
  "leak-sensor-test",
  "setpoint-mixing-check",
] as const;
export type TaskKind = (typeof TASK_KINDS)[number];

export const TASK_LABELS: Readonly<Record<TaskKind, string>> = {
  flush: "Flush sediment",
  "anode-inspection": "Inspect anode",
  "anode-replacement": "Replace anode",
  "relief-valve-test": "Test relief valve",
  "expansion-tank-pressure": "Check expansion tank pressure",
  "burner-vent-check": "Check burner and vent",
  "combustion-safety": "Combustion safety test",
  "filter-condensate": "Clean air filter and condensate line",
  "strap-check": "Check seismic straps",
  "leak-sensor-test": "Test leak sensor",
  "setpoint-mixing-check": "Check setpoint and mixing valve",
};

/** What a closet must offer before an option can go in. */
export const READINESS_ITEMS = [
  "circuit-240v",
  "circuit-120v",
  "panel-space",
  "air-volume",
  "condensate-route",
  "clearance",
  "drain-pan",
  "leak-shutoff",
  "relief-discharge",
  "seismic-straps",
  "vent-capoff",
  "structure",
  "noise",
] as const;
export type ReadinessItem = (typeof READINESS_ITEMS)[number];

export const READINESS_LABELS: Readonly<Record<ReadinessItem, string>> = {
  "circuit-240v": "240 V, 30 A circuit",
  "circuit-120v": "120 V circuit",
  "panel-space": "Space in the panel",
  "air-volume": "Room air or ducting",
  "condensate-route": "Condensate route with fall",
  clearance: "Clearance and height",
  "drain-pan": "Drain pan",
  "leak-shutoff": "Leak shut-off",
  "relief-discharge": "Relief discharge in sight",
  "seismic-straps": "Straps, upper and lower third",
  "vent-capoff": "Vent and gas can be capped",
  structure: "Floor carries the weight",
  noise: "No bedroom wall beside it",
};

/** How much hot water the homes of a property draw, in the words of the handbook table. */
export const DEMAND_LEVELS = ["low", "medium", "high"] as const;
export type DemandLevel = (typeof DEMAND_LEVELS)[number];
