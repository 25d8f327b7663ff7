import { formatDay, formatNumber, formatShare } from "@/app/_lib/format";
import type { InstallDay } from "@/lib/core/heaters/heater";
import {
  addDays,
  type CalendarDay,
  DAYS_PER_YEAR,
  dayNumber,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import type { SurvivalPoint } from "@/lib/services/heater-page";
import styles from "./heater.module.css";

const WIDTH = 520;
const HEIGHT = 270;
const PLOT = { left: 44, right: 12, top: 22, bottom: 46 };

/**
 * Survival over calendar time: of heaters like this from new (dashed), and of this one given that it
 * stands today (solid), with the install bracket, today and the planned swap marked.
 */
export function SurvivalCurve({
  curve,
  install,
  plannedDay,
  medianRemainingYears,
}: {
  readonly curve: readonly SurvivalPoint[];
  readonly install: InstallDay;
  readonly plannedDay: CalendarDay | null;
  readonly medianRemainingYears: number;
}) {
  const [first] = curve;
  const last = curve.at(-1);
  const now = curve.find((point) => point.givenToday !== null);
  if (!first || !last || !now) return null;
  const from = Math.min(dayNumber(first.day), dayNumber(install.earliest));
  const to = dayNumber(last.day);
  const x = (day: CalendarDay) =>
    PLOT.left + ((dayNumber(day) - from) / (to - from)) * (WIDTH - PLOT.left - PLOT.right);
  const y = (share: number) => PLOT.top + (1 - share) * (HEIGHT - PLOT.top - PLOT.bottom);
  const line = (points: readonly (readonly [CalendarDay, number])[]) =>
    points.map(([day, share]) => `${x(day).toFixed(1)},${y(share).toFixed(1)}`).join(" ");
  const given = curve.flatMap(({ day, givenToday }) =>
    givenToday === null ? [] : [[day, givenToday] as const],
  );
  const banded = curve.flatMap(({ day, band }) => (band === null ? [] : [{ day, band }]));
  const median = addDays(now.day, Math.round(medianRemainingYears * DAYS_PER_YEAR));
  const base = HEIGHT - PLOT.bottom;
  const isPlanInView = plannedDay !== null && plannedDay <= last.day;
  const summary = `Of heaters like this that stand today, half have failed by ${formatDay(median)}.${
    plannedDay ? ` Its planned swap is from ${formatDay(plannedDay)}.` : ""
  }`;
  return (
    <figure className={styles.curve}>
      <h3>Survival</h3>
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={summary}>
        {[0, 0.25, 0.5, 0.75, 1].map((share) => (
          <g key={share}>
            <line
              x1={PLOT.left}
              x2={WIDTH - PLOT.right}
              y1={y(share)}
              y2={y(share)}
              className={styles.rule}
            />
            <text x={PLOT.left - 6} y={y(share) + 4} textAnchor="end">
              {100 * share} %
            </text>
          </g>
        ))}
        {yearTicks(from, to).map((day) => (
          <text key={day} x={x(day)} y={base + 16} textAnchor="middle">
            {yearOf(day)}
          </text>
        ))}
        <rect
          x={x(install.earliest)}
          width={Math.max(3, x(install.latest) - x(install.earliest))}
          y={base - 4}
          height={8}
          className={styles.bracket}
        />
        <polyline
          points={line(curve.map(({ day, fromNew }) => [day, fromNew]))}
          className={styles.fromNew}
        />
        <polygon
          points={line([
            ...banded.map(({ day, band }) => [day, band.upper] as const),
            ...banded.toReversed().map(({ day, band }) => [day, band.lower] as const),
          ])}
          className={styles.band}
        />
        <polyline points={line(given)} className={styles.given} />
        <line x1={x(now.day)} x2={x(now.day)} y1={PLOT.top - 6} y2={base} className={styles.now} />
        <text x={x(now.day)} y={PLOT.top - 10} textAnchor="middle" className={styles.strong}>
          now
        </text>
        {isPlanInView && (
          <>
            <line
              x1={x(plannedDay)}
              x2={x(plannedDay)}
              y1={PLOT.top + 14}
              y2={base}
              className={styles.planned}
            />
            <text x={x(plannedDay) + 4} y={PLOT.top + 22} className={styles.strong}>
              planned swap
            </text>
          </>
        )}
        <circle cx={x(median)} cy={y(0.5)} r={4} className={styles.median} />
        <text x={x(first.day)} y={base + 34} textAnchor="start">
          <tspan className={styles.installWord}>▬</tspan> installed
        </text>
      </svg>
      <figcaption className="small soft">
        Solid: this heater, given that it stands today, with the band that holds nine chances in ten
        of what is not known about the model; the dot is where half have failed. Dashed: heaters
        like this, from new. {summary}
      </figcaption>
      <details className="small">
        <summary>Show the numbers</summary>
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Years from now</th>
              <th scope="col" className="number">
                Still standing, given today
              </th>
              <th scope="col" className="number">
                90 % band
              </th>
              <th scope="col" className="number">
                From new
              </th>
            </tr>
          </thead>
          <tbody>
            {curve
              .filter(({ givenToday }, index) => givenToday !== null && index % 4 === 0)
              .map((point) => (
                <tr key={point.day}>
                  <th scope="row">
                    {formatNumber((dayNumber(point.day) - dayNumber(now.day)) / DAYS_PER_YEAR, 1)}
                  </th>
                  <td className="number">{formatShare(point.givenToday ?? 0)}</td>
                  <td className="number">
                    {point.band &&
                      `${formatShare(point.band.lower)} to ${formatShare(point.band.upper)}`}
                  </td>
                  <td className="number">{formatShare(point.fromNew)}</td>
                </tr>
              ))}
          </tbody>
        </table>
      </details>
    </figure>
  );
}

/** First days of round years, so few that their labels keep apart. */
function yearTicks(from: number, to: number): readonly CalendarDay[] {
  const years = (to - from) / DAYS_PER_YEAR;
  const step = [1, 2, 5, 10, 20].find((width) => years / width <= 9) ?? 50;
  const firstYear = 1970 + from / DAYS_PER_YEAR;
  const lastYear = 1970 + to / DAYS_PER_YEAR;
  const ticks: CalendarDay[] = [];
  for (let year = Math.ceil(firstYear / step) * step; year <= lastYear; year += step) {
    ticks.push(`${year}-01-01` as CalendarDay);
  }
  return ticks;
}
