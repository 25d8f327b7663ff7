import { CAUTIONS } from "@/lib/core/heaters/cautions";
import {
  URGENT_CAUTIONS,
  URGENT_FIRST,
  URGENT_LABELS,
  type UrgentKind,
} from "@/lib/core/upkeep/urgent-matters";
import { Caution } from "./caution";

/** What to do first about an urgent matter, then the cautions that belong to it. */
export function UrgentCaution({ kind }: { readonly kind: UrgentKind }) {
  return (
    <div className="notice notice--attention" role="alert">
      <p>
        <strong>{URGENT_LABELS[kind]}.</strong> {URGENT_FIRST[kind]}
      </p>
      {URGENT_CAUTIONS[kind].map((act) => (
        <Caution key={act}>{CAUTIONS[act]}</Caution>
      ))}
    </div>
  );
}
