import { formatCents } from "@/lib/core/shared/money";

const ACTIONS: Readonly<Record<string, string>> = {
  "costs.enter": "Entered a cost of failure",
  "costs.reset": "Reset a cost of failure",
  "property.edit": "Changed a property",
  "building.edit": "Changed a building",
  "building.plant": "Worked out a central plant",
  "water-test.add": "Added a water test",
  "water-test.remove": "Removed a water test",
  "organization.edit": "Changed the organization",
  "person.add": "Added a person",
  "person.role": "Changed a role",
  "person.link": "Made a new sign-in link",
  "person.remove": "Removed a person",
  "heater.add": "Added a heater",
  "heater.edit": "Changed a heater",
  "heater.retire": "Retired a heater",
  "heater.import": "Changed a heater by a spreadsheet",
  "heater.import-undo": "Put a heater back as it was before a spreadsheet",
  "import.commit": "Brought a spreadsheet in",
  "import.undo": "Took a spreadsheet back",
  "import.discard": "Discarded a spreadsheet",
  "survey.record": "Recorded a site survey",
  "survey.infer": "Carried survey answers to like homes",
  "survey.infer-take-back": "Took carried answers back",
  "photo.add": "Added a survey photo",
  "photo.remove": "Removed a survey photo",
  "emergency.edit": "Changed the emergency terms",
  "spares.edit": "Changed the spares",
  "option.add": "Added a replacement option",
  "option.edit": "Changed a replacement option",
  "scenario.create": "Made a scenario",
  "scenario.copy": "Copied a scenario",
  "scenario.edit": "Changed a scenario",
  "plan.request": "Asked for a plan",
  "plan.cancel": "Stopped a plan",
  "risk.fit": "Asked for a fit of the risk model",
  "risk.fit.cancel": "Stopped a fit",
  "risk.adopt": "Chose what ranks the heaters",
  "visit.record": "Recorded a visit",
  "visit.take-back": "Took a visit back",
};

const ENTITIES: Readonly<Record<string, string>> = {
  Organization: "organization and costs",
  Property: "properties",
  Building: "buildings",
  WaterTest: "water tests",
  Person: "people",
  Heater: "heaters",
  ImportBatch: "spreadsheets",
  OptionType: "replacement options",
  Scenario: "scenarios",
  PlanRun: "plans",
  SurvivalFit: "fits of the risk model",
  ServiceVisit: "visits",
};

/** An action of the log in words; one without words of its own is shown by its name. */
export function actionInWords(action: string): string {
  return ACTIONS[action] ?? action.replaceAll(/[.-]/g, " ");
}

/** A kind of thing in the log in words. */
export function entityInWords(entity: string): string {
  return ENTITIES[entity] ?? spaced(entity);
}

/** `terms.expectedLifeYears` becomes `terms, expected life years`; money loses its cents. */
export function fieldInWords(field: string): string {
  return field
    .split(".")
    .map((part) => spaced(part.replace(/Cents(?=$|Per)/, "")))
    .filter((part) => part !== "cents" && part !== "")
    .join(", ");
}

/** A value as text; cents as dollars. */
export function valueInWords(field: string, value: string): string {
  const isMoney = /(^|\.)cents$|Cents(\.value)?$/.test(field);
  const number = Number(value);
  return isMoney && value !== "" && Number.isFinite(number) ? formatCents(number) : value;
}

function spaced(name: string): string {
  return name
    .replaceAll(/([a-z0-9])([A-Z])/g, "$1 $2")
    .replaceAll("-", " ")
    .toLowerCase();
}
