-- AlterTable
ALTER TABLE "EmissionFactor" ADD COLUMN     "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
ADD COLUMN     "enteredBy" TEXT,
ADD COLUMN     "version" INTEGER NOT NULL DEFAULT 1,
ADD COLUMN     "withdrawnAt" TIMESTAMPTZ(3);

-- CreateTable
CREATE TABLE "PropertyEnergy" (
    "propertyId" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "terms" JSONB NOT NULL,
    "version" INTEGER NOT NULL DEFAULT 1,
    "updatedBy" TEXT,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "PropertyEnergy_pkey" PRIMARY KEY ("propertyId")
);

-- CreateTable
CREATE TABLE "MeterReading" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "propertyId" UUID NOT NULL,
    "buildingId" UUID,
    "fuel" TEXT NOT NULL,
    "fromDay" DATE NOT NULL,
    "toDay" DATE NOT NULL,
    "units" DOUBLE PRECISION NOT NULL,
    "otherUnits" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "enteredAmount" DOUBLE PRECISION NOT NULL,
    "enteredUnit" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "enteredBy" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "MeterReading_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "EnergyInstrument" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "kind" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "propertyId" UUID,
    "coversKwh" DOUBLE PRECISION,
    "coversShare" DOUBLE PRECISION,
    "kgCo2ePerKwh" DOUBLE PRECISION NOT NULL,
    "vintage" INTEGER NOT NULL,
    "market" TEXT NOT NULL,
    "conveysRate" BOOLEAN NOT NULL,
    "soleClaim" BOOLEAN NOT NULL,
    "retired" BOOLEAN NOT NULL,
    "firstYear" INTEGER NOT NULL,
    "lastYear" INTEGER NOT NULL,
    "source" TEXT NOT NULL,
    "enteredBy" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "EnergyInstrument_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "EmissionsTerms" (
    "organizationId" UUID NOT NULL,
    "terms" JSONB NOT NULL,
    "version" INTEGER NOT NULL DEFAULT 1,
    "updatedBy" TEXT,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "EmissionsTerms_pkey" PRIMARY KEY ("organizationId")
);

-- CreateTable
CREATE TABLE "PropertyPolicy" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "propertyId" UUID,
    "name" TEXT NOT NULL,
    "rule" JSONB NOT NULL,
    "source" TEXT NOT NULL,
    "enteredBy" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "PropertyPolicy_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "RefrigerantEvent" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "heaterId" UUID NOT NULL,
    "kind" TEXT NOT NULL,
    "refrigerant" TEXT NOT NULL,
    "kg" DOUBLE PRECISION NOT NULL,
    "happenedOn" DATE NOT NULL,
    "note" TEXT,
    "enteredBy" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "RefrigerantEvent_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Disposal" (
    "heaterId" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "route" TEXT NOT NULL,
    "weighedKg" DOUBLE PRECISION,
    "receiver" TEXT,
    "document" TEXT,
    "enteredBy" TEXT,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Disposal_pkey" PRIMARY KEY ("heaterId")
);

-- CreateTable
CREATE TABLE "EmissionsRun" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "status" TEXT NOT NULL DEFAULT 'queued',
    "progress" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "message" TEXT,
    "year" INTEGER NOT NULL,
    "baseYear" INTEGER NOT NULL,
    "asOf" DATE NOT NULL,
    "planRunId" UUID,
    "terms" JSONB,
    "factors" JSONB,
    "names" JSONB,
    "method" TEXT,
    "fingerprint" TEXT,
    "stamp" TEXT,
    "summary" JSONB,
    "requestedBy" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "startedAt" TIMESTAMPTZ(3),
    "finishedAt" TIMESTAMPTZ(3),

    CONSTRAINT "EmissionsRun_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "EmissionsRunYear" (
    "runId" UUID NOT NULL,
    "propertyId" UUID NOT NULL,
    "year" INTEGER NOT NULL,
    "series" TEXT NOT NULL,
    "organizationId" UUID NOT NULL,
    "scope1Kg" DOUBLE PRECISION NOT NULL,
    "scope2LocationKg" DOUBLE PRECISION NOT NULL,
    "scope2MarketKg" DOUBLE PRECISION NOT NULL,
    "scope3Kg" DOUBLE PRECISION NOT NULL,
    "heaters" INTEGER NOT NULL,
    "swaps" INTEGER NOT NULL,
    "detail" JSONB,

    CONSTRAINT "EmissionsRunYear_pkey" PRIMARY KEY ("runId","propertyId","year","series")
);

-- CreateTable
CREATE TABLE "EmissionsRunRow" (
    "runId" UUID NOT NULL,
    "rowNumber" INTEGER NOT NULL,
    "organizationId" UUID NOT NULL,
    "propertyId" UUID NOT NULL,
    "buildingId" UUID,
    "heaterId" UUID,
    "tag" TEXT,
    "home" TEXT,
    "technology" TEXT,
    "activity" TEXT NOT NULL,
    "gridRegion" TEXT NOT NULL,
    "fromDay" DATE NOT NULL,
    "toDay" DATE NOT NULL,
    "days" INTEGER NOT NULL,
    "amount" DOUBLE PRECISION NOT NULL,
    "unit" TEXT NOT NULL,
    "scope" INTEGER NOT NULL,
    "basis" TEXT NOT NULL,
    "readingId" UUID,
    "note" TEXT,
    "kgCo2e" DOUBLE PRECISION NOT NULL,

    CONSTRAINT "EmissionsRunRow_pkey" PRIMARY KEY ("runId","rowNumber")
);

-- CreateIndex
CREATE INDEX "PropertyEnergy_organizationId_idx" ON "PropertyEnergy"("organizationId");

