import {
  REGISTER_WINDOW,
  type RegisterGroupLine,
  type RegisterOutline,
} from "@/lib/core/heaters/register-row";

/**
 * The list as it scrolls: rows numbered through, or headings of groups with the rows of those that are
 * not folded. Rows come in windows of a hundred, each asked for when it comes into view.
 */
export type ListItem =
  | { readonly kind: "row"; readonly window: number; readonly offset: number }
  | { readonly kind: "group"; readonly group: RegisterGroupLine; readonly isFolded: boolean };

/** A window's request, as the route of the rows takes it. */
export type WindowPlace =
  | { readonly anchor: readonly [number, string, string] }
  | { readonly groupIds: readonly string[]; readonly offset: number };

export type RegisterList = {
  readonly length: number;
  readonly itemAt: (index: number) => ListItem;
  /** null where the window is the first one, which the page brought. */
  readonly placeOf: (window: number) => WindowPlace | null;
};

/** The list before its extent is known: the rows that the page brought. */
export function firstRows(count: number): RegisterList {
  return {
    length: count,
    itemAt: (offset) => ({ kind: "row", window: 0, offset }),
    placeOf: () => null,
  };
}

/** The list of a register without groups: each section's windows stand one after another. */
export function sectionList({ sections }: RegisterOutline): RegisterList {
  const windows: { readonly start: number; readonly place: WindowPlace }[] = [];
  let length = 0;
  for (const { count, anchors } of sections) {
    anchors.forEach((anchor, index) => {
      windows.push({ start: length + index * REGISTER_WINDOW, place: { anchor } });
    });
    length += count;
  }
  return {
    length,
    itemAt: (index) => {
      const window = lastAtMost(windows, index, ({ start }) => start);
      return { kind: "row", window, offset: index - (windows[window]?.start ?? 0) };
    },
    placeOf: (window) => windows[window]?.place ?? null,
  };
}

/** The list of a grouped register. Rows are numbered through all groups, folded or not. */
export function groupList(
  groups: readonly RegisterGroupLine[],
  folded: ReadonlySet<string>,
): RegisterList {
  /** Per group: number of its first row, and the place of its heading in the list. */
  const firstRow: number[] = [];
  const heading: number[] = [];
  let rows = 0;
  let length = 0;
  for (const group of groups) {
    firstRow.push(rows);
    heading.push(length);
    rows += group.count;
    length += 1 + (folded.has(group.id) ? 0 : group.count);
  }
  return {
    length,
    itemAt: (index) => {
      const at = lastAtMost(heading, index, (start) => start);
      const group = groups[at];
      if (!group) throw new RangeError(`index must be within the list, got ${index}`);
      const within = index - (heading[at] ?? 0);
      if (within === 0) return { kind: "group", group, isFolded: folded.has(group.id) };
      const row = (firstRow[at] ?? 0) + within - 1;
      return {
        kind: "row",
        window: Math.floor(row / REGISTER_WINDOW),
        offset: row % REGISTER_WINDOW,
      };
    },
    placeOf: (window) => {
      const start = window * REGISTER_WINDOW;
      const from = lastAtMost(firstRow, start, (first) => first);
      const to = lastAtMost(firstRow, start + REGISTER_WINDOW - 1, (first) => first);
      const groupIds = groups.slice(from, to + 1).map((group) => group.id);
      return groupIds.length === 0 ? null : { groupIds, offset: start - (firstRow[from] ?? 0) };
    },
  };
}

/** Index of the last item whose value is at most `target`; the values rise. 0 when none is. */
function lastAtMost<T>(items: readonly T[], target: number, numberOf: (item: T) => number): number {
  let low = 0;
  let high = items.length - 1;
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (numberOf(items[middle] as T) <= target) low = middle;
    else high = middle - 1;
  }
  return low;
}
