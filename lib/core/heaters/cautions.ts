/** Work on a water heater that can hurt someone. */
export const HAZARDOUS_ACTS = [
  "setpoint",
  "legionella",
  "gas-capoff",
  "combustion-air",
  "electrical",
  "relief-valve",
  "pressure",
  "lifting",
  "refrigerant",
] as const;
export type HazardousAct = (typeof HAZARDOUS_ACTS)[number];

const DEFER = "Local code and the licensed trade decide.";

/** The caution to show beside each act. It warns; it is not an instruction for doing the work. */
export const CAUTIONS: Readonly<Record<HazardousAct, string>> = {
  // Times to a third-degree burn of an adult: Moritz and Henriques, Am J Pathol 23:695 (1947), as quoted.
  setpoint: `Hot water scalds: at 140 °F in about 5 seconds, at 120 °F in about 5 minutes, children and older people sooner. Raise a setpoint only with a listed mixing valve, and measure at the tap. ${DEFER}`,
  // Storage at 140 °F or above: ASHRAE Guideline 12-2000 section 4.1.6, as quoted.
  legionella: `Legionella grows in lukewarm tanks. Guidance for buildings at risk is to store at 140 °F or above and to mix down at the outlet; a lower setpoint or a long vacancy needs a water-management decision. ${DEFER}`,
  "gas-capoff": `Gas can burn, explode and suffocate. Shutting off, capping and leak-testing a gas line is work for a licensed gas fitter with a permit; if gas is smelt, leave and call from outside. ${DEFER}`,
  "combustion-air": `A burner without enough air, or a vent that spills, makes carbon monoxide. Closing louvres, tightening a closet or removing one of several appliances on a common vent calls for a combustion-safety test and a working alarm. ${DEFER}`,
  electrical: `Line voltage kills. Circuits, disconnects and panel work are for a licensed electrician with a permit; what is counted here is for planning only. ${DEFER}`,
  "relief-valve": `A blocked or missing relief valve can turn a tank into a bomb, and its discharge scalds. Never plug, cap or reduce it; its pipe ends where it can be seen and hurts nobody. ${DEFER}`,
  pressure: `Heated water expands. Where a check valve, pressure regulator or backflow preventer closes the cold feed, the pressure rises at every heating until something gives: expansion control, charged to the house pressure, goes in with the heater. ${DEFER}`,
  lifting: `A tank weighs 100 to 250 lb empty and about 8.3 lb more for every gallon left in it. Drain it, use a stair cart or two people, and look to the floor and the way out. ${DEFER}`,
  refrigerant: `Refrigerant may not be vented, can be flammable or under high pressure, and displaces air. Opening a circuit and recovering its charge is for a certified technician. ${DEFER}`,
};
