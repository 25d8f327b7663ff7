import { formatNumber } from "@/app/_lib/format";
import { ANSWER_LABELS, PLACE_LABELS } from "@/lib/core/heaters/vocabulary";
import { mgPerLitreToGrains } from "@/lib/core/shared/units";
import type { HeaterPage } from "@/lib/services/heater-page";
import { orDash } from "./words";

/** Where it stands, for whom, and in what water. */
export function PlacePart({ page }: { readonly page: HeaterPage }) {
  const { entry, place, water } = page;
  const { home } = entry;
  return (
    <section className="section" aria-labelledby="place">
      <h2 id="place">Place, home and water</h2>
      <dl className="facts">
        <dt>Property</dt>
        <dd>
          {place.propertyName}
          {place.street && (
            <span className="soft">
              , {place.street}
              {place.city ? `, ${place.city}` : ""}
            </span>
          )}
        </dd>
        <dt>Building</dt>
        <dd>
          {place.buildingName}
          {place.builtYear !== null && <span className="soft">, built {place.builtYear}</span>}
        </dd>
        <dt>Home</dt>
        <dd>
          {home
            ? [
                home.label,
                home.floor === null ? null : `floor ${home.floor}`,
                home.riser === null ? null : `riser ${home.riser}`,
              ]
                .filter(Boolean)
                .join(", ")
            : "Common place"}
        </dd>
        <dt>People</dt>
        <dd>
          {home
            ? `${home.occupants === null ? "not known" : home.occupants}; ${home.bedrooms ?? "–"} bedrooms, ${home.bathrooms ?? "–"} bathrooms`
            : "–"}
        </dd>
        <dt>Homes served</dt>
        <dd>{entry.homesServed}</dd>
        <dt>Stands in</dt>
        <dd>{PLACE_LABELS[entry.place]}</dd>
        <dt>Over finished rooms</dt>
        <dd>{ANSWER_LABELS[entry.overFinishedSpace]}</dd>
        <dt>Drain pan</dt>
        <dd>{ANSWER_LABELS[entry.drainPan]}</dd>
        <dt>Leak shut-off</dt>
        <dd>{ANSWER_LABELS[entry.leakShutoff]}</dd>
        <dt>Closed cold feed</dt>
        <dd>{ANSWER_LABELS[entry.closedSystem]}</dd>
        <dt>Expansion control</dt>
        <dd>{ANSWER_LABELS[entry.expansionControl]}</dd>
        <dt>Hardness</dt>
        <dd>
          {water.hardnessMgPerLitre === null
            ? "no water test"
            : `${formatNumber(mgPerLitreToGrains(water.hardnessMgPerLitre), 1)} gpg (${formatNumber(water.hardnessMgPerLitre)} mg/L as CaCO₃)`}
        </dd>
        <dt>Softened</dt>
        <dd>{ANSWER_LABELS[water.softened]}</dd>
        <dt>pH</dt>
        <dd>{orDash(water.ph)}</dd>
        <dt>Notes</dt>
        <dd>{orDash(entry.notes)}</dd>
      </dl>
    </section>
  );
}
