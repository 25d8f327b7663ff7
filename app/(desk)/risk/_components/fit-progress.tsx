import type { FitRow } from "@/lib/services/risk-fits";
import { FreshWatch } from "./fresh-watch";

/** How far a fit is; the page shows the result by itself when it is there. */
export function FitProgress({
  fit: { number, progress, message },
}: {
  readonly fit: Pick<FitRow, "number" | "progress" | "message">;
}) {
  const percent = Math.round(100 * progress);
  const words = message ?? "Under way";
  return (
    <div className="section" role="status">
      <div
        className="progress"
        role="progressbar"
        aria-label={`Progress of fit ${number}`}
        aria-valuemin={0}
        aria-valuemax={100}
        aria-valuenow={percent}
        aria-valuetext={words}
      >
        <div style={{ width: `${percent}%` }} />
      </div>
      <p>
        {words}: {percent} % done.
      </p>
      <p className="small soft">
        Seconds for a few thousand heaters, a minute or so for a hundred thousand. You may leave
        this page: the work goes on and its result is kept.
      </p>
      <FreshWatch />
    </div>
  );
}
