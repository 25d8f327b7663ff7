import { z } from "zod";
import type { Problem } from "@/lib/core/shared/outcome";
import {
  ANSWERS,
  type Answer,
  type HeaterStatus,
  PLACES,
  type Place,
  READINESS_ITEMS,
  type ReadinessItem,
  TECHNOLOGIES,
  type Technology,
} from "./vocabulary";

/**
 * What the register of heaters is asked: filters, order, grouping and columns. The address of the
 * page holds all of it, so that a view can be kept, sent and returned to.
 */

/** The columns of the register, in the order in which they are shown. */
export const REGISTER_COLUMNS = [
  "tag",
  "property",
  "building",
  "home",
  "floor",
  "riser",
  "technology",
  "maker",
  "model",
  "volume",
  "install",
  "age",
  "hardness",
  "chance",
  "loss",
  "lastVisit",
  "status",
] as const;
export type RegisterColumn = (typeof REGISTER_COLUMNS)[number];

export const REGISTER_COLUMN_LABELS: Readonly<Record<RegisterColumn, string>> = {
  tag: "Tag",
  property: "Property",
  building: "Building",
  home: "Home",
  floor: "Floor",
  riser: "Riser",
  technology: "Technology",
  maker: "Maker",
  model: "Model",
  volume: "Volume",
  install: "Installed",
  age: "Age",
  hardness: "Hardness",
  chance: "Chance in 12 months",
  loss: "Expected loss",
  lastVisit: "Last visit",
  status: "Status",
};

export const DEFAULT_COLUMNS: readonly RegisterColumn[] = [
  "tag",
  "property",
  "building",
  "home",
  "technology",
  "volume",
  "install",
  "age",
  "hardness",
  "chance",
  "loss",
];

/** How well the install day is known: a day on paper; a bracket or an estimate; nothing but the building. */
export const INSTALL_KINDS = ["known", "estimated", "unknown"] as const;
export type InstallKind = (typeof INSTALL_KINDS)[number];

export const INSTALL_KIND_LABELS: Readonly<Record<InstallKind, string>> = {
  known: "Known day",
  estimated: "Estimate or bracket",
  unknown: "No evidence",
};

/** What a record can lack that a computation has to assume instead. */
export const MISSING_ITEMS = [
  "install-day",
  "maker",
  "model",
  "serial",
  "volume",
  "input",
  "efficiency",
  "setpoint",
  "hardness",
  "home",
  "leak-protection",
  "survey",
  "survey-open",
] as const;
export type MissingItem = (typeof MISSING_ITEMS)[number];

export const MISSING_LABELS: Readonly<Record<MissingItem, string>> = {
  "install-day": "Install day",
  maker: "Maker",
  model: "Model",
  serial: "Serial number",
  volume: "Tank volume",
  input: "Input",
  efficiency: "Energy factor",
  setpoint: "Setpoint",
  hardness: "Water hardness",
  home: "Home",
  "leak-protection": "Pan, shut-off or what is below",
  survey: "Site survey",
  "survey-open": "Answers in the site survey",
};

export const REGISTER_GROUPS = ["none", "property", "building"] as const;
export type RegisterGroup = (typeof REGISTER_GROUPS)[number];

export type RegisterFilter = {
  /** Words that all have to occur in tag, home, building, property, maker, model or serial number. */
  readonly search: string;
  readonly propertyId: string | null;
  readonly buildingId: string | null;
  readonly technologies: readonly Technology[];
  /** null asks for all: those in service first, then the retired ones. */
  readonly status: HeaterStatus | null;
  /** Years, inclusive; of a retired heater the age that it reached. */
  readonly ageFrom: number | null;
  readonly ageTo: number | null;
  readonly installKinds: readonly InstallKind[];
  /** Chance of failing within 12 months, percent, inclusive. */
  readonly chanceFrom: number | null;
  readonly chanceTo: number | null;
  /** Heaters whose record lacks any of these. */
  readonly missing: readonly MissingItem[];
  readonly readiness: { readonly item: ReadinessItem; readonly answer: Answer } | null;
  readonly places: readonly Place[];
};

export type RegisterSort = { readonly column: RegisterColumn; readonly descending: boolean };

export type RegisterQuery = {
  readonly filter: RegisterFilter;
  readonly sort: RegisterSort;
  readonly group: RegisterGroup;
  readonly columns: readonly RegisterColumn[];
};

export const EMPTY_FILTER: RegisterFilter = {
  search: "",
  propertyId: null,
  buildingId: null,
  technologies: [],
  status: "in-service",
  ageFrom: null,
  ageTo: null,
  installKinds: [],
  chanceFrom: null,
  chanceTo: null,
  missing: [],
  readiness: null,
  places: [],
};

export const DEFAULT_REGISTER: RegisterQuery = {
  filter: EMPTY_FILTER,
  sort: { column: "tag", descending: false },
  group: "none",
  columns: DEFAULT_COLUMNS,
};

/** The parts of an address that this page reads, by name. A part that occurs twice is a list. */
export type AddressParts = Readonly<Record<string, string | readonly string[] | undefined>>;

const LONGEST_SEARCH = 120;

/**
 * Reads an address. What it cannot make sense of is left out and named, so that a mistyped or old
 * address still opens the register.
 */
