export type GrowthPoint = { readonly heaters: number; readonly seconds: number };
export type GrowthSeries = { readonly name: string; readonly points: readonly GrowthPoint[] };

const WIDTH = 720;
const HEIGHT = 420;
const LEFT = 70;
const RIGHT = 150;
const TOP = 24;
const BOTTOM = 52;
const INKS = ["#0f5b5e", "#9a4b1f"];

/** Time against number of heaters, both axes logarithmic, as an SVG drawing for the docs. */
export function drawGrowth(series: readonly GrowthSeries[]): string {
  const all = series.flatMap(({ points }) => points);
  const decades = (values: readonly number[]) => {
    const logs = values.map(Math.log10);
    return [Math.floor(Math.min(...logs)), Math.ceil(Math.max(...logs))] as const;
  };
  const [x0, x1] = decades(all.map(({ heaters }) => heaters));
  const [y0, y1] = decades(all.map(({ seconds }) => seconds));
  const x = (value: number) =>
    LEFT + ((Math.log10(value) - x0) / (x1 - x0)) * (WIDTH - LEFT - RIGHT);
  const y = (value: number) =>
    HEIGHT - BOTTOM - ((Math.log10(value) - y0) / (y1 - y0)) * (HEIGHT - TOP - BOTTOM);
  const at = (value: number) => value.toFixed(1);
  const parts: string[] = [];
  for (let decade = x0; decade <= x1; decade++) {
    const px = at(x(10 ** decade));
    parts.push(
      `<line x1="${px}" x2="${px}" y1="${TOP}" y2="${HEIGHT - BOTTOM}" stroke="#d9d2c3"/>`,
      `<text x="${px}" y="${HEIGHT - BOTTOM + 20}" text-anchor="middle">${(10 ** decade).toLocaleString("en-US")}</text>`,
    );
  }
  for (let decade = y0; decade <= y1; decade++) {
    const py = at(y(10 ** decade));
    parts.push(
      `<line x1="${LEFT}" x2="${WIDTH - RIGHT}" y1="${py}" y2="${py}" stroke="#d9d2c3"/>`,
      `<text x="${LEFT - 10}" y="${py}" dy="4" text-anchor="end">${10 ** decade}</text>`,
    );
  }
  series.forEach(({ name, points }, index) => {
    const ink = INKS[index % INKS.length];
    const path = points.map(({ heaters, seconds }) => `${at(x(heaters))},${at(y(seconds))}`);
    parts.push(
      `<polyline points="${path.join(" ")}" fill="none" stroke="${ink}" stroke-width="2"/>`,
    );
    for (const { heaters, seconds } of points) {
      parts.push(`<circle cx="${at(x(heaters))}" cy="${at(y(seconds))}" r="4" fill="${ink}"/>`);
    }
    const last = points[points.length - 1];
    if (last) {
      parts.push(
        `<text x="${at(x(last.heaters) + 10)}" y="${at(y(last.seconds))}" dy="4" fill="${ink}">${name}</text>`,
      );
    }
  });
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" font-family="sans-serif" font-size="13" fill="#1f1c18" role="img" aria-label="Processor seconds against heaters, both axes logarithmic">`,
    `<rect width="${WIDTH}" height="${HEIGHT}" fill="#fbf8f1"/>`,
    ...parts,
    `<text x="${(LEFT + WIDTH - RIGHT) / 2}" y="${HEIGHT - 10}" text-anchor="middle">heaters</text>`,
    `<text x="16" y="${(TOP + HEIGHT - BOTTOM) / 2}" text-anchor="middle" transform="rotate(-90 16 ${(TOP + HEIGHT - BOTTOM) / 2})">processor seconds, one thread</text>`,
    "</svg>",
    "",
  ].join("\n");
}
