import {
  type Answer,
  isCombustion,
  isFailureCause,
  type RetirementCause,
} from "@/lib/core/heaters/vocabulary";
import {
  addYears,
  type CalendarDay,
  dayFromParts,
  dayNumber,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import { writeDays } from "./brackets";
import { dayText } from "./day-text";
import { type IdMaker, type Ids, makeIds } from "./ids";
import { type Life, liveInSlot } from "./lives";
import { makeNameplate } from "./nameplates";
import {
  apportion,
  type DemoBuilding,
  type DemoHome,
  type DemoProperty,
  makeBuilding,
  makeProperty,
} from "./places";
import { DemoRandom } from "./random";
import type {
  BuildingRow,
  DemoPortfolio,
  HeaterRow,
  PropertyRow,
  ReadinessAnswerRow,
  RetirementRow,
  ServiceVisitRow,
  TrueLife,
  UnitRow,
  VisitTaskRow,
  WaterTestRow,
} from "./rows";
import { surveyAnswers } from "./surveys";

export type DemoTerms = {
  /** Any whole number; the same seed and day give the same portfolio. */
  readonly seed: number;
  readonly today: CalendarDay;
  /** Heaters in service, at least 50. */
  readonly heaters?: number;
};

/** Heaters of the demo that ships: 24 properties and 90 buildings. */
export const DEMO_HEATERS = 1_200;
/** Years of records. */
export const RECORD_YEARS = 15;
/** Readiness surveys are this many days old at most. */
const SURVEY_WITHIN_DAYS = 900;

/**
 * An invented portfolio: places, heaters in service and those before them, their ends, visits, water
 * tests and site surveys, as rows for the database. Lifetimes follow the stated truth (truth.ts).
 *
 * @throws {RangeError} when `heaters` is not a whole number of at least 50.
 */
export function generateDemo({
  seed,
  today,
  heaters: heaterCount = DEMO_HEATERS,
}: DemoTerms): DemoPortfolio {
  if (!Number.isSafeInteger(heaterCount) || heaterCount < 50) {
    throw new RangeError(`heaters must be a whole number of at least 50, got ${heaterCount}`);
  }
  const random = new DemoRandom(seed);
  const ids = makeIds(seed);
  const todayNumber = dayNumber(today);
  const recordsBegin = dayNumber(addYears(today, -RECORD_YEARS));

  const { properties, buildings, openedDays } = makePlaces(random, ids, {
    heaterCount,
    recordsBegin,
    today: todayNumber,
  });
  const writer = new RecordWriter(random, ids, todayNumber);
  buildings.forEach((building, index) => {
    const openedDay = openedDays[index] as number;
    for (const home of building.slots) {
      writer.writeSlot(building, home, liveInSlot(random, building, home, openedDay, todayNumber));
    }
  });
  return {
    recordsBeginOn: dayText(recordsBegin),
    recordsBeginByProperty: new Map(
      properties.map((property) => [property.row.id, dayText(property.recordsBegin)]),
    ),
    properties: properties.map((property): PropertyRow => property.row),
    buildings: buildings.map((building): BuildingRow => building.row),
    units: buildings.flatMap((building): readonly UnitRow[] => building.units),
    waterTests: properties.flatMap((property) =>
      makeWaterTests(random, ids.waterTest, property, todayNumber),
    ),
    ...writer.rows,
  };
}

function makePlaces(
  random: DemoRandom,
  ids: Ids,
  terms: { readonly heaterCount: number; readonly recordsBegin: number; readonly today: number },
) {
  const { heaterCount, recordsBegin, today } = terms;
  const propertyCount = Math.max(1, Math.round((heaterCount * 24) / DEMO_HEATERS));
  const buildingCount = Math.max(1, Math.round((heaterCount * 90) / DEMO_HEATERS));
  const weights = (count: number, low: number) =>
    Array.from({ length: count }, () => random.between(low, 2 - low));
  const buildingsOf = apportion(buildingCount, weights(propertyCount, 0.4));
  const heatersOf = apportion(heaterCount, weights(buildingCount, 0.35));

  const properties: DemoProperty[] = [];
  const buildings: DemoBuilding[] = [];
  const openedDays: number[] = [];
  buildingsOf.forEach((count, propertyIndex) => {
    const property = makeProperty(random, ids.property, propertyIndex, { recordsBegin, today });
    properties.push(property);
    const propertyYear = yearOf(dayText(recordsBegin)) - random.whole(4, 48);
    for (let number = 1; number <= count; number++) {
      const builtYear = propertyYear + random.whole(0, 2);
      const index = buildings.length;
      buildings.push(
        makeBuilding(random, ids, property, {
          index,
          number,
          heaterCount: heatersOf[index] as number,
          builtYear,
          today,
        }),
      );
      openedDays.push(dayNumber(dayFromParts(builtYear, 1, 1)) + random.whole(30, 360));
    }
  });
  return { properties, buildings, openedDays };
}

function makeWaterTests(
  random: DemoRandom,
  ids: IdMaker,
  property: DemoProperty,
  today: number,
): WaterTestRow[] {
  if (!property.isWaterTested) return [];
  const tests: WaterTestRow[] = [];
  const everyDays = random.whole(700, 1_500);
  for (
    let day = property.recordsBegin + random.whole(20, 500);
    day <= today;
    day += everyDays + random.whole(-90, 90)
  ) {
    const noisy = (value: number) => Math.round(value * random.between(0.96, 1.04));
    const hardness = noisy(property.hardnessMgPerLitre);
    const isFull = random.chance(0.75);
    tests.push({
      id: ids.next(),
      propertyId: property.row.id,
      sampledOn: dayText(day),
      hardnessMgPerLitre: hardness,
      softened: property.isSofteningKnown ? (property.softened ? "yes" : "no") : "unknown",
      ph: isFull ? Math.round(10 * random.between(7.1, 8.1)) / 10 : null,
      alkalinityMgPerLitre: isFull ? noisy(30 + 0.6 * property.hardnessMgPerLitre) : null,
      dissolvedSolidsMgPerLitre: isFull ? noisy(80 + 1.4 * property.hardnessMgPerLitre) : null,
      temperatureF: isFull ? random.whole(50, 64) : null,
      disinfectant: isFull ? random.pick(["chlorine", "chloramine"]) : null,
    });
  }
  return tests;
}

/** Writes what the record holds of each slot, with the gaps that records have. */
class RecordWriter {
  readonly rows = {
    heaters: [] as HeaterRow[],
    retirements: [] as RetirementRow[],
    readinessAnswers: [] as ReadinessAnswerRow[],
    serviceVisits: [] as ServiceVisitRow[],
    visitTasks: [] as VisitTaskRow[],
    trueLives: [] as TrueLife[],
  };

  constructor(
    private readonly random: DemoRandom,
    private readonly ids: Ids,
    private readonly today: number,
  ) {}

  /** Writes the lives that followed one another in one place. */
  writeSlot(building: DemoBuilding, home: DemoHome, lives: readonly Life[]): void {
    const { recordsBegin } = building.property;
    const days = writeDays(this.random, lives, {
      builtDay: dayNumber(dayFromParts(building.row.builtYear, 1, 1)),
      recordsBegin,
      today: this.today,
    });
    let predecessorId: string | null = null;
    lives.forEach((life, index) => {
      const { install, end } = days[index] as (typeof days)[number];
      const heater = this.makeHeater(building, home, life, {
        installEarliest: dayText(install.earliest),
        installLatest: dayText(install.latest),
        installEvidence: install.evidence,
        predecessorId,
      });
      this.rows.heaters.push(heater);
      if (life.cause !== null && end !== null) this.writeRetirement(heater.id, life.cause, end);
      this.writeVisits(heater.id, life, recordsBegin);
      if (life.cause === null && building.isSurveyed) this.writeSurvey(building, heater, life);
      this.rows.trueLives.push({
        heaterId: heater.id,
        technology: life.technology,
        installedOn: dayText(life.installDay),
        seenFrom: dayText(Math.max(life.installDay, recordsBegin)),
        seenTo: dayText(life.endDay),
        failed: life.cause !== null && isFailureCause(life.cause),
        exposureAtEntryYears: life.exposureAtEntryYears,
        exposureAtEndYears: life.exposureAtEndYears,
      });
      predecessorId = heater.id;
    });
  }

  private makeHeater(
    building: DemoBuilding,
    home: DemoHome,
    life: Life,
    written: Pick<
      HeaterRow,
      "installEarliest" | "installLatest" | "installEvidence" | "predecessorId"
    >,
  ): HeaterRow {
    const { random } = this;
    const isInside = building.place !== "exterior-closet" && building.place !== "garage";
    const plate = makeNameplate(random, life.technology, home, life.installDay);
    return {
      id: this.ids.heater.next(),
      buildingId: building.row.id,
      unitId: home.unit?.id ?? null,
      tag: `WH-${String(this.rows.heaters.length + 1).padStart(6, "0")}`,
      technology: life.technology,
      fuel: !isCombustion(life.technology)
        ? "electricity"
        : building.property.usesPropane
          ? "propane"
          : "natural-gas",
      status: life.cause === null ? "in-service" : "retired",
      installEarliest: written.installEarliest,
      installLatest: written.installLatest,
      installEvidence: written.installEvidence,
      manufacturer: plate.manufacturer,
      model: plate.model,
      serial: plate.serial,
      volumeGal: plate.volumeGal,
      inputBtuPerHour: plate.inputBtuPerHour,
      inputWatts: plate.inputWatts,
      uniformEnergyFactor: plate.uniformEnergyFactor,
      firstHourGal: plate.firstHourGal,
      place: building.place,
      overFinishedSpace: this.known(isInside && home.floor > 1, 0.9),
      drainPan: this.known(random.chance(home.floor > 1 ? 0.55 : 0.25), 0.8),
      leakShutoff: this.known(life.hasLeakShutoff, 0.85),
      closedSystem: this.known(building.isClosedSystem, 0.75),
      expansionControl: this.known(life.hasExpansionControl, 0.8),
      mixingValve: this.known(random.chance(life.setpointF >= 130 ? 0.5 : 0.06), 0.7),
      setpointF: random.chance(0.12) ? null : life.setpointF,
      warrantyYears: plate.warrantyYears,
      homesServed: building.homesPerHeater,
      notes: null,
      predecessorId: written.predecessorId,
    };
  }

  /** The answer, where the record holds it at all. */
  private known(answer: boolean, share: number): Answer {
    if (!this.random.chance(share)) return "unknown";
    return answer ? "yes" : "no";
  }

  private writeRetirement(
    heaterId: string,
    cause: RetirementCause,
    end: { readonly earliest: number; readonly latest: number },
  ): void {
    const { random } = this;
    const failed = isFailureCause(cause);
    const dollars = failed ? random.between(1_900, 3_300) : random.between(1_300, 2_100);
    this.rows.retirements.push({
      id: this.ids.retirement.next(),
      heaterId,
      earliest: dayText(end.earliest),
      latest: dayText(end.latest),
      cause,
      emergency: failed ? random.chance(0.9) : cause === "damage",
      costCents: random.chance(0.3) ? null : 100 * Math.round(dollars),
      note: null,
    });
  }

  private writeVisits(heaterId: string, life: Life, recordsBegin: number): void {
    const { random, rows } = this;
    if (life.installDay < recordsBegin && life.endDay > recordsBegin) {
      // The record opens with an inventory: what stood on that day was seen.
      rows.serviceVisits.push({
        id: this.ids.serviceVisit.next(),
        heaterId,
        visitedOn: dayText(recordsBegin),
        performedBy: "Demo inventory crew",
        minutes: 10,
        note: "First inventory",
        idempotencyKey: null,
      });
    }
    for (const visit of life.visits) {
      const visitId = this.ids.serviceVisit.next();
      const day = dayText(visit.day);
      rows.serviceVisits.push({
        id: visitId,
        heaterId,
        visitedOn: day,
        performedBy: random.chance(0.1) ? null : random.chance(0.6) ? "Demo crew A" : "Demo crew B",
        minutes: random.chance(0.15) ? null : 10 + 5 * random.whole(1, 3 + visit.tasks.length),
        note: null,
        idempotencyKey: null,
      });
      for (const [task, finding] of visit.tasks) {
        rows.visitTasks.push({
          id: this.ids.visitTask.next(),
          visitId,
          heaterId,
          task,
          // One finding in twelve was not written down.
          finding: random.chance(1 / 12) ? null : finding,
          doneOn: day,
        });
      }
    }
  }

  private writeSurvey(building: DemoBuilding, heater: HeaterRow, life: Life): void {
    const observed = Math.max(
      life.installDay,
      this.today - this.random.whole(30, SURVEY_WITHIN_DAYS),
    );
    for (const [item, answer] of surveyAnswers(this.random, building, heater)) {
      this.rows.readinessAnswers.push({
        id: this.ids.readinessAnswer.next(),
        heaterId: heater.id,
        item,
        answer,
        observedOn: dayText(observed),
        observedBy: "Demo surveyor",
        note: null,
      });
    }
  }
}
