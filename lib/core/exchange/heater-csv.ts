import {
  FUEL_LABELS,
  HEATER_STATUS_LABELS,
  INSTALL_EVIDENCE_LABELS,
  PLACE_LABELS,
  RETIREMENT_CAUSE_LABELS,
  TECHNOLOGY_LABELS,
} from "@/lib/core/heaters/vocabulary";
import { addDays, type CalendarDay } from "@/lib/core/shared/calendar-day";
import type { CsvCell } from "./csv";
import { type HeaterField, heaterColumn } from "./heater-columns";
import type { HeaterRecord } from "./heater-record";
import { UNITS } from "./quantities";

type ExportColumn = {
  readonly field: HeaterField;
  readonly cell: (record: HeaterRecord) => CsvCell;
};

const labelled = <T extends string>(
  labels: Readonly<Record<T, string>>,
  value: T | null,
): string | null => (value === null ? null : labels[value]);

/** What the file of heaters holds, in the order of its columns; it can be brought in again. */
const EXPORT_COLUMNS: readonly ExportColumn[] = [
  { field: "tag", cell: (record) => record.tag },
  { field: "property", cell: (record) => record.property },
  { field: "building", cell: (record) => record.building },
  { field: "unit", cell: (record) => record.unit },
  { field: "floor", cell: (record) => record.floor },
  { field: "riser", cell: (record) => record.riser },
  { field: "bedrooms", cell: (record) => record.bedrooms },
  { field: "bathrooms", cell: (record) => record.bathrooms },
  { field: "occupants", cell: (record) => record.occupants },
  { field: "homesServed", cell: (record) => record.homesServed },
  { field: "technology", cell: (record) => labelled(TECHNOLOGY_LABELS, record.technology) },
  { field: "fuel", cell: (record) => labelled(FUEL_LABELS, record.fuel) },
  {
    field: "installDate",
    cell: (record) =>
      record.installEarliest === record.installLatest ? record.installEarliest : null,
  },
  { field: "installEarliest", cell: (record) => record.installEarliest },
  { field: "installLatest", cell: (record) => record.installLatest },
  {
    field: "installEvidence",
    cell: (record) => labelled(INSTALL_EVIDENCE_LABELS, record.installEvidence),
  },
  { field: "manufacturer", cell: (record) => record.manufacturer },
  { field: "model", cell: (record) => record.model },
  { field: "serial", cell: (record) => record.serial },
  { field: "volume", cell: (record) => record.volumeGal },
  { field: "inputBtuPerHour", cell: (record) => record.inputBtuPerHour },
  { field: "inputWatts", cell: (record) => record.inputWatts },
  { field: "uniformEnergyFactor", cell: (record) => record.uniformEnergyFactor },
  { field: "firstHour", cell: (record) => record.firstHourGal },
  { field: "place", cell: (record) => labelled(PLACE_LABELS, record.place) },
  { field: "overFinishedSpace", cell: (record) => record.overFinishedSpace },
  { field: "drainPan", cell: (record) => record.drainPan },
  { field: "leakShutoff", cell: (record) => record.leakShutoff },
  { field: "closedSystem", cell: (record) => record.closedSystem },
  { field: "expansionControl", cell: (record) => record.expansionControl },
  { field: "mixingValve", cell: (record) => record.mixingValve },
  { field: "setpoint", cell: (record) => record.setpointF },
  { field: "warrantyYears", cell: (record) => record.warrantyYears },
  { field: "hardness", cell: (record) => record.hardnessMgPerLitre },
  { field: "softened", cell: (record) => record.softened },
  { field: "lastFlush", cell: (record) => record.lastFlush },
  { field: "lastAnodeReplacement", cell: (record) => record.lastAnodeReplacement },
  { field: "status", cell: (record) => labelled(HEATER_STATUS_LABELS, record.status) },
  {
    field: "retiredOn",
    cell: (record) => retirementCell(record.retiredEarliest, record.retiredLatest),
  },
  {
    field: "retirementCause",
    cell: (record) => labelled(RETIREMENT_CAUSE_LABELS, record.retirementCause),
  },
  { field: "notes", cell: (record) => record.notes },
];

function retirementCell(earliest: CalendarDay | null, latest: CalendarDay | null): string | null {
  if (latest === null || earliest === latest) return latest;
  return earliest === null ? `before ${addDays(latest, 1)}` : `${earliest} to ${latest}`;
}

/** Headings of the file of heaters, with their units. */
export const HEATER_CSV_HEADING: readonly string[] = EXPORT_COLUMNS.map(({ field }) => {
  const { label, unit } = heaterColumn(field);
  return unit ? `${label} (${UNITS[unit].label})` : label;
});

/** A heater as a line of that file. Reading the file again gives the same record. */
export function heaterCsvCells(record: HeaterRecord): readonly CsvCell[] {
  return EXPORT_COLUMNS.map(({ cell }) => cell(record));
}
