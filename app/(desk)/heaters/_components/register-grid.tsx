"use client";

import { type SortingState, useTable } from "@tanstack/react-table";
import { useVirtualizer } from "@tanstack/react-virtual";
import Link from "next/link";
import {
  type Dispatch,
  type KeyboardEvent,
  type MouseEvent,
  type SetStateAction,
  useContext,
  useEffect,
  useMemo,
  useRef,
  useState,
} from "react";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatNumber, formatShare } from "@/app/_lib/format";
import { estimateMark, formatBracket } from "@/app/(desk)/heaters/_lib/install-text";
import {
  firstRows,
  groupList,
  type ListItem,
  sectionList,
} from "@/app/(desk)/heaters/_lib/register-list";
import {
  REGISTER_COLUMNS,
  type RegisterQuery,
  type RegisterSort,
} from "@/lib/core/heaters/register-query";
import type { RegisterGroupLine, RegisterRow } from "@/lib/core/heaters/register-row";
import type { RegisterExtent } from "@/lib/services/register";
import { HeaterLink, OpenHeater } from "./open-heater";
import styles from "./register.module.css";
import {
  ageText,
  COLUMN_WIDTHS,
  chanceText,
  NUMBER_COLUMNS,
  registerColumns,
  registerFeatures,
} from "./register-columns";
import { useIsNarrow } from "./use-is-narrow";
import { useRegisterRows } from "./use-register-rows";

type Selection = Record<string, true>;

/** Heights in rem, as the style sheet sets them: a row, a row of the list on a phone, a heading. */
const HEIGHTS = { row: 2.125, essentials: 5, group: 2.5 };
const ROOT_FONT_PX = 16;
const OVERSCAN = 12;
const CHECKBOX_REM = 2.25;
/** What is drawn before the browser tells its size. */
const FIRST_RECT = { width: 1300, height: 700 };

