import { csvFile } from "./csv";
import { HEATER_CSV_HEADING } from "./heater-csv";

/** Headings as an owner might have them; none is ours, and all are matched. */
const SAMPLE_HEADING = [
  "Community",
  "Bldg",
  "Apt",
  "Floor",
  "Beds",
  "Asset tag",
  "Heater type",
  "Fuel",
  "Installed",
  "Source of date",
  "Make",
  "Serial no",
  "Tank size",
  "Input",
  "UEF",
  "Location",
  "Drain pan",
  "Temp setting",
  "Last flushed",
  "Retired on",
  "Reason",
  "Comments",
] as const;

/** An invented list with the mess of a real one: dates in many forms, gaps, and one row to be refused. */
const SAMPLE_ROWS: readonly (readonly string[])[] = [
  "Invented Gardens|A|101|1|2|IG-A-101|Gas tank|Natural gas|3/15/2014|invoice|Maker One|S1403-117|40 gal|40,000 Btu/h|0.58|Hall closet|yes|120|4/22/2025|||",
  "Invented Gardens|A|102|1|2|IG-A-102|Gas tank|NG|Mar 2014|permit|Maker One|S1403-118|40|40K|0.58|Hall closet|no|120 F||||Closet door sticks",
  "Invented Gardens|A|201|2|1|IG-A-201|Electric tank|Electric|2016||Maker Two|?|50|4500|0.92|Balcony closet|?|49 C||||",
  "Invented Gardens|A|202|2|3|IG-A-202|Hybrid||2022-07-01|invoice|Maker Two|H2207-041|50||3.45|Utility room|Y|||||Heat pump, put in after a leak",
  "Invented Gardens|A|202|2|3|IG-A-202-OLD|Electric tank|Electric|about 2009||Maker Two||50|4500||Utility room|no|||6/28/2022|leaking|",
  "Invented Gardens|B|101|1|2|IG-B-101|Gas tank|Natural gas|before 2010||||40|||Hall closet|no|||||No plate to be read",
  "Invented Gardens|B|102|1|2|IG-B-102|Gas tank|Natural gas|||Maker Three||40|36,000||Hall closet|no|||||Install date not known",
  "Invented Gardens|B|201|2|2|IG-B-201|Gas tankless|Propane|11/2/2019|permit|Maker Three|T1911-007||150,000|0.81|Garage||120||||",
  "Invented Gardens|B|202|2|2|IG-B-202|Gas tank|Natural gas|2/1/2035||Maker Three||40|40,000|0.58|Hall closet||||||The date is a slip: this row is refused",
].map((line) => line.split("|"));

/** An invented file to try the way in with. */
export function* sampleCsv(): Generator<string> {
  yield* csvFile(SAMPLE_HEADING, SAMPLE_ROWS);
}

/** The headings alone, to be filled in; the file of heaters that is handed out has the same. */
export function* templateCsv(): Generator<string> {
  yield* csvFile(HEATER_CSV_HEADING, []);
}
