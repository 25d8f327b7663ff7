import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  DEFAULT_REGISTER,
  INSTALL_KINDS,
  MISSING_ITEMS,
  REGISTER_COLUMNS,
  REGISTER_GROUPS,
  type RegisterQuery,
  readRegisterQuery,
  writeRegisterQuery,
} from "@/lib/core/heaters/register-query";
import {
  ANSWERS,
  HEATER_STATUSES,
  PLACES,
  READINESS_ITEMS,
  TECHNOLOGIES,
} from "@/lib/core/heaters/vocabulary";

const read = (address: string) =>
  readRegisterQuery(Object.fromEntries(new URLSearchParams(address)));

const maybe = <T>(value: fc.Arbitrary<T>) => fc.option(value, { nil: null });
const some = <T>(values: readonly T[]) => fc.subarray([...values]);
const share = (most: number) => maybe(fc.integer({ min: 0, max: most }));

const queries: fc.Arbitrary<RegisterQuery> = fc.record({
  filter: fc.record({
    search: fc.string({ maxLength: 60 }).map((text) => text.trim()),
    propertyId: maybe(fc.uuid()),
    buildingId: maybe(fc.uuid()),
    technologies: some(TECHNOLOGIES),
    status: maybe(fc.constantFrom(...HEATER_STATUSES)),
    ageFrom: share(200),
    ageTo: share(200),
    installKinds: some(INSTALL_KINDS),
    chanceFrom: share(100),
    chanceTo: share(100),
    missing: some(MISSING_ITEMS),
    readiness: maybe(
      fc.record({
        item: fc.constantFrom(...READINESS_ITEMS),
        answer: fc.constantFrom(...ANSWERS),
      }),
    ),
    places: some(PLACES),
  }),
  sort: fc.record({ column: fc.constantFrom(...REGISTER_COLUMNS), descending: fc.boolean() }),
  group: fc.constantFrom(...REGISTER_GROUPS),
  columns: some(REGISTER_COLUMNS.slice(1)).map((columns) => ["tag" as const, ...columns]),
});

describe("the address of the register", () => {
  test("holds everything: reading what was written gives the same view", () => {
    fc.assert(
      fc.property(queries, (query) => {
        expect(read(writeRegisterQuery(query))).toEqual({ query, problems: [] });
      }),
    );
  });

  test("an empty address is the heaters in service by tag", () => {
    expect(read("")).toEqual({ query: DEFAULT_REGISTER, problems: [] });
    expect(writeRegisterQuery(DEFAULT_REGISTER)).toBe("");
  });

  test("a box ticked twice by a form without scripts is a list", () => {
    const { query } = readRegisterQuery({ technology: ["gas-storage", "electric-storage"] });
    expect(query.filter.technologies).toEqual(["gas-storage", "electric-storage"]);
  });

  test("what it cannot make sense of is left out and named", () => {
    const { query, problems } = read(
      "technology=steam,gas-storage&age-from=old&sort=-weight&property=7&ready=moat:yes",
    );
    expect(query.filter.technologies).toEqual(["gas-storage"]);
    expect(query.filter.ageFrom).toBeNull();
    expect(query.filter.propertyId).toBeNull();
    expect(query.sort).toEqual(DEFAULT_REGISTER.sort);
    expect(problems.map(({ path }) => path).sort()).toEqual([
      "age-from",
      "property",
      "ready",
      "sort",
      "technology",
    ]);
  });

  test("the tag is always shown and stands first", () => {
    expect(read("columns=age,tag,maker").query.columns).toEqual(["tag", "maker", "age"]);
    expect(read("columns=age").query.columns).toEqual(["tag", "age"]);
  });
});