/** The heaters themselves: only the rows in view are drawn, and read. */
export function RegisterGrid({
  query,
  view,
  rows: initial,
  extent,
  selection,
  onSelect,
  onSort,
  isMoving,
}: {
  readonly query: RegisterQuery;
  readonly view: string;
  readonly rows: readonly RegisterRow[];
  readonly extent: RegisterExtent | null;
  readonly selection: Selection;
  readonly onSelect: Dispatch<SetStateAction<Selection>>;
  readonly onSort: (sort: RegisterSort) => void;
  readonly isMoving: boolean;
}) {
  const open = useContext(OpenHeater);
  const frame = useRef<HTMLDivElement>(null);
  const isNarrow = useIsNarrow();
  const [folded, setFolded] = useState<ReadonlySet<string>>(new Set());
  const [active, setActive] = useState(0);
  const isFocusDue = useRef(false);
  const rangeStart = useRef(0);
  const isGrouped = query.group !== "none";

  const list = useMemo(() => {
    if (!extent) return firstRows(isGrouped ? 0 : initial.length);
    return extent.groups ? groupList(extent.groups, folded) : sectionList(extent);
  }, [extent, folded, initial, isGrouped]);

  const virtualizer = useVirtualizer({
    count: list.length,
    getScrollElement: () => frame.current,
    estimateSize: (index) =>
      (list.itemAt(index).kind === "group"
        ? HEIGHTS.group
        : isNarrow
          ? HEIGHTS.essentials
          : HEIGHTS.row) * rootFontPx(),
    overscan: OVERSCAN,
    initialRect: FIRST_RECT,
  });
  // Sizes are remembered by index, and another list has its headings elsewhere.
  // biome-ignore lint/correctness/useExhaustiveDependencies: measured anew when the list or the width changes
  useEffect(() => virtualizer.measure(), [list, isNarrow]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: another question starts at its top
  useEffect(() => {
    virtualizer.scrollToOffset(0);
    setActive(0);
  }, [view]);

  const drawn = virtualizer.getVirtualItems();
  const items = drawn.map(({ index }) => ({ index, item: list.itemAt(index) }));
  const { rowOf, failed, retry } = useRegisterRows({
    view,
    list,
    initial: isGrouped ? null : initial,
    visible: items.map(({ item }) => item),
  });
  const loaded = items.flatMap(({ item }) => rowOf(item) ?? []);
  const loadedKey = loaded.map((row) => row.id).join();
  // biome-ignore lint/correctness/useExhaustiveDependencies: the table's data stays the same while the same rows are in view
  const data = useMemo(() => loaded, [loadedKey, view]);

  const table = useTable({
    features: registerFeatures,
    columns: registerColumns,
    data: data as RegisterRow[],
    getRowId: (row) => row.id,
    manualSorting: true,
    enableSortingRemoval: false,
    enableMultiSort: false,
    state: {
      sorting: [{ id: query.sort.column, desc: query.sort.descending }],
      rowSelection: selection,
      columnVisibility: Object.fromEntries(
        REGISTER_COLUMNS.map((column) => [column, query.columns.includes(column)]),
      ),
    },
    onSortingChange: (change) => {
      const before: SortingState = [{ id: query.sort.column, desc: query.sort.descending }];
      const [next] = typeof change === "function" ? change(before) : change;
      const column = REGISTER_COLUMNS.find((one) => one === next?.id);
      if (next && column) onSort({ column, descending: next.desc });
    },
  });
  const tableRows = table.getRowModel().rowsById;

  // A row that the keyboard went to is drawn after the list has scrolled; then it takes the focus.
  useEffect(() => {
    if (!isFocusDue.current) return;
    const row = frame.current?.querySelector<HTMLElement>(`[data-index="${active}"]`);
    if (!row) return;
    isFocusDue.current = false;
    row.focus({ preventScroll: true });
  });

  const goTo = (index: number) => {
    const target = Math.max(0, Math.min(list.length - 1, index));
    setActive(target);
    isFocusDue.current = true;
    virtualizer.scrollToIndex(target);
    return target;
  };
  const select = (from: number, to: number, isSelected: boolean) => {
    const ids: string[] = [];
    for (let index = Math.min(from, to); index <= Math.max(from, to); index++) {
      const row = rowOf(list.itemAt(index));
      if (row) ids.push(row.id);
    }
    onSelect((before) => {
      const next = { ...before };
      for (const id of ids) {
        if (isSelected) next[id] = true;
        else delete next[id];
      }
      return next;
    });
  };
  const toggle = (index: number, isRange: boolean) => {
    const row = rowOf(list.itemAt(index));
    if (!row) return;
    select(isRange ? rangeStart.current : index, index, !selection[row.id]);
    rangeStart.current = index;
  };
  const fold = (id: string, shouldFold: boolean) =>
    setFolded((before) => {
      const next = new Set(before);
      if (shouldFold) next.add(id);
      else next.delete(id);
      return next;
    });

  const onKeyDown = (event: KeyboardEvent<HTMLElement>) => {
    const rowElement = (event.target as HTMLElement).closest<HTMLElement>("[data-index]");
    if (!rowElement || list.length === 0) return;
    const index = Number(rowElement.dataset.index);
    const item = list.itemAt(index);
    const page = Math.max(1, drawn.length - 2 * OVERSCAN - 1);
    const move = (target: number) => {
      const reached = goTo(target);
      if (event.shiftKey) select(index, reached, true);
      rangeStart.current = reached;
    };
    const handle = (): boolean => {
      switch (event.key) {
        case "ArrowDown":
          move(index + 1);
          return true;
        case "ArrowUp":
          move(index - 1);
          return true;
        case "PageDown":
          move(index + page);
          return true;
        case "PageUp":
          move(index - page);
          return true;
        case "Home":
          goTo(0);
          return true;
        case "End":
          goTo(list.length - 1);
          return true;
        default:
          break;
      }
      if (item.kind === "group") {
        const wants = { ArrowLeft: true, ArrowRight: false }[event.key];
        if (wants === undefined) return false;
        fold(item.group.id, wants);
        return true;
      }
      if (event.target !== rowElement) return false;
      if (event.key === "Enter") {
        const row = rowOf(item);
        if (row) open(row.id);
        return true;
      }
      if (event.key === " ") {
        toggle(index, event.shiftKey);
        return true;
      }
      return false;
    };
    if (handle()) event.preventDefault();
  };

  const visibleColumns = table.getVisibleLeafColumns();
  const width = visibleColumns.reduce(
    (sum, column) => sum + COLUMN_WIDTHS[column.id as keyof typeof COLUMN_WIDTHS],
    CHECKBOX_REM,
  );
  const before = drawn[0]?.start ?? 0;
  const after = virtualizer.getTotalSize() - (drawn.at(-1)?.end ?? 0);
  const columnCount = isNarrow ? 1 : visibleColumns.length + 1;

  if (extent?.summary.total === 0) {
    return (
      <div className="empty">
        <p>No heater matches these filters. Take one off, or</p>
        <Link className="button" href="/heaters">
          show all heaters in service
        </Link>
      </div>
    );
  }
  return (
    <>
      {failed && (
        <div className="notice notice--attention" role="alert">
          Some rows could not be read.{" "}
          <button className="button button--quiet" type="button" onClick={retry}>
            Try again
          </button>
        </div>
      )}
      {isGrouped && extent?.groups && (
        <div className={styles.folding}>
          <button
            className="button button--quiet small"
            type="button"
            onClick={() => setFolded(new Set(extent.groups?.map(({ id }) => id)))}
          >
            Fold all
          </button>
          <button
            className="button button--quiet small"
            type="button"
            onClick={() => setFolded(new Set())}
          >
            Open all
          </button>
        </div>
      )}
      {/* biome-ignore lint/a11y/noStaticElementInteractions: keys are handled for the rows within, which take the focus */}
      <div ref={frame} className={styles.frame} data-moving={isMoving} onKeyDown={onKeyDown}>
        <table
          // biome-ignore lint/a11y/noNoninteractiveElementToInteractiveRole: rows take the focus and keys, which is what a grid is
          role="grid"
          className={isNarrow ? styles.essentials : styles.grid}
          style={isNarrow ? undefined : { minWidth: `${width}rem` }}
          aria-label="Heaters"
          aria-rowcount={list.length + 1}
          aria-multiselectable="true"
        >
          {!isNarrow && (
            <>
              <colgroup>
                <col style={{ width: `${CHECKBOX_REM}rem` }} />
                {visibleColumns.map((column) => (
                  <col
                    key={column.id}
                    style={{
                      width: `${COLUMN_WIDTHS[column.id as keyof typeof COLUMN_WIDTHS]}rem`,
                    }}
                  />
                ))}
              </colgroup>
              <thead>
                {table.getHeaderGroups().map((group) => (
                  <tr key={group.id} aria-rowindex={1}>
                    <th scope="col" className={styles.headCell}>
                      <span className="visually-hidden">Selected</span>
                    </th>
                    {group.headers.map((header) => {
                      const sorted = header.column.getIsSorted();
                      return (
                        <th
                          key={header.id}
                          scope="col"
                          className={`${styles.headCell} ${NUMBER_COLUMNS.has(header.column.id) ? styles.number : ""}`}
                          aria-sort={
                            sorted ? (sorted === "desc" ? "descending" : "ascending") : undefined
                          }
                        >
                          <button
                            type="button"
                            className={styles.sortButton}
                            onClick={header.column.getToggleSortingHandler()}
                          >
                            <table.FlexRender header={header} />
                            <span aria-hidden="true" className={styles.arrow}>
                              {sorted ? (sorted === "desc" ? "▼" : "▲") : ""}
                            </span>
                          </button>
                        </th>
                      );
                    })}
                  </tr>
                ))}
              </thead>
            </>
          )}
          <tbody>
            <Spacer height={before} columns={columnCount} />
            {items.map(({ index, item }) => {
              const frameProps = {
                "data-index": index,
                "aria-rowindex": index + 2,
                tabIndex: index === active ? 0 : -1,
                onFocus: () => setActive(index),
              };
              if (item.kind === "group") {
                return (
                  <tr key={`group ${item.group.id}`} className={styles.group} {...frameProps}>
                    <th scope="rowgroup" colSpan={columnCount}>
                      <GroupHeading
                        group={item.group}
                        isFolded={item.isFolded}
                        onFold={() => fold(item.group.id, !item.isFolded)}
                      />
                    </th>
                  </tr>
                );
              }
              const row = rowOf(item);
              const tableRow = row ? tableRows[row.id] : undefined;
              if (!row || !tableRow) {
                return (
                  <tr key={rowKey(item)} className={styles.row} {...frameProps}>
                    <td colSpan={columnCount} className="soft">
                      …
                    </td>
                  </tr>
                );
              }
              const isSelected = selection[row.id] === true;
              const checkbox = (
                <input
                  type="checkbox"
                  tabIndex={-1}
                  aria-label={`Select ${row.tag}`}
                  checked={isSelected}
                  onChange={() => undefined}
                  onClick={(event: MouseEvent) => toggle(index, event.shiftKey)}
                />
              );
              return (
                <tr
                  key={rowKey(item)}
                  className={styles.row}
                  aria-selected={isSelected}
                  onDoubleClick={() => open(row.id)}
                  {...frameProps}
                >
                  {isNarrow ? (
                    <td>
                      <Essentials row={row} checkbox={checkbox} />
                    </td>
                  ) : (
                    <>
                      <td className={styles.check}>{checkbox}</td>
                      {tableRow.getVisibleCells().map((cell) =>
                        cell.column.id === "tag" ? (
                          <th key={cell.id} scope="row">
                            <table.FlexRender cell={cell} />
                          </th>
                        ) : (
                          <td
                            key={cell.id}
                            className={NUMBER_COLUMNS.has(cell.column.id) ? styles.number : ""}
                          >
                            <table.FlexRender cell={cell} />
                          </td>
                        ),
                      )}
                    </>
                  )}
                </tr>
              );
            })}
            <Spacer height={after} columns={columnCount} />
          </tbody>
        </table>
      </div>
      <p className={`small soft ${styles.keys}`}>
        Arrow keys move from row to row, Enter opens a heater, Space selects it, / goes to the
        search.
      </p>
    </>
  );
}

const rowKey = (item: Extract<ListItem, { kind: "row" }>) => `${item.window} ${item.offset}`;

/** Stands for the rows above or below those that are drawn. */
function Spacer({ height, columns }: { readonly height: number; readonly columns: number }) {
  if (height <= 0) return null;
  return (
    // biome-ignore lint/a11y/noAriaHiddenOnFocusable: nothing in it takes the focus
    <tr aria-hidden="true" className={styles.spacer}>
      <td colSpan={columns} style={{ height }} />
    </tr>
  );
}

function GroupHeading({
  group,
  isFolded,
  onFold,
}: {
  readonly group: RegisterGroupLine;
  readonly isFolded: boolean;
  readonly onFold: () => void;
}) {
  return (
    <span className={styles.groupLine}>
      <button
        type="button"
        className={styles.foldButton}
        tabIndex={-1}
        aria-expanded={!isFolded}
        onClick={onFold}
      >
        <span aria-hidden="true">{isFolded ? "▸" : "▾"}</span>{" "}
        {group.within === null ? group.name : `${group.within}, ${group.name}`}
      </button>
      <span className={styles.groupFacts}>
        {formatNumber(group.count)} {group.count === 1 ? "heater" : "heaters"}
        {group.averageAgeYears !== null && (
          <span className={styles.groupAge}> · age {formatNumber(group.averageAgeYears, 1)} y</span>
        )}
        {group.averageChance !== null && ` · chance ${formatShare(group.averageChance)}`}
      </span>
    </span>
  );
}

/** A heater in three lines, for a phone. */
function Essentials({
  row,
  checkbox,
}: {
  readonly row: RegisterRow;
  readonly checkbox: React.ReactNode;
}) {
  return (
    <div className={styles.card}>
      {checkbox}
      <HeaterLink heaterId={row.id}>{row.tag}</HeaterLink>
      <span className={styles.cardChance}>
        {row.status === "retired" ? "Retired" : `${chanceText(row)} in 12 months`}
      </span>
      <span className={styles.cardPlace}>
        {[row.propertyName, row.buildingName, row.unitLabel].filter(Boolean).join(", ")}
      </span>
      <span className={styles.cardFacts}>
        <TechnologyMark technology={row.technology} />
        <span>{ageText(row)}</span>
        <span className="soft">
          {estimateMark(row.installKind)}
          {formatBracket(row.installEarliest, row.installLatest)}
        </span>
      </span>
    </div>
  );
}

function rootFontPx(): number {
  if (typeof document === "undefined") return ROOT_FONT_PX;
  return Number.parseFloat(getComputedStyle(document.documentElement).fontSize) || ROOT_FONT_PX;
}