-- CreateIndex
CREATE INDEX "MeterReading_organizationId_propertyId_fromDay_idx" ON "MeterReading"("organizationId", "propertyId", "fromDay");

-- CreateIndex
CREATE INDEX "EnergyInstrument_organizationId_firstYear_idx" ON "EnergyInstrument"("organizationId", "firstYear");

-- CreateIndex
CREATE INDEX "PropertyPolicy_organizationId_idx" ON "PropertyPolicy"("organizationId");

-- CreateIndex
CREATE INDEX "RefrigerantEvent_organizationId_heaterId_idx" ON "RefrigerantEvent"("organizationId", "heaterId");

-- CreateIndex
CREATE INDEX "Disposal_organizationId_idx" ON "Disposal"("organizationId");

-- CreateIndex
CREATE INDEX "EmissionsRun_organizationId_createdAt_idx" ON "EmissionsRun"("organizationId", "createdAt");

-- CreateIndex
CREATE INDEX "EmissionsRunYear_organizationId_idx" ON "EmissionsRunYear"("organizationId");

-- CreateIndex
CREATE INDEX "EmissionsRunRow_organizationId_idx" ON "EmissionsRunRow"("organizationId");

-- CreateIndex
CREATE INDEX "EmissionsRunRow_runId_propertyId_idx" ON "EmissionsRunRow"("runId", "propertyId");

-- AddForeignKey
ALTER TABLE "PropertyEnergy" ADD CONSTRAINT "PropertyEnergy_propertyId_fkey" FOREIGN KEY ("propertyId") REFERENCES "Property"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "MeterReading" ADD CONSTRAINT "MeterReading_propertyId_fkey" FOREIGN KEY ("propertyId") REFERENCES "Property"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "MeterReading" ADD CONSTRAINT "MeterReading_buildingId_fkey" FOREIGN KEY ("buildingId") REFERENCES "Building"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "EnergyInstrument" ADD CONSTRAINT "EnergyInstrument_propertyId_fkey" FOREIGN KEY ("propertyId") REFERENCES "Property"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PropertyPolicy" ADD CONSTRAINT "PropertyPolicy_propertyId_fkey" FOREIGN KEY ("propertyId") REFERENCES "Property"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "RefrigerantEvent" ADD CONSTRAINT "RefrigerantEvent_heaterId_fkey" FOREIGN KEY ("heaterId") REFERENCES "Heater"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Disposal" ADD CONSTRAINT "Disposal_heaterId_fkey" FOREIGN KEY ("heaterId") REFERENCES "Heater"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "EmissionsRunYear" ADD CONSTRAINT "EmissionsRunYear_runId_fkey" FOREIGN KEY ("runId") REFERENCES "EmissionsRun"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "EmissionsRunRow" ADD CONSTRAINT "EmissionsRunRow_runId_fkey" FOREIGN KEY ("runId") REFERENCES "EmissionsRun"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- Separation of organisations, as in 0002_separation.
DO $$
DECLARE
  tenant_table text;
BEGIN
  FOREACH tenant_table IN ARRAY ARRAY[
    'PropertyEnergy', 'MeterReading', 'EnergyInstrument', 'EmissionsTerms', 'PropertyPolicy',
    'RefrigerantEvent', 'Disposal', 'EmissionsRun', 'EmissionsRunYear', 'EmissionsRunRow'
  ] LOOP
    EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON %I TO tanklore_app', tenant_table);
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', tenant_table);
    EXECUTE format(
      'CREATE POLICY separation ON %I TO tanklore_app
         USING ("organizationId" = (SELECT current_organization()))
         WITH CHECK ("organizationId" = (SELECT current_organization()))', tenant_table);
  END LOOP;
END
$$;

-- A factor is one version of one activity, region, gas and vintage.
CREATE UNIQUE INDEX emission_factor_version ON "EmissionFactor"
  ("organizationId", activity, COALESCE(region, ''), gas, vintage, version);

-- Rules that no path into the tables may break.
ALTER TABLE "EmissionFactor"
  ADD CONSTRAINT factor_value CHECK (value >= 0);
ALTER TABLE "MeterReading"
  ADD CONSTRAINT reading_period CHECK ("fromDay" <= "toDay"),
  ADD CONSTRAINT reading_units CHECK (units >= 0 AND "otherUnits" >= 0 AND "otherUnits" <= units);
ALTER TABLE "EnergyInstrument"
  ADD CONSTRAINT instrument_kind CHECK (kind IN ('certificate', 'contract', 'supplier-rate')),
  ADD CONSTRAINT instrument_covers CHECK (num_nonnulls("coversKwh", "coversShare") = 1),
  ADD CONSTRAINT instrument_amounts CHECK ("coversKwh" >= 0 AND "kgCo2ePerKwh" >= 0),
  ADD CONSTRAINT instrument_share CHECK ("coversShare" BETWEEN 0 AND 1),
  ADD CONSTRAINT instrument_years CHECK ("firstYear" <= "lastYear");
ALTER TABLE "RefrigerantEvent"
  ADD CONSTRAINT refrigerant_kind CHECK (kind IN ('charge', 'top-up', 'recovery')),
  ADD CONSTRAINT refrigerant_amount CHECK (kg >= 0);
ALTER TABLE "Disposal"
  ADD CONSTRAINT disposal_route CHECK (route IN ('recycled', 'reused', 'landfill')),
  ADD CONSTRAINT disposal_weight CHECK ("weighedKg" > 0);
ALTER TABLE "EmissionsRun"
  ADD CONSTRAINT emissions_run_status CHECK (status IN ('queued', 'running', 'done', 'failed', 'cancelled')),
  ADD CONSTRAINT emissions_run_years CHECK ("baseYear" <= year);
