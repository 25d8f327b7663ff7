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
  "organization.export": "Took the whole record out",
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
  "heater.reinstate": "Put a heater back in service",
  "home.access": "Changed how a home is entered",
  "round.make": "Made a round",
  "round.reorder": "Put a round in another order",
  "round.no-access": "Noted that nobody let us in",
  "round.take-back": "Took an entry of a round back",
  "round.assign": "Gave a round to somebody",
  "round.move": "Moved a round to another day",
  "round.cancel": "Cancelled a round",
  "round.reopen": "Opened a round again",
  "round.end": "Ended a round",
  "round.notices": "Noted the notices of a round",
  "contract.add": "Entered an electricity contract",
  "contract.remove": "Removed an electricity contract",
  "factor.add": "Entered an emission factor",
  "factor.withdraw": "Withdrew an emission factor",
  "factor.restore": "Put an emission factor back in use",
  "emissions.rules": "Changed the rules of the emissions account",
  "emissions.adopt": "Chose the base year of emissions",
  "plan.approve": "Approved a plan",
  "plan.withdraw": "Withdrew a plan",
  "urgent.raise": "Raised an urgent matter",
  "urgent.settle": "Settled an urgent matter",
  "urgent.reopen": "Opened an urgent matter again",
  "upkeep.intervals": "Changed the intervals of upkeep",
  "upkeep.work-terms": "Changed the terms of work",
  "calendar.make": "Made a calendar address",
  "calendar.revoke": "Took a calendar address back",
  "emissions.request": "Asked for an emissions account",
  "emissions.cancel": "Stopped an emissions account",
  "disposal.record": "Recorded where a heater went",
  "refrigerant.record": "Recorded refrigerant charged, topped up or recovered",
  "refrigerant.takeBack": "Took back an entry of the refrigerant log",
  "energy.edit": "Changed the energy supply of a property",
  "reading.add": "Entered a meter reading",
  "reading.remove": "Removed a meter reading",
  "policy.add": "Added a building performance rule",
  "policy.remove": "Removed a building performance rule",
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
  Round: "rounds",
  RoundStop: "stops of rounds",
  Unit: "homes",
  UrgentMatter: "urgent matters",
  CalendarFeed: "calendar addresses",
  Disposal: "where heaters went",
  RefrigerantEvent: "refrigerant log",
  EmissionsRun: "emissions accounts",
  EmissionsTerms: "rules of the emissions account",
  EmissionFactor: "emission factors",
  EnergyInstrument: "electricity contracts",
  MeterReading: "meter readings",
  PropertyEnergy: "energy supply of properties",
  PropertyPolicy: "building performance rules",
};

/** Actions that the log has words for. */
export const ACTIONS_WITH_WORDS: ReadonlySet<string> = new Set(Object.keys(ACTIONS));

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
