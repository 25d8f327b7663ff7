import type { EntryAnswer, RoundEntry } from "@/lib/core/upkeep/round-entry";

/**
 * What was recorded on this device and is not on the server yet, in the browser's own database. An entry
 * leaves it only when the server has said what became of it; every entry carries the key under which the
 * server keeps it once, however often it is sent.
 */

export type OutboxState =
  | "waiting"
  /** The server has it. Kept until the page shows it from the server. */
  | "sent"
  /** The person decides. */
  | "conflict"
  | "refused";

type Common = {
  readonly id: string;
  /** Organisation and person: nobody else's entries are shown or sent. */
  readonly owner: string;
  readonly roundId: string;
  readonly stopId: string;
  readonly key: string;
  /** Entries are sent in the order in which they were made. */
  readonly order: number;
  readonly state: OutboxState;
  readonly message: string | null;
};

export type OutboxItem = Common &
  (
    | { readonly kind: "entry"; readonly body: RoundEntry }
    | { readonly kind: "take-back" }
    | { readonly kind: "photo"; readonly heaterId: string; readonly picture: Blob }
  );

export type EntryItem = Extract<OutboxItem, { kind: "entry" }>;
export type PhotoItem = Extract<OutboxItem, { kind: "photo" }>;

const DATABASE = "tanklore";
const OUTBOX = "outbox";
const DRAFTS = "drafts";

let opened: Promise<IDBDatabase> | null = null;

function openDatabase(): Promise<IDBDatabase> {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(DATABASE, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore(OUTBOX, { keyPath: "id" });
      request.result.createObjectStore(DRAFTS);
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => {
      opened = null;
      reject(request.error);
    };
  });
  return opened;
}

/** Runs `work` in one transaction and waits until it is on the disk. */
async function inTransaction<T>(
  stores: readonly string[],
  mode: IDBTransactionMode,
  work: (store: (name: string) => IDBObjectStore) => IDBRequest<T> | undefined,
): Promise<T | undefined> {
  const database = await openDatabase();
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(stores, mode, { durability: "strict" });
    const request = work((name) => transaction.objectStore(name));
    transaction.oncomplete = () => resolve(request?.result);
    transaction.onerror = () => reject(transaction.error);
    transaction.onabort = () => reject(transaction.error);
  });
}

/** Everything of an owner that is kept here, in its order. */
export async function readOutbox(owner: string): Promise<readonly OutboxItem[]> {
  const all = await inTransaction<OutboxItem[]>([OUTBOX], "readonly", (store) =>
    store(OUTBOX).getAll(),
  );
  return (all ?? []).filter((item) => item.owner === owner).sort((a, b) => a.order - b.order);
}

export type OutboxChange = {
  readonly put?: readonly OutboxItem[];
  /** Ids of items that go. */
  readonly drop?: readonly string[];
  /** A draft that goes, since its entry is kept now, or one that comes back to be changed. */
  readonly dropDraft?: string;
  readonly putDraft?: { readonly key: string; readonly draft: unknown };
};

/** Changes what is kept, all or nothing; when it is done it is on the disk. */
export async function changeOutbox({
  put,
  drop,
  dropDraft,
  putDraft,
}: OutboxChange): Promise<void> {
  await inTransaction([OUTBOX, DRAFTS], "readwrite", (store) => {
    for (const id of drop ?? []) store(OUTBOX).delete(id);
    for (const item of put ?? []) store(OUTBOX).put(item);
    if (dropDraft !== undefined) store(DRAFTS).delete(dropDraft);
    if (putDraft !== undefined) store(DRAFTS).put(putDraft.draft, putDraft.key);
    return undefined;
  });
  announce();
}

/** Changes an item that is still there: what the person took away meanwhile does not come back. */
async function mark(id: string, state: OutboxState, message: string | null): Promise<void> {
  await inTransaction([OUTBOX], "readwrite", (store) => {
    const found: IDBRequest<OutboxItem | undefined> = store(OUTBOX).get(id);
    found.onsuccess = () => {
      if (found.result) store(OUTBOX).put({ ...found.result, state, message });
    };
    return undefined;
  });
  announce();
}

