"use client";

import {
  BarController,
  BarElement,
  CategoryScale,
  type ChartDataset,
  Chart as ChartJs,
  Filler,
  Legend,
  LinearScale,
  LineController,
  LineElement,
  PointElement,
  Tooltip,
} from "chart.js";
import { useEffect, useId, useRef, useState } from "react";

ChartJs.register(
  BarController,
  BarElement,
  CategoryScale,
  Filler,
  Legend,
  LinearScale,
  LineController,
  LineElement,
  PointElement,
  Tooltip,
);

/** The inks of the design: what burns, what pumps heat, what needs attention, what is reference. */
export type SeriesInk = "copper" | "tide" | "ochre-mark" | "ink" | "series-grey";

export type Series = {
  readonly label: string;
  /** null leaves a gap. */
  readonly values: readonly (number | null)[];
  readonly ink: SeriesInk;
  readonly kind?: "bar" | "line";
  /** Drawn as a dashed line: a reference or another strategy. */
  readonly isDashed?: boolean;
  /** Bars of one name stand on each other. */
  readonly stack?: string;
  /** A band around a line, low and high; named in the table. */
  readonly band?: { readonly low: readonly number[]; readonly high: readonly number[] };
};

export type ChartProps = {
  readonly title: string;
  /** What the picture says, for those who do not see it. */
  readonly summary: string;
  readonly labelsName: string;
  readonly labels: readonly string[];
  readonly series: readonly Series[];
  readonly unit: string;
  readonly format?: "number" | "money" | "share" | "decimal";
};

const FORMATS = {
  number: new Intl.NumberFormat("en-US", { maximumFractionDigits: 0 }),
  decimal: new Intl.NumberFormat("en-US", { maximumFractionDigits: 1 }),
  share: new Intl.NumberFormat("en-US", { style: "percent", maximumFractionDigits: 1 }),
  money: new Intl.NumberFormat("en-US", {
    style: "currency",
    currency: "USD",
    maximumFractionDigits: 0,
  }),
};

/** A chart with the table of the same numbers one key away. Money is given in dollars. */
export function Chart(props: ChartProps) {
  const { title, summary, labels, labelsName, series, unit, format = "number" } = props;
  const canvas = useRef<HTMLCanvasElement>(null);
  const [showsTable, setShowsTable] = useState(false);
  const theme = useThemeCount();
  const tableId = useId();

  // biome-ignore lint/correctness/useExhaustiveDependencies: a change of theme changes the inks
  useEffect(() => {
    if (!canvas.current || showsTable) return;
    const chart = draw(canvas.current, { labels, series, unit, format });
    return () => chart.destroy();
  }, [labels, series, unit, format, showsTable, theme]);

  return (
    <figure className="chart" aria-label={`${title}. ${summary}`}>
      <div className="chart__head">
        <h3>{title}</h3>
        <button
          className="button button--quiet small"
          type="button"
          aria-expanded={showsTable}
          aria-controls={tableId}
          onClick={() => setShowsTable(!showsTable)}
        >
          {showsTable ? "Show the chart" : "Show the numbers"}
        </button>
      </div>
      {!showsTable && (
        <div className="chart__canvas">
          <canvas ref={canvas} role="img" aria-label={summary} />
        </div>
      )}
      <div id={tableId} hidden={!showsTable} className="ledger-frame">
        {showsTable && (
          <NumbersTable
            labels={labels}
            labelsName={labelsName}
            series={series}
            unit={unit}
            format={format}
          />
        )}
      </div>
      <p className="small soft">{summary}</p>
    </figure>
  );
}

/** Counts the changes of the desk's theme, so that a canvas is drawn again in the new inks. */
function useThemeCount(): number {
  const [count, setCount] = useState(0);
  useEffect(() => {
    const theme = window.matchMedia("(prefers-color-scheme: dark)");
    const onChange = () => setCount((before) => before + 1);
    theme.addEventListener("change", onChange);
    return () => theme.removeEventListener("change", onChange);
  }, []);
  return count;
}

