"use client";

import { useCallback, useEffect, useRef, useState } from "react";
import type { ListItem, RegisterList, WindowPlace } from "@/app/(desk)/heaters/_lib/register-list";
import type { RegisterRow } from "@/lib/core/heaters/register-row";

type Loaded = {
  readonly view: string;
  readonly windows: ReadonlyMap<number, readonly RegisterRow[]>;
};

/**
 * Rows of the windows that have come into view. `view` names the question that the rows answer: when it
 * changes, what was loaded for another is forgotten.
 */
export function useRegisterRows({
  view,
  list,
  initial,
  visible,
}: {
  readonly view: string;
  readonly list: RegisterList;
  /** Rows of the first window where the page brought them. */
  readonly initial: readonly RegisterRow[] | null;
  readonly visible: readonly ListItem[];
}): {
  readonly rowOf: (item: ListItem) => RegisterRow | null;
  readonly failed: boolean;
  readonly retry: () => void;
} {
  const [loaded, setLoaded] = useState<Loaded>({ view, windows: new Map() });
  const [failed, setFailed] = useState(false);
  const underWay = useRef(new Set<string>());
  const windows = loaded.view === view ? loaded.windows : EMPTY;

  const wanted = [
    ...new Set(visible.flatMap((item) => (item.kind === "row" ? [item.window] : []))),
  ].filter((window) => !windows.has(window) && !(window === 0 && initial));
  const wantedKey = wanted.join();

  // biome-ignore lint/correctness/useExhaustiveDependencies: the windows wanted stand in wantedKey
  useEffect(() => {
    if (failed) return;
    for (const window of wanted) {
      const place = list.placeOf(window);
      const request = `${view} ${window}`;
      if (!place || underWay.current.has(request)) continue;
      underWay.current.add(request);
      fetchRows(view, place)
        .then((rows) => {
          setLoaded((before) => {
            const kept = before.view === view ? before.windows : EMPTY;
            return { view, windows: new Map(kept).set(window, rows) };
          });
        })
        .catch(() => setFailed(true))
        .finally(() => underWay.current.delete(request));
    }
  }, [view, list, wantedKey, failed]);

  const rowOf = useCallback(
    (item: ListItem): RegisterRow | null => {
      if (item.kind === "group") return null;
      const rows = windows.get(item.window) ?? (item.window === 0 ? initial : null);
      return rows?.[item.offset] ?? null;
    },
    [windows, initial],
  );
  return { rowOf, failed, retry: () => setFailed(false) };
}

const EMPTY: ReadonlyMap<number, readonly RegisterRow[]> = new Map();

async function fetchRows(view: string, place: WindowPlace): Promise<readonly RegisterRow[]> {
  const address = `/heaters/rows?${view}&at=${encodeURIComponent(JSON.stringify(place))}`;
  const answer = await fetch(address, { headers: { accept: "application/json" } });
  if (!answer.ok) throw new Error(`the rows could not be read (${answer.status})`);
  return (await answer.json()) as readonly RegisterRow[];
}
