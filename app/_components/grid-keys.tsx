"use client";

import { type FocusEvent, type KeyboardEvent, type ReactNode, useRef } from "react";

/**
 * Arrow keys over the links of a grid: left and right along a line, up and down to the nearest link
 * of the next line, Home and End to its ends, with Control to the grid's. One stop of the Tab key.
 */
export function GridKeys({ children }: { readonly children: ReactNode }) {
  const frame = useRef<HTMLDivElement>(null);

  function lines(): HTMLAnchorElement[][] {
    return [...(frame.current?.querySelectorAll("tr") ?? [])]
      .map((row) => [...row.querySelectorAll<HTMLAnchorElement>("a[data-stop]")])
      .filter((line) => line.length > 0);
  }

  function onKeyDown(event: KeyboardEvent<HTMLDivElement>) {
    const here = event.target;
    if (!(here instanceof HTMLAnchorElement) || event.altKey || event.metaKey) return;
    const all = lines();
    const row = all.findIndex((line) => line.includes(here));
    const line = all[row];
    if (!line) return;
    const column = line.indexOf(here);
    const target = targetOf(event, all, row, column, here);
    if (!target) return;
    event.preventDefault();
    target.focus();
  }

  function onFocus(event: FocusEvent<HTMLDivElement>) {
    if (!(event.target instanceof HTMLAnchorElement)) return;
    for (const link of lines().flat()) link.tabIndex = link === event.target ? 0 : -1;
  }

  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: the links inside are what is operated; this only moves focus among them
    <div ref={frame} onKeyDown={onKeyDown} onFocus={onFocus}>
      {children}
    </div>
  );
}

function nearest(
  line: readonly HTMLAnchorElement[] | undefined,
  from: HTMLAnchorElement,
): HTMLAnchorElement | undefined {
  const middle = (link: HTMLAnchorElement) => {
    const { left, width } = link.getBoundingClientRect();
    return left + width / 2;
  };
  const here = middle(from);
  return line
    ?.map((link) => ({ link, distance: Math.abs(middle(link) - here) }))
    .sort((left, right) => left.distance - right.distance)[0]?.link;
}

function targetOf(
  { key, ctrlKey }: KeyboardEvent,
  lines: readonly (readonly HTMLAnchorElement[])[],
  row: number,
  column: number,
  here: HTMLAnchorElement,
): HTMLAnchorElement | undefined {
  const line = lines[row] ?? [];
  switch (key) {
    case "ArrowLeft":
      return line[column - 1];
    case "ArrowRight":
      return line[column + 1];
    case "ArrowUp":
      return nearest(lines[row - 1], here);
    case "ArrowDown":
      return nearest(lines[row + 1], here);
    case "Home":
      return ctrlKey ? lines[0]?.[0] : line[0];
    case "End":
      return ctrlKey ? lines.at(-1)?.at(-1) : line.at(-1);
    default:
      return undefined;
  }
}
