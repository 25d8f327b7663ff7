import {
  columnVisibilityFeature,
  createColumnHelper,
  rowSelectionFeature,
  rowSortingFeature,
  tableFeatures,
} from "@tanstack/react-table";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatDay, formatMoney, formatNumber, formatShare } from "@/app/_lib/format";
import { estimateMark, formatBracket } from "@/app/(desk)/heaters/_lib/install-text";
import { REGISTER_COLUMN_LABELS, type RegisterColumn } from "@/lib/core/heaters/register-query";
import type { RegisterRow } from "@/lib/core/heaters/register-row";
import { HEATER_STATUS_LABELS, INSTALL_EVIDENCE_LABELS } from "@/lib/core/heaters/vocabulary";
import { gallonsToLitres, mgPerLitreToGrains } from "@/lib/core/shared/units";
import { HeaterLink } from "./open-heater";

export const registerFeatures = tableFeatures({
  columnVisibilityFeature,
  rowSelectionFeature,
  rowSortingFeature,
});

const helper = createColumnHelper<typeof registerFeatures, RegisterRow>();

/** Width of each column in rem, at the size of the table's text. */
export const COLUMN_WIDTHS: Readonly<Record<RegisterColumn, number>> = {
  tag: 6.75,
  property: 9,
  building: 6.5,
  home: 4.25,
  floor: 3.75,
  riser: 3.75,
  technology: 10.5,
  maker: 8.5,
  model: 6.5,
  volume: 7,
  install: 14.5,
  age: 4.75,
  hardness: 7.5,
  chance: 5.5,
  loss: 5.5,
  lastVisit: 7,
  status: 5.5,
};

export const NUMBER_COLUMNS: ReadonlySet<string> = new Set<RegisterColumn>([
  "floor",
  "volume",
  "age",
  "hardness",
  "chance",
  "loss",
]);

const DASH = "–";

type Column = {
  readonly id: RegisterColumn;
  readonly cell: (row: RegisterRow) => React.ReactNode;
  /** The first click sorts the largest first. */
  readonly largestFirst?: boolean;
};

const COLUMNS: readonly Column[] = [
  {
    id: "tag",
    cell: (row) => <HeaterLink heaterId={row.id}>{row.tag}</HeaterLink>,
  },
  { id: "property", cell: (row) => row.propertyName },
  { id: "building", cell: (row) => row.buildingName },
  { id: "home", cell: (row) => row.unitLabel ?? DASH },
  { id: "floor", cell: (row) => row.floor ?? DASH },
  { id: "riser", cell: (row) => row.riser ?? DASH },
  { id: "technology", cell: (row) => <TechnologyMark technology={row.technology} /> },
  { id: "maker", cell: (row) => row.manufacturer ?? DASH },
  { id: "model", cell: (row) => row.model ?? DASH },
  {
    id: "volume",
    cell: ({ volumeGal }) =>
      volumeGal === null ? (
        DASH
      ) : (
        <>
          {formatNumber(volumeGal)} gal{" "}
          <small className="soft">{formatNumber(gallonsToLitres(volumeGal))} L</small>
        </>
      ),
    largestFirst: true,
  },
  {
    id: "install",
    cell: (row) => (
      <>
        {estimateMark(row.installKind)}
        {formatBracket(row.installEarliest, row.installLatest)}{" "}
        <small className="soft">{INSTALL_EVIDENCE_LABELS[row.installEvidence]}</small>
      </>
    ),
  },
  { id: "age", cell: (row) => ageText(row), largestFirst: true },
  {
    id: "hardness",
    cell: ({ hardnessMgPerLitre: hardness }) =>
      hardness === null ? (
        DASH
      ) : (
        <>
          {formatNumber(mgPerLitreToGrains(hardness), 1)} gpg{" "}
          <small className="soft">{formatNumber(hardness)} mg/L</small>
        </>
      ),
    largestFirst: true,
  },
  { id: "chance", cell: (row) => chanceText(row), largestFirst: true },
  {
    id: "loss",
    cell: ({ expectedLossCents: cents }) => (cents === null ? DASH : formatMoney(cents)),
    largestFirst: true,
  },
  {
    id: "lastVisit",
    cell: ({ lastVisitOn }) => (lastVisitOn === null ? DASH : formatDay(lastVisitOn)),
    largestFirst: true,
  },
  { id: "status", cell: (row) => HEATER_STATUS_LABELS[row.status] },
];

export const registerColumns = helper.columns(
  COLUMNS.map(({ id, cell, largestFirst = false }) =>
    helper.accessor((row) => row, {
      id,
      header: REGISTER_COLUMN_LABELS[id],
      sortDescFirst: largestFirst,
      cell: ({ row }) => cell(row.original),
    }),
  ),
);

/** `9.4 y`; "≈" where the install day is a bracket or an estimate. */
export function ageText({ ageYears, installKind }: RegisterRow): string {
  if (ageYears === null) return DASH;
  return `${estimateMark(installKind)}${formatNumber(ageYears, installKind === "known" ? 1 : 0)} y`;
}

export function chanceText({ failureProbability }: RegisterRow): string {
  return failureProbability === null ? DASH : formatShare(failureProbability);
}
