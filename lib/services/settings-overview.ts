import "server-only";
import { countChanges } from "@/lib/data/change-log";
import { listPeople } from "@/lib/data/people";
import { listProperties, readOrganization } from "@/lib/data/settings";
import { withSql } from "@/lib/data/tenant";
import { CONSEQUENCE_FIELDS, readOwnConsequences } from "./settings-consequences";
import { requireAction, type Viewer } from "./viewer";

/** How much of the settings is the organisation's own, and what is missing. */
export type SettingsOverview = {
  readonly costs: { readonly all: number; readonly own: number };
  readonly properties: number;
  readonly untestedProperties: number;
  readonly buildings: number;
  /** Buildings whose service and headroom are both unknown. */
  readonly unknownBuildings: number;
  readonly people: number;
  readonly changes: number;
};

export function readSettingsOverview(viewer: Viewer): Promise<SettingsOverview> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const { settings } = await readOrganization(client);
    const properties = await listProperties(client);
    const people = await listPeople(client);
    const changes = await countChanges(client);
    const total = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0);
    return {
      costs: {
        all: CONSEQUENCE_FIELDS.length,
        own: Object.keys(readOwnConsequences(settings.consequences)).length,
      },
      properties: properties.length,
      untestedProperties: properties.filter(({ lastTestedOn }) => lastTestedOn === null).length,
      buildings: total(properties.map(({ buildings }) => buildings)),
      unknownBuildings: total(properties.map(({ unknownBuildings }) => unknownBuildings)),
      people: people.length,
      changes: total(changes.map((one) => one.changes)),
    };
  });
}
