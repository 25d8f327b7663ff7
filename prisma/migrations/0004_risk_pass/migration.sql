-- When a heater's risk was computed: a pass over the fleet leaves alone what an edit has renewed since
-- the pass began.
ALTER TABLE "HeaterRisk"
  ADD COLUMN "scoredAt" TIMESTAMPTZ(6) NOT NULL DEFAULT clock_timestamp();

-- The pass reads an organisation's heaters page by page, in the order of their ids.
CREATE INDEX "Heater_organizationId_id_idx" ON "Heater" ("organizationId", "id");

-- Failures by year and property: expected ahead, and expected and happened in past calendar years.
CREATE TABLE "RiskYear" (
    "organizationId" UUID NOT NULL,
    "propertyId" UUID NOT NULL,
    "kind" TEXT NOT NULL,
    "year" INTEGER NOT NULL,
    "asOf" DATE NOT NULL,
    "method" TEXT NOT NULL,
    "heaterYears" DOUBLE PRECISION NOT NULL,
    "expected" DOUBLE PRECISION NOT NULL,
    "draws" DOUBLE PRECISION[],
    "happened" INTEGER,

    CONSTRAINT "RiskYear_pkey" PRIMARY KEY ("propertyId", "kind", "year"),
    CONSTRAINT risk_year_kind CHECK ("kind" IN ('ahead', 'past'))
);

CREATE INDEX "RiskYear_organizationId_kind_idx" ON "RiskYear" ("organizationId", "kind");

ALTER TABLE "RiskYear"
  ADD CONSTRAINT "RiskYear_propertyId_fkey" FOREIGN KEY ("propertyId") REFERENCES "Property"("id")
  ON DELETE CASCADE ON UPDATE CASCADE;

GRANT SELECT, INSERT, UPDATE, DELETE ON "RiskYear" TO tanklore_app;
ALTER TABLE "RiskYear" ENABLE ROW LEVEL SECURITY;
CREATE POLICY separation ON "RiskYear" TO tanklore_app
  USING ("organizationId" = (SELECT current_organization()))
  WITH CHECK ("organizationId" = (SELECT current_organization()));