export function readDraft<T>(key: string): Promise<T | undefined> {
  return inTransaction<T>([DRAFTS], "readonly", (store) => store(DRAFTS).get(key));
}

export async function writeDraft(key: string, draft: unknown): Promise<void> {
  await inTransaction([DRAFTS], "readwrite", (store) => {
    store(DRAFTS).put(draft, key);
    return undefined;
  });
}

// ---- sending ----

const CHANGED = "tanklore-outbox-changed";

function announce(): void {
  window.dispatchEvent(new Event(CHANGED));
}

/** Calls `listen` when the outbox has changed, until the function that comes back is called. */
export function onOutboxChange(listen: () => void): () => void {
  window.addEventListener(CHANGED, listen);
  return () => window.removeEventListener(CHANGED, listen);
}

/** What a pass over the outbox met: nothing in the way, no signal, a server that failed, or nobody signed in. */
export type SendOutcome = "sent" | "no-signal" | "server-failed" | "signed-out";

/** Sends what waits, in its order. One pass at a time over all pages of the browser. */
export function sendOutbox(owner: string): Promise<SendOutcome> {
  const pass = () => sendInOrder(owner);
  return navigator.locks ? navigator.locks.request("tanklore-outbox", pass) : pass();
}

async function sendInOrder(owner: string): Promise<SendOutcome> {
  // What the server could not take holds back only what belongs to the same stop.
  const heldBack = new Set<string>();
  for (const item of await readOutbox(owner)) {
    if (item.state !== "waiting" || heldBack.has(item.stopId)) continue;
    const response = await send(item);
    if (response === "no-signal" || response === "signed-out") return response;
    if (response === "server-failed") heldBack.add(item.stopId);
    else await settle(item, response);
  }
  return heldBack.size > 0 ? "server-failed" : "sent";
}

type Answer = EntryAnswer | { readonly status: "waits" | "gone" };

async function send(item: OutboxItem): Promise<Answer | Exclude<SendOutcome, "sent">> {
  try {
    const response = await request(item);
    if (response.status === 401) return "signed-out";
    if (response.status >= 500 || response.status === 429) return "server-failed";
    const body = await response.json();
    if (response.ok) return body as Answer;
    return { status: "refused", message: String(body.error ?? response.statusText) };
  } catch {
    // No answer, or half of one: what became of it is not known, so it is sent again.
    return "no-signal";
  }
}

function request(item: OutboxItem): Promise<Response> {
  const owner = { "x-entry-owner": item.owner };
  const post = (path: string, body: unknown) =>
    fetch(path, {
      method: "POST",
      headers: { ...owner, "content-type": "application/json" },
      body: JSON.stringify(body),
    });
  const { key, roundId, stopId } = item;
  switch (item.kind) {
    case "entry":
      return post("/api/upkeep/entries", item.body);
    case "take-back":
      return post("/api/upkeep/entries/take-back", { key, roundId, stopId });
    case "photo":
      return fetch(
        `/api/upkeep/photos/${item.id}?${new URLSearchParams({ entry: key, heater: item.heaterId })}`,
        { method: "PUT", headers: owner, body: item.picture },
      );
  }
}

async function settle(item: OutboxItem, answer: Answer): Promise<void> {
  switch (answer.status) {
    case "waits":
      return;
    case "kept":
    case "already":
      // An entry stays, as sent, until the page has it from the server.
      if (item.kind === "entry") await mark(item.id, "sent", null);
      else await changeOutbox({ drop: [item.id] });
      return;
    case "taken-back":
    case "gone": {
      const all = await readOutbox(item.owner);
      await changeOutbox({ drop: all.filter(({ key }) => key === item.key).map(({ id }) => id) });
      return;
    }
    case "conflict":
    case "refused":
      await mark(item.id, answer.status, answer.message);
  }
}