export function readRegisterQuery(parts: AddressParts): {
  readonly query: RegisterQuery;
  readonly problems: readonly Problem[];
} {
  const problems: Problem[] = [];
  const reader = new AddressReader(parts, problems);
  const filter: RegisterFilter = {
    search: (reader.text("q") ?? "").slice(0, LONGEST_SEARCH),
    propertyId: reader.id("property"),
    buildingId: reader.id("building"),
    technologies: reader.list("technology", TECHNOLOGIES),
    status: readStatus(reader),
    ageFrom: reader.number("age-from", 0, 200),
    ageTo: reader.number("age-to", 0, 200),
    installKinds: reader.list("install", INSTALL_KINDS),
    chanceFrom: reader.number("chance-from", 0, 100),
    chanceTo: reader.number("chance-to", 0, 100),
    missing: reader.list("missing", MISSING_ITEMS),
    readiness: readReadiness(reader),
    places: reader.list("place", PLACES),
  };
  const columns = reader.list("columns", REGISTER_COLUMNS);
  const query: RegisterQuery = {
    filter,
    sort: readSort(reader),
    group: reader.choice("group", REGISTER_GROUPS) ?? "none",
    // The tag leads to the heater, so it always stands first.
    columns:
      columns.length === 0
        ? DEFAULT_COLUMNS
        : REGISTER_COLUMNS.filter((column) => column === "tag" || columns.includes(column)),
  };
  return { query, problems };
}

/** The address of a view; what is as by default is left out. */
export function writeRegisterQuery({ filter, sort, group, columns }: RegisterQuery): string {
  const params = new URLSearchParams();
  const put = (name: string, value: string | number | null) => {
    if (value !== null && value !== "") params.append(name, String(value));
  };
  put("q", filter.search.trim());
  put("property", filter.propertyId);
  put("building", filter.buildingId);
  put("technology", filter.technologies.join(","));
  if (filter.status !== EMPTY_FILTER.status) put("status", filter.status ?? "all");
  put("age-from", filter.ageFrom);
  put("age-to", filter.ageTo);
  put("install", filter.installKinds.join(","));
  put("chance-from", filter.chanceFrom);
  put("chance-to", filter.chanceTo);
  put("missing", filter.missing.join(","));
  if (filter.readiness) put("ready", `${filter.readiness.item}:${filter.readiness.answer}`);
  put("place", filter.places.join(","));
  if (sort.column !== "tag" || sort.descending) {
    put("sort", `${sort.descending ? "-" : ""}${sort.column}`);
  }
  if (group !== "none") put("group", group);
  if (columns.join() !== DEFAULT_COLUMNS.join()) put("columns", columns.join(","));
  return params.toString().replaceAll("%2C", ",").replaceAll("%3A", ":");
}

/** How many filters are set beside search and status. */
export function countFilters(filter: RegisterFilter): number {
  return [
    filter.propertyId !== null,
    filter.buildingId !== null,
    filter.technologies.length > 0,
    filter.ageFrom !== null || filter.ageTo !== null,
    filter.installKinds.length > 0,
    filter.chanceFrom !== null || filter.chanceTo !== null,
    filter.missing.length > 0,
    filter.readiness !== null,
    filter.places.length > 0,
  ].filter(Boolean).length;
}

function readStatus(reader: AddressReader): HeaterStatus | null {
  const status = reader.choice("status", ["in-service", "retired", "all"] as const);
  if (status === null) return EMPTY_FILTER.status;
  return status === "all" ? null : status;
}

function readSort(reader: AddressReader): RegisterSort {
  const text = reader.text("sort");
  if (text === null) return DEFAULT_REGISTER.sort;
  const descending = text.startsWith("-");
  const column = reader.member("sort", descending ? text.slice(1) : text, REGISTER_COLUMNS);
  return column === null ? DEFAULT_REGISTER.sort : { column, descending };
}

function readReadiness(reader: AddressReader): RegisterFilter["readiness"] {
  const text = reader.text("ready");
  if (text === null) return null;
  const [itemText = "", answerText = ""] = text.split(":");
  const item = reader.member("ready", itemText, READINESS_ITEMS);
  const answer = reader.member("ready", answerText, ANSWERS);
  return item && answer ? { item, answer } : null;
}

class AddressReader {
  constructor(
    private readonly parts: AddressParts,
    private readonly problems: Problem[],
  ) {}

  text(name: string): string | null {
    const part = this.parts[name];
    const text = typeof part === "string" ? part : part?.join(",");
    return text?.trim() ? text.trim() : null;
  }

  id(name: string): string | null {
    const text = this.text(name);
    if (text === null || z.guid().safeParse(text).success) return text;
    return this.refuse(name, `"${text}" is not the id of a ${name}`);
  }

  number(name: string, low: number, high: number): number | null {
    const text = this.text(name);
    if (text === null) return null;
    const value = Number(text);
    if (value >= low && value <= high) return value;
    return this.refuse(name, `"${text}" is not a number from ${low} to ${high}`);
  }

  choice<T extends string>(name: string, choices: readonly T[]): T | null {
    const text = this.text(name);
    return text === null ? null : this.member(name, text, choices);
  }

  list<T extends string>(name: string, choices: readonly T[]): readonly T[] {
    const texts = (this.text(name) ?? "").split(",").filter((text) => text !== "");
    const members = new Set(texts.map((text) => this.member(name, text.trim(), choices)));
    return choices.filter((choice) => members.has(choice));
  }

  member<T extends string>(name: string, text: string, choices: readonly T[]): T | null {
    const found = choices.find((choice) => choice === text);
    return found ?? this.refuse(name, `"${text}" is not one of ${choices.join(", ")}`);
  }

  private refuse(name: string, message: string): null {
    this.problems.push({ path: name, message });
    return null;
  }
}
