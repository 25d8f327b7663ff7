import { type HomeFacts, UNKNOWN_HOME } from "@/lib/core/exchange/record-facts";
import type { KnownBuilding, KnownProperty, KnownUnit, NewUnit } from "@/lib/data/import-writes";
import { NameIndex } from "./name-index";

export type BookedProperty = KnownProperty & { readonly isNew: boolean };
export type BookedBuilding = KnownBuilding & { readonly isNew: boolean };
export type BookedUnit = {
  readonly id: string;
  readonly buildingId: string;
  readonly label: string;
  readonly isNew: boolean;
  home: HomeFacts;
  /** Heaters in service there, as far as the file has been read. */
  inService: number;
  /** Of these, new ones of the file. */
  newInService: number;
};

/** Places that the rows read since the last time have made. */
export type NewPlaces = {
  readonly properties: readonly KnownProperty[];
  readonly buildings: readonly KnownBuilding[];
  readonly units: readonly NewUnit[];
};

/**
 * The properties, buildings and homes that rows name: those on record and those that the file makes.
 * Names that differ in case only are one place. Homes of a building on record are known once
 * {@link addUnits} was told of them.
 */
export class PlaceBook {
  readonly #properties = new NameIndex<BookedProperty>();
  readonly #buildings = new NameIndex<BookedBuilding>();
  readonly #units = new NameIndex<BookedUnit>();
  readonly #buildingsWithUnits = new Set<string>();
  readonly #nameOfProperty = new Map<string, string>();
  readonly #placeOfBuilding = new Map<string, string>();
  #newProperties: BookedProperty[] = [];
  #newBuildings: BookedBuilding[] = [];
  #newUnits: BookedUnit[] = [];

  readonly #newId: () => string;

  /** @param newId makes the identifier of a new place */
  constructor(
    properties: readonly KnownProperty[],
    buildings: readonly KnownBuilding[],
    newId: () => string,
  ) {
    this.#newId = newId;
    for (const property of properties) {
      this.#addProperty({ ...property, isNew: false });
    }
    for (const building of buildings) {
      this.#addBuilding({ ...building, isNew: false });
    }
  }

  findBuilding(propertyName: string, buildingName: string): BookedBuilding | null {
    const property = this.#properties.get("", propertyName);
    return (property && this.#buildings.get(property.id, buildingName)) ?? null;
  }

  #addProperty(property: BookedProperty): void {
    this.#properties.add("", property.name, property);
    this.#nameOfProperty.set(property.id, property.name);
  }

  #addBuilding(building: BookedBuilding): void {
    const { id, propertyId, name } = building;
    const property = this.nameOfProperty(propertyId);
    this.#buildings.add(propertyId, name, building);
    this.#placeOfBuilding.set(id, property === name ? name : `${property}, ${name}`);
  }

  nameOfProperty(id: string): string {
    return this.#nameOfProperty.get(id) ?? "";
  }

  /** Property and building, as a person names the place. */
  placeOfBuilding(id: string): string {
    return this.#placeOfBuilding.get(id) ?? "";
  }

  /** True for a building on record whose homes the book has not been told of. */
  lacksUnits(buildingId: string): boolean {
    return !this.#buildingsWithUnits.has(buildingId);
  }

  addUnits(buildingIds: Iterable<string>, units: readonly KnownUnit[]): void {
    for (const id of buildingIds) this.#buildingsWithUnits.add(id);
    for (const { id, buildingId, label, home, inService } of units) {
      this.#units.add(buildingId, label, {
        id,
        buildingId,
        label,
        isNew: false,
        home,
        inService,
        newInService: 0,
      });
    }
  }

  findUnit(buildingId: string, label: string): BookedUnit | null {
    return this.#units.get(buildingId, label) ?? null;
  }

  settleProperty(name: string): BookedProperty {
    const known = this.#properties.get("", name);
    if (known) return known;
    const property = { id: this.#newId(), name, isNew: true };
    this.#addProperty(property);
    this.#newProperties.push(property);
    return property;
  }

  settleBuilding(propertyName: string, name: string): BookedBuilding {
    const { id: propertyId } = this.settleProperty(propertyName);
    const known = this.#buildings.get(propertyId, name);
    if (known) return known;
    const building = { id: this.#newId(), propertyId, name, builtYear: null, isNew: true };
    this.#addBuilding(building);
    this.#buildingsWithUnits.add(building.id);
    this.#newBuildings.push(building);
    return building;
  }

  settleUnit(buildingId: string, label: string): BookedUnit {
    const known = this.#units.get(buildingId, label);
    if (known) return known;
    const unit: BookedUnit = {
      id: this.#newId(),
      buildingId,
      label,
      isNew: true,
      home: UNKNOWN_HOME,
      inService: 0,
      newInService: 0,
    };
    this.#units.add(buildingId, label, unit);
    this.#newUnits.push(unit);
    return unit;
  }

  /** New heaters in service that share a home with another one in service. */
  countSecondHeaters(): number {
    let count = 0;
    for (const { inService, newInService } of this.#units.values()) {
      if (newInService > 0) count += Math.min(newInService, Math.max(0, inService - 1));
    }
    return count;
  }

  /** What was made since this was last asked, to be written before the heaters that stand there. */
  takeNewPlaces(): NewPlaces {
    const places = {
      properties: this.#newProperties,
      buildings: this.#newBuildings,
      units: this.#newUnits,
    };
    this.#newProperties = [];
    this.#newBuildings = [];
    this.#newUnits = [];
    return places;
  }
}
