import type { EntryItem, OutboxItem } from "@/app/_lib/outbox";
import type {
  RoundOnPhone,
  StopOnPhone,
} from "@/app/(phone)/upkeep/rounds/[id]/walk/_lib/round-on-phone";
import styles from "./walk.module.css";

/** All stops in their order; each row is one large target. */
export function StopList({
  round,
  items,
  open,
}: {
  readonly round: RoundOnPhone;
  readonly items: readonly OutboxItem[];
  readonly open: (stopId: string) => void;
}) {
  const rows = round.stops.map((stop) => ({ stop, state: stateOf(stop, items) }));
  const closed = rows.filter(({ state }) => state.isClosed).length;
  return (
    <>
      <header className={styles.pad}>
        <a href={`/upkeep/rounds/${round.id}`}>Back to the desk</a>
        <h1 className={styles.title}>{round.property}</h1>
        <p>
          {round.name}, {round.dayInWords}. {closed} of {rows.length} stops.
        </p>
        {round.status === "cancelled" && (
          <p className="notice notice--attention">
            This round was cancelled. Ask before you go on.
          </p>
        )}
      </header>
      <ol className={styles.list}>
        {rows.map(({ stop, state }) => (
          <li key={stop.id}>
            <button className={styles.row} type="button" onClick={() => open(stop.id)}>
              <span className={styles.number}>{stop.number}</span>
              <span className={styles.where}>
                <strong>
                  {stop.building}, {stop.label}
                </strong>
                <span className="soft">
                  {stop.floor !== null && `floor ${stop.floor}, `}
                  {stop.arrive}, {stop.minutes} min
                </span>
                {stop.access && <span>{stop.access}</span>}
              </span>
              <span className={`mark ${state.mark}`}>{state.words}</span>
            </button>
          </li>
        ))}
      </ol>
    </>
  );
}

type RowState = { readonly words: string; readonly mark: string; readonly isClosed: boolean };

/** What the list says of a stop: what is kept here goes before what the server had when the page was read. */
function stateOf(stop: StopOnPhone, items: readonly OutboxItem[]): RowState {
  const here = items.filter((item) => item.stopId === stop.id);
  const entry = here.findLast((item): item is EntryItem => item.kind === "entry");
  const words = (outcome: string) => (outcome === "done" ? "Done" : "No access");
  if (entry?.state === "conflict" || entry?.state === "refused") {
    return { words: "Needs you", mark: "mark--attention", isClosed: false };
  }
  if (entry) {
    const isSent = entry.state === "sent";
    return {
      words: isSent ? words(entry.body.outcome) : `${words(entry.body.outcome)}, waits`,
      mark: isSent ? "mark--good" : "",
      isClosed: true,
    };
  }
  if (stop.status === "open" || here.some(({ kind }) => kind === "take-back")) {
    return { words: "Open", mark: "", isClosed: false };
  }
  return {
    words: words(stop.status),
    mark: stop.status === "done" ? "mark--good" : "mark--attention",
    isClosed: true,
  };
}