function NumbersTable({
  labels,
  labelsName,
  series,
  unit,
  format = "number",
}: Pick<ChartProps, "labels" | "labelsName" | "series" | "unit" | "format">) {
  const write = (value: number | null | undefined) =>
    value === null || value === undefined ? "–" : FORMATS[format].format(value);
  return (
    <table className="ledger">
      <caption>In {unit}</caption>
      <thead>
        <tr>
          <th scope="col">{labelsName}</th>
          {series.flatMap(({ label, band }) => [
            <th key={label} scope="col" className="number">
              {label}
            </th>,
            ...(band
              ? [
                  <th key={`${label}-band`} scope="col" className="number">
                    {label}, low to high
                  </th>,
                ]
              : []),
          ])}
        </tr>
      </thead>
      <tbody>
        {labels.map((label, index) => (
          <tr key={label}>
            <th scope="row">{label}</th>
            {series.flatMap((one) => [
              <td key={one.label} className="number">
                {write(one.values[index])}
              </td>,
              ...(one.band
                ? [
                    <td key={`${one.label}-band`} className="number">
                      {write(one.band.low[index])} to {write(one.band.high[index])}
                    </td>,
                  ]
                : []),
            ])}
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function draw(
  canvas: HTMLCanvasElement,
  {
    labels,
    series,
    unit,
    format = "number",
  }: Pick<ChartProps, "labels" | "series" | "unit" | "format">,
): ChartJs {
  const style = getComputedStyle(document.documentElement);
  const token = (name: string) => style.getPropertyValue(`--${name}`).trim();
  const write = FORMATS[format];
  ChartJs.defaults.font.family = token("font-text");
  ChartJs.defaults.color = token("ink-soft");
  const datasets = series.flatMap((one) => datasetsOf(one, token));
  const hasStacks = series.some((one) => one.stack !== undefined);
  return new ChartJs(canvas, {
    type: "bar",
    data: { labels: [...labels], datasets },
    options: {
      responsive: true,
      maintainAspectRatio: false,
      animation: false,
      interaction: { mode: "index", intersect: false },
      scales: {
        x: {
          stacked: hasStacks,
          grid: { display: false },
          border: { color: token("rule-strong") },
        },
        y: {
          stacked: hasStacks,
          beginAtZero: true,
          title: { display: true, text: unit },
          grid: { color: token("rule") },
          border: { display: false },
          ticks: { callback: (value) => write.format(Number(value)) },
        },
      },
      plugins: {
        legend: {
          position: "bottom",
          labels: { boxWidth: 14, filter: (item) => !item.text.startsWith("\u200b") },
        },
        tooltip: {
          filter: (item) => !item.dataset.label?.startsWith("\u200b"),
          callbacks: {
            label: (item) => `${item.dataset.label}: ${write.format(Number(item.parsed.y))}`,
          },
        },
      },
    },
  });
}

/** A band is two unseen lines with the fill between them; a zero-width mark keeps them out of the legend. */
function datasetsOf(one: Series, token: (name: string) => string): ChartDataset[] {
  const color = token(one.ink);
  const main: ChartDataset =
    one.kind === "line"
      ? {
          type: "line",
          label: one.label,
          data: [...one.values],
          borderColor: color,
          backgroundColor: color,
          borderWidth: 2,
          borderDash: one.isDashed ? [6, 4] : undefined,
          pointRadius: 2,
          stack: `line-${one.label}`,
        }
      : {
          type: "bar",
          label: one.label,
          data: [...one.values],
          backgroundColor: color,
          stack: one.stack ?? one.label,
          maxBarThickness: 48,
        };
  if (!one.band) return [main];
  const edge = { type: "line" as const, borderWidth: 0, pointRadius: 0 };
  return [
    main,
    {
      ...edge,
      label: `\u200b${one.label} low`,
      data: [...one.band.low],
      stack: `low-${one.label}`,
    },
    {
      ...edge,
      label: `\u200b${one.label} high`,
      data: [...one.band.high],
      stack: `high-${one.label}`,
      fill: "-1",
      backgroundColor: `color-mix(in srgb, ${color} 18%, transparent)`,
    },
  ];
}
