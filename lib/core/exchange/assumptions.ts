/** What was taken for granted about a row, counted in the preview. */
export type Assumption =
  | "tag-made"
  | "building-is-property"
  | "storage-by-volume"
  | "natural-gas"
  | "heat-pump-tank"
  | "place-other"
  | "care-day-earliest"
  | "install-bracket"
  | "install-end-open"
  | "install-unknown"
  | "evidence-none-named"
  | "cause-other"
  | "cause-left-out"
  | "home-left-out"
  | "second-in-home";

/** The sentence for each assumption, with what to do where it is wrong. */
export const ASSUMPTION_SENTENCES: Readonly<Record<Assumption, string>> = {
  "tag-made": "No tag is given: one was made from property, building and unit.",
  "building-is-property": "No building is given: the property counts as one building.",
  "storage-by-volume":
    "The type does not say tank or tankless: taken as a tank, as a volume is given.",
  "natural-gas": "The type says gas without saying which: taken as natural gas.",
  "heat-pump-tank":
    "The type says heat pump and no more: taken as a 240 V heat pump with its tank.",
  "place-other": "The place has no name here: kept as Other.",
  "care-day-earliest": "A day of care is known to the month or year only: its first day is kept.",
  "install-bracket":
    "The install date is a bracket, such as a month or a year: the risk model reckons with all of it.",
  "install-end-open":
    "The install date is open on one side: closed with the year the building was built, 40 years before its other end, or today.",
  "install-unknown":
    "No install date is given: taken as between the year the building was built, or 40 years ago, and today.",
  "evidence-none-named":
    "The install date names no source: it counts as a staff estimate until one is entered.",
  "cause-other":
    "A retirement has no cause: kept as Other, which the risk model does not count as a failure.",
  "cause-left-out":
    "A retirement cause is given for a heater in service: left out, as no retirement date goes with it.",
  "home-left-out":
    "Floor, riser, rooms or occupants are given without a unit to keep them with: left out.",
  "second-in-home":
    "The home has another heater in service: this one is taken as a second. If it is the same heater under another tag, correct the tag first.",
};

export const ASSUMPTIONS = Object.keys(ASSUMPTION_SENTENCES) as readonly Assumption[];
