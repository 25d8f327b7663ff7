import { formatNumber } from "@/app/_lib/format";
import type { PropertyChoice } from "@/lib/services/sites";

/** Which property is shown and, where it matters, which option places are held against. */
export function SiteFilter({
  properties,
  propertyId,
  needsProperty,
  options = [],
  optionCode,
}: {
  readonly properties: readonly PropertyChoice[];
  readonly propertyId: string | null;
  readonly needsProperty: boolean;
  readonly options?: readonly { readonly code: string; readonly name: string }[];
  readonly optionCode?: string;
}) {
  return (
    <form className="filter" method="get" aria-label="Filter">
      <div className="field">
        <label htmlFor="property">Property</label>
        <select id="property" name="property" defaultValue={propertyId ?? ""}>
          {!needsProperty && <option value="">All properties</option>}
          {properties.map((property) => (
            <option key={property.id} value={property.id}>
              {property.name} ({formatNumber(property.heaterCount)})
            </option>
          ))}
        </select>
      </div>
      {options.length > 0 && <OptionChoice options={options} optionCode={optionCode} />}
      <button className="button" type="submit">
        Show
      </button>
    </form>
  );
}

/** The option that places are held against. */
export function OptionChoice({
  options,
  optionCode,
}: {
  readonly options: readonly { readonly code: string; readonly name: string }[];
  readonly optionCode?: string;
}) {
  return (
    <div className="field">
      <label htmlFor="option">Held against</label>
      <select id="option" name="option" defaultValue={optionCode}>
        {options.map(({ code, name }) => (
          <option key={code} value={code}>
            {name}
          </option>
        ))}
      </select>
    </div>
  );
}
