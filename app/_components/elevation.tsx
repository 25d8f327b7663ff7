import Link from "next/link";
import type { CSSProperties } from "react";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { BuildingElevation, ElevationHeater } from "@/lib/services/elevation";
import styles from "./elevation.module.css";
import { ELEVATION_INKS, type ElevationInk, INK_KEYS, INK_LABELS, inkOf } from "./elevation-inks";
import { GridKeys } from "./grid-keys";
import { LedgerFrame } from "./ledger-frame";

/** A floor or a riser that is looked at on its own. */
export type ElevationChoice =
  | { readonly riser: string; readonly floor: null }
  | { readonly riser: null; readonly floor: number };

/** The address of a drawing; every view of it can be sent on. */
export function elevationAddress(
  buildingId: string,
  ink: ElevationInk,
  choice: ElevationChoice | null,
): string {
  const search = new URLSearchParams();
  if (ink !== "chance") search.set("ink", ink);
  if (choice?.riser != null) search.set("riser", choice.riser);
  if (choice?.floor != null) search.set("floor", String(choice.floor));
  const text = search.toString();
  return `/buildings/${buildingId}${text === "" ? "" : `?${text}`}`;
}

/** True for a heater on the chosen floor or riser; true for all when none is chosen. */
export function isChosen(heater: ElevationHeater, choice: ElevationChoice | null): boolean {
  if (choice === null) return true;
  return choice.riser === null ? heater.floor === choice.floor : heater.riser === choice.riser;
}

/** A building drawn as it stands: floors by risers, a cell a heater, the ink saying one thing. */
export function ElevationDrawing({
  elevation: { building, drawing },
  ink,
  choice,
  today,
}: {
  readonly elevation: BuildingElevation;
  readonly ink: ElevationInk;
  readonly choice: ElevationChoice | null;
  readonly today: CalendarDay;
}) {
  const isStacks = drawing.kind === "stacks";
  const firstId = drawing.rows.flatMap(({ places }) => places.flat())[0]?.heaterId;
  const cell = (heater: ElevationHeater, isStop: boolean) => (
    <HeaterCell
      key={heater.heaterId}
      heater={heater}
      ink={ink}
      today={today}
      isStop={isStop}
      isDimmed={!isChosen(heater, choice)}
    />
  );
  const toggled = (next: ElevationChoice) =>
    choice !== null && choice.riser === next.riser && choice.floor === next.floor ? null : next;
  return (
    <div className={styles.drawing}>
      <nav className={styles.inks} aria-label="What the ink tells">
        {ELEVATION_INKS.map((each) => (
          <Link
            key={each}
            href={elevationAddress(building.id, each, choice)}
            aria-current={each === ink ? "true" : undefined}
            prefetch={false}
            scroll={false}
          >
            {INK_LABELS[each]}
          </Link>
        ))}
      </nav>
      <InkKey ink={ink} />
      <LedgerFrame label={`${building.name}, drawn as it stands`}>
        <GridKeys>
          <table
            className={styles.elevation}
            data-ink={ink}
            style={{ "--columns": drawing.rows[0]?.places.length ?? 1 } as CSSProperties}
          >
            <caption className="visually-hidden">
              {isStacks
                ? `${building.name}: floors from the top by risers. `
                : `${building.name}: homes by number. `}
              {INK_LABELS[ink]}. Arrow keys move, Enter opens.
            </caption>
            {isStacks && (
              <colgroup>
                <col />
                <col span={drawing.risers.length} />
              </colgroup>
            )}
            <tbody>
              {drawing.rows.map(({ floor, places }, row) => (
                <tr key={floor ?? `line-${row}`}>
                  {floor !== null && (
                    <th scope="row" className={styles.floor}>
                      <Link
                        data-stop
                        className={styles.name}
                        tabIndex={-1}
                        href={elevationAddress(building.id, ink, toggled({ floor, riser: null }))}
                        aria-current={choice?.floor === floor ? "true" : undefined}
                        aria-label={`Floor ${floor}`}
                        prefetch={false}
                        scroll={false}
                      >
                        {floor}
                      </Link>
                    </th>
                  )}
                  {places.map((heaters, column) => (
                    <td key={drawing.risers[column] ?? heaters[0]?.heaterId}>
                      {heaters.map((heater) => cell(heater, heater.heaterId === firstId))}
                    </td>
                  ))}
                </tr>
              ))}
            </tbody>
            {isStacks && (
              <tfoot>
                <tr>
                  <td className={styles.corner}>
                    <span className="visually-hidden">Riser</span>
                  </td>
                  {drawing.risers.map((riser) => (
                    <th scope="col" key={riser}>
                      <Link
                        data-stop
                        className={styles.name}
                        tabIndex={-1}
                        href={elevationAddress(building.id, ink, toggled({ riser, floor: null }))}
                        aria-current={choice?.riser === riser ? "true" : undefined}
                        aria-label={`Riser ${riser}`}
                        prefetch={false}
                        scroll={false}
                      >
                        {riser}
                      </Link>
                    </th>
                  ))}
                </tr>
              </tfoot>
            )}
          </table>
        </GridKeys>
      </LedgerFrame>
      {drawing.unplaced.length > 0 && (
        <div data-ink={ink} className={styles.beside}>
          <h2 className={styles.besideName}>Floor or riser not known</h2>
          <div className={styles.line}>{drawing.unplaced.map((heater) => cell(heater, true))}</div>
        </div>
      )}
    </div>
  );
}

function HeaterCell({
  heater,
  ink,
  today,
  isStop,
  isDimmed,
}: {
  readonly heater: ElevationHeater;
  readonly ink: ElevationInk;
  readonly today: CalendarDay;
  readonly isStop: boolean;
  readonly isDimmed: boolean;
}) {
  const { level, kind, short, words } = inkOf(heater, ink, today);
  const where = [
    heater.label,
    heater.floor === null ? null : `floor ${heater.floor}`,
    heater.riser === null ? null : `riser ${heater.riser}`,
  ];
  return (
    <Link
      data-stop
      tabIndex={isStop ? 0 : -1}
      className={styles.cell}
      href={`/heaters/${heater.heaterId}`}
      prefetch={false}
      aria-label={`${where.filter(Boolean).join(", ")}: ${words}`}
      title={`${heater.tag}: ${words}`}
      data-level={level ?? "unknown"}
      data-kind={kind}
      data-dimmed={isDimmed || undefined}
      style={{ "--level": level ?? 0 } as CSSProperties}
    >
      <span className={styles.home}>{heater.label}</span>
      <span className={styles.value}>{short}</span>
    </Link>
  );
}

function InkKey({ ink }: { readonly ink: ElevationInk }) {
  const key = INK_KEYS[ink];
  if (key.length === 0) {
    return (
      <p className="small soft">
        {ink === "technology"
          ? "Copper, filled: burns gas. Blue-green, half filled: heat pump. A thin line: electric."
          : "Each cell names the option of the plan in force or, without one, the latest; an empty one is left as it is."}
      </p>
    );
  }
  return (
    <ul
      className={styles.key}
      data-ink={ink}
      aria-label={`Key to ${INK_LABELS[ink].toLowerCase()}`}
    >
      {key.map((words, level) => (
        <li key={words}>
          <span
            className={styles.swatch}
            data-level={level}
            data-kind="plain"
            style={{ "--level": level } as CSSProperties}
          />
          {words}
        </li>
      ))}
      {ink !== "swap" && (
        <li>
          <span className={styles.swatch} data-level="unknown" />
          not known
        </li>
      )}
    </ul>
  );
}
