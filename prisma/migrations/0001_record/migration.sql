-- CreateSchema
CREATE SCHEMA IF NOT EXISTS "public";

-- CreateTable
CREATE TABLE "Organization" (
    "id" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "isDemo" BOOLEAN NOT NULL DEFAULT false,
    "unitSystem" TEXT NOT NULL DEFAULT 'us',
    "settings" JSONB NOT NULL DEFAULT '{}',
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Organization_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Member" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "userId" TEXT NOT NULL,
    "role" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Member_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "User" (
    "id" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "email" TEXT NOT NULL,
    "emailVerified" BOOLEAN NOT NULL DEFAULT false,
    "image" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "User_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Session" (
    "id" TEXT NOT NULL,
    "expiresAt" TIMESTAMPTZ(3) NOT NULL,
    "token" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL,
    "ipAddress" TEXT,
    "userAgent" TEXT,
    "userId" TEXT NOT NULL,

    CONSTRAINT "Session_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Account" (
    "id" TEXT NOT NULL,
    "accountId" TEXT NOT NULL,
    "providerId" TEXT NOT NULL,
    "userId" TEXT NOT NULL,
    "accessToken" TEXT,
    "refreshToken" TEXT,
    "idToken" TEXT,
    "accessTokenExpiresAt" TIMESTAMPTZ(3),
    "refreshTokenExpiresAt" TIMESTAMPTZ(3),
    "scope" TEXT,
    "password" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "Account_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Verification" (
    "id" TEXT NOT NULL,
    "identifier" TEXT NOT NULL,
    "value" TEXT NOT NULL,
    "expiresAt" TIMESTAMPTZ(3) NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "Verification_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Property" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "street" TEXT,
    "city" TEXT,
    "region" TEXT,
    "postalCode" TEXT,
    "annualMeanAirF" DOUBLE PRECISION NOT NULL DEFAULT 55,
    "airAmplitudeF" DOUBLE PRECISION NOT NULL DEFAULT 18,
    "coldestMonth" INTEGER NOT NULL DEFAULT 1,
    "waterSource" TEXT,
    "demandLevel" TEXT NOT NULL DEFAULT 'medium',
    "gasCentsPerTherm" DOUBLE PRECISION NOT NULL DEFAULT 150,
    "electricityCentsPerKwh" DOUBLE PRECISION NOT NULL DEFAULT 18,
    "gasStandingCentsPerMonth" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "gridRegion" TEXT NOT NULL DEFAULT 'US',
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Property_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Building" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "propertyId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "builtYear" INTEGER,
    "floors" INTEGER,
    "serviceAmps" INTEGER,
    "serviceVolts" INTEGER,
    "measuredPeakKw" DOUBLE PRECISION,
    "headroomCircuits" INTEGER,
    "upgradeCostCents" INTEGER,
    "upgradeAddsCircuits" INTEGER,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Building_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Unit" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "buildingId" UUID NOT NULL,
    "label" TEXT NOT NULL,
    "floor" INTEGER,
    "riser" TEXT,
    "bedrooms" INTEGER,
    "bathrooms" DOUBLE PRECISION,
    "occupants" INTEGER,

    CONSTRAINT "Unit_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "WaterTest" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "propertyId" UUID NOT NULL,
    "sampledOn" DATE NOT NULL,
    "hardnessMgPerLitre" DOUBLE PRECISION,
    "softened" TEXT NOT NULL DEFAULT 'unknown',
    "ph" DOUBLE PRECISION,
    "alkalinityMgPerLitre" DOUBLE PRECISION,
    "dissolvedSolidsMgPerLitre" DOUBLE PRECISION,
    "temperatureF" DOUBLE PRECISION,
    "disinfectant" TEXT,

    CONSTRAINT "WaterTest_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Heater" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "buildingId" UUID NOT NULL,
    "unitId" UUID,
    "tag" TEXT NOT NULL,
    "technology" TEXT NOT NULL,
    "fuel" TEXT NOT NULL,
    "status" TEXT NOT NULL DEFAULT 'in-service',
    "installEarliest" DATE NOT NULL,
    "installLatest" DATE NOT NULL,
    "installEvidence" TEXT NOT NULL DEFAULT 'none',
    "manufacturer" TEXT,
    "model" TEXT,
    "serial" TEXT,
    "volumeGal" DOUBLE PRECISION,
    "inputBtuPerHour" DOUBLE PRECISION,
    "inputWatts" DOUBLE PRECISION,
    "uniformEnergyFactor" DOUBLE PRECISION,
    "firstHourGal" DOUBLE PRECISION,
    "place" TEXT NOT NULL DEFAULT 'other',
    "overFinishedSpace" TEXT NOT NULL DEFAULT 'unknown',
    "drainPan" TEXT NOT NULL DEFAULT 'unknown',
    "leakShutoff" TEXT NOT NULL DEFAULT 'unknown',
    "closedSystem" TEXT NOT NULL DEFAULT 'unknown',
    "expansionControl" TEXT NOT NULL DEFAULT 'unknown',
    "mixingValve" TEXT NOT NULL DEFAULT 'unknown',
    "setpointF" DOUBLE PRECISION,
    "warrantyYears" DOUBLE PRECISION,
    "homesServed" INTEGER NOT NULL DEFAULT 1,
    "notes" TEXT,
    "predecessorId" UUID,
    "importBatchId" UUID,
    "recordedFrom" DATE NOT NULL DEFAULT CURRENT_DATE,
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Heater_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Retirement" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "heaterId" UUID NOT NULL,
    "earliest" DATE NOT NULL,
    "latest" DATE NOT NULL,
    "cause" TEXT NOT NULL,
    "emergency" BOOLEAN NOT NULL DEFAULT false,
    "costCents" INTEGER,
    "note" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Retirement_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ReadinessAnswer" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "heaterId" UUID NOT NULL,
    "item" TEXT NOT NULL,
    "answer" TEXT NOT NULL,
    "observedOn" DATE,
    "observedBy" TEXT,
    "note" TEXT,

    CONSTRAINT "ReadinessAnswer_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ServiceVisit" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "heaterId" UUID NOT NULL,
    "visitedOn" DATE NOT NULL,
    "performedBy" TEXT,
    "minutes" INTEGER,
    "note" TEXT,
    "idempotencyKey" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "ServiceVisit_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "VisitTask" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "visitId" UUID NOT NULL,
    "heaterId" UUID NOT NULL,
    "task" TEXT NOT NULL,
    "finding" TEXT,
    "doneOn" DATE NOT NULL,

    CONSTRAINT "VisitTask_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "HeaterRisk" (
    "heaterId" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "asOf" DATE NOT NULL,
    "failureProbability" DOUBLE PRECISION NOT NULL,
    "medianRemainingYears" DOUBLE PRECISION NOT NULL,
    "expectedLossCents" INTEGER NOT NULL,
    "ageYears" DOUBLE PRECISION NOT NULL,
    "method" TEXT NOT NULL,

    CONSTRAINT "HeaterRisk_pkey" PRIMARY KEY ("heaterId")
);

-- CreateTable
CREATE TABLE "OptionType" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "technology" TEXT NOT NULL,
    "terms" JSONB NOT NULL,
    "isActive" BOOLEAN NOT NULL DEFAULT true,
    "sortOrder" INTEGER NOT NULL DEFAULT 0,

    CONSTRAINT "OptionType_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "EmissionFactor" (
    "id" UUID NOT NULL,
    "organizationId" UUID,
    "activity" TEXT NOT NULL,
    "region" TEXT,
    "gas" TEXT NOT NULL,
    "value" DOUBLE PRECISION NOT NULL,
    "unit" TEXT NOT NULL,
    "vintage" INTEGER NOT NULL,
    "source" TEXT NOT NULL,
    "evidence" TEXT NOT NULL,

    CONSTRAINT "EmissionFactor_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Scenario" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "terms" JSONB NOT NULL,
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdBy" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Scenario_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PlanRun" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "scenarioId" UUID NOT NULL,
    "status" TEXT NOT NULL DEFAULT 'queued',
    "progress" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "message" TEXT,
    "seed" INTEGER NOT NULL DEFAULT 1,
    "method" TEXT,
    "fingerprint" TEXT,
    "terms" JSONB NOT NULL,
    "objectiveCents" DOUBLE PRECISION,
    "lowerBoundCents" DOUBLE PRECISION,
    "gap" DOUBLE PRECISION,
    "summary" JSONB,
    "requestedBy" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "startedAt" TIMESTAMPTZ(3),
    "finishedAt" TIMESTAMPTZ(3),

    CONSTRAINT "PlanRun_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PlanItem" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "planRunId" UUID NOT NULL,
    "heaterId" UUID NOT NULL,
    "optionCode" TEXT,
    "period" TEXT,
    "capitalCents" INTEGER NOT NULL DEFAULT 0,
    "hours" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "parts" JSONB NOT NULL,

    CONSTRAINT "PlanItem_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PlanUpgrade" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "planRunId" UUID NOT NULL,
    "buildingId" UUID NOT NULL,
    "period" TEXT NOT NULL,
    "costCents" INTEGER NOT NULL,

    CONSTRAINT "PlanUpgrade_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ImportBatch" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "fileName" TEXT NOT NULL,
    "status" TEXT NOT NULL DEFAULT 'staged',
    "mapping" JSONB NOT NULL DEFAULT '{}',
    "columns" JSONB NOT NULL DEFAULT '[]',
    "rowCount" INTEGER NOT NULL DEFAULT 0,
    "addedCount" INTEGER NOT NULL DEFAULT 0,
    "changedCount" INTEGER NOT NULL DEFAULT 0,
    "unchangedCount" INTEGER NOT NULL DEFAULT 0,
    "refusedCount" INTEGER NOT NULL DEFAULT 0,
    "createdBy" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "committedAt" TIMESTAMPTZ(3),
    "undoneAt" TIMESTAMPTZ(3),

    CONSTRAINT "ImportBatch_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ImportRow" (
    "batchId" UUID NOT NULL,
    "rowNumber" INTEGER NOT NULL,
    "organizationId" UUID NOT NULL,
    "cells" JSONB NOT NULL,
    "verdict" TEXT,
    "problems" JSONB,
    "heaterId" UUID,
    "before" JSONB,

    CONSTRAINT "ImportRow_pkey" PRIMARY KEY ("batchId","rowNumber")
);

-- CreateTable
CREATE TABLE "AuditEntry" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "userId" TEXT,
    "action" TEXT NOT NULL,
    "entity" TEXT NOT NULL,
    "entityId" TEXT,
    "before" JSONB,
    "after" JSONB,

    CONSTRAINT "AuditEntry_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "Member_userId_idx" ON "Member"("userId");

-- CreateIndex
CREATE UNIQUE INDEX "Member_organizationId_userId_key" ON "Member"("organizationId", "userId");

-- CreateIndex
CREATE UNIQUE INDEX "User_email_key" ON "User"("email");

-- CreateIndex
CREATE UNIQUE INDEX "Session_token_key" ON "Session"("token");

-- CreateIndex
CREATE INDEX "Session_userId_idx" ON "Session"("userId");

-- CreateIndex
CREATE INDEX "Account_userId_idx" ON "Account"("userId");

-- CreateIndex
CREATE INDEX "Verification_identifier_idx" ON "Verification"("identifier");

-- CreateIndex
CREATE UNIQUE INDEX "Property_organizationId_name_key" ON "Property"("organizationId", "name");

-- CreateIndex
CREATE INDEX "Building_organizationId_idx" ON "Building"("organizationId");

-- CreateIndex
CREATE UNIQUE INDEX "Building_propertyId_name_key" ON "Building"("propertyId", "name");

-- CreateIndex
CREATE INDEX "Unit_organizationId_idx" ON "Unit"("organizationId");

-- CreateIndex
CREATE UNIQUE INDEX "Unit_buildingId_label_key" ON "Unit"("buildingId", "label");

-- CreateIndex
CREATE INDEX "WaterTest_organizationId_propertyId_sampledOn_idx" ON "WaterTest"("organizationId", "propertyId", "sampledOn");

-- CreateIndex
CREATE INDEX "Heater_organizationId_status_buildingId_idx" ON "Heater"("organizationId", "status", "buildingId");

-- CreateIndex
CREATE INDEX "Heater_buildingId_idx" ON "Heater"("buildingId");

-- CreateIndex
CREATE INDEX "Heater_unitId_idx" ON "Heater"("unitId");

-- CreateIndex
CREATE INDEX "Heater_importBatchId_idx" ON "Heater"("importBatchId");

-- CreateIndex
CREATE UNIQUE INDEX "Heater_organizationId_tag_key" ON "Heater"("organizationId", "tag");

-- CreateIndex
CREATE UNIQUE INDEX "Retirement_heaterId_key" ON "Retirement"("heaterId");

-- CreateIndex
CREATE INDEX "Retirement_organizationId_latest_idx" ON "Retirement"("organizationId", "latest");

-- CreateIndex
CREATE INDEX "ReadinessAnswer_organizationId_idx" ON "ReadinessAnswer"("organizationId");

-- CreateIndex
CREATE UNIQUE INDEX "ReadinessAnswer_heaterId_item_key" ON "ReadinessAnswer"("heaterId", "item");

-- CreateIndex
CREATE INDEX "ServiceVisit_organizationId_visitedOn_idx" ON "ServiceVisit"("organizationId", "visitedOn");

-- CreateIndex
CREATE INDEX "ServiceVisit_heaterId_visitedOn_idx" ON "ServiceVisit"("heaterId", "visitedOn");

-- CreateIndex
CREATE UNIQUE INDEX "ServiceVisit_organizationId_idempotencyKey_key" ON "ServiceVisit"("organizationId", "idempotencyKey");

-- CreateIndex
CREATE INDEX "VisitTask_organizationId_task_doneOn_idx" ON "VisitTask"("organizationId", "task", "doneOn");

-- CreateIndex
CREATE INDEX "VisitTask_heaterId_task_doneOn_idx" ON "VisitTask"("heaterId", "task", "doneOn");

-- CreateIndex
CREATE INDEX "VisitTask_visitId_idx" ON "VisitTask"("visitId");

-- CreateIndex
CREATE INDEX "HeaterRisk_organizationId_failureProbability_idx" ON "HeaterRisk"("organizationId", "failureProbability");

-- CreateIndex
CREATE INDEX "HeaterRisk_organizationId_expectedLossCents_idx" ON "HeaterRisk"("organizationId", "expectedLossCents");

-- CreateIndex
CREATE UNIQUE INDEX "OptionType_organizationId_code_key" ON "OptionType"("organizationId", "code");

-- CreateIndex
CREATE INDEX "EmissionFactor_organizationId_activity_region_vintage_idx" ON "EmissionFactor"("organizationId", "activity", "region", "vintage");

-- CreateIndex
CREATE INDEX "Scenario_organizationId_createdAt_idx" ON "Scenario"("organizationId", "createdAt");

-- CreateIndex
CREATE INDEX "PlanRun_organizationId_scenarioId_createdAt_idx" ON "PlanRun"("organizationId", "scenarioId", "createdAt");

-- CreateIndex
CREATE INDEX "PlanItem_organizationId_heaterId_idx" ON "PlanItem"("organizationId", "heaterId");

-- CreateIndex
CREATE INDEX "PlanItem_planRunId_period_idx" ON "PlanItem"("planRunId", "period");

-- CreateIndex
CREATE UNIQUE INDEX "PlanItem_planRunId_heaterId_key" ON "PlanItem"("planRunId", "heaterId");

-- CreateIndex
CREATE UNIQUE INDEX "PlanUpgrade_planRunId_buildingId_key" ON "PlanUpgrade"("planRunId", "buildingId");

-- CreateIndex
CREATE INDEX "ImportBatch_organizationId_createdAt_idx" ON "ImportBatch"("organizationId", "createdAt");

-- CreateIndex
CREATE INDEX "ImportRow_organizationId_idx" ON "ImportRow"("organizationId");

-- CreateIndex
CREATE INDEX "AuditEntry_organizationId_at_idx" ON "AuditEntry"("organizationId", "at");

-- CreateIndex
CREATE INDEX "AuditEntry_organizationId_entity_entityId_idx" ON "AuditEntry"("organizationId", "entity", "entityId");

-- AddForeignKey
ALTER TABLE "Member" ADD CONSTRAINT "Member_organizationId_fkey" FOREIGN KEY ("organizationId") REFERENCES "Organization"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Member" ADD CONSTRAINT "Member_userId_fkey" FOREIGN KEY ("userId") REFERENCES "User"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Session" ADD CONSTRAINT "Session_userId_fkey" FOREIGN KEY ("userId") REFERENCES "User"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Account" ADD CONSTRAINT "Account_userId_fkey" FOREIGN KEY ("userId") REFERENCES "User"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Building" ADD CONSTRAINT "Building_propertyId_fkey" FOREIGN KEY ("propertyId") REFERENCES "Property"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Unit" ADD CONSTRAINT "Unit_buildingId_fkey" FOREIGN KEY ("buildingId") REFERENCES "Building"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "WaterTest" ADD CONSTRAINT "WaterTest_propertyId_fkey" FOREIGN KEY ("propertyId") REFERENCES "Property"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Heater" ADD CONSTRAINT "Heater_buildingId_fkey" FOREIGN KEY ("buildingId") REFERENCES "Building"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Heater" ADD CONSTRAINT "Heater_unitId_fkey" FOREIGN KEY ("unitId") REFERENCES "Unit"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Heater" ADD CONSTRAINT "Heater_predecessorId_fkey" FOREIGN KEY ("predecessorId") REFERENCES "Heater"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Retirement" ADD CONSTRAINT "Retirement_heaterId_fkey" FOREIGN KEY ("heaterId") REFERENCES "Heater"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ReadinessAnswer" ADD CONSTRAINT "ReadinessAnswer_heaterId_fkey" FOREIGN KEY ("heaterId") REFERENCES "Heater"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ServiceVisit" ADD CONSTRAINT "ServiceVisit_heaterId_fkey" FOREIGN KEY ("heaterId") REFERENCES "Heater"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "VisitTask" ADD CONSTRAINT "VisitTask_visitId_fkey" FOREIGN KEY ("visitId") REFERENCES "ServiceVisit"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "HeaterRisk" ADD CONSTRAINT "HeaterRisk_heaterId_fkey" FOREIGN KEY ("heaterId") REFERENCES "Heater"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PlanRun" ADD CONSTRAINT "PlanRun_scenarioId_fkey" FOREIGN KEY ("scenarioId") REFERENCES "Scenario"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PlanItem" ADD CONSTRAINT "PlanItem_planRunId_fkey" FOREIGN KEY ("planRunId") REFERENCES "PlanRun"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PlanUpgrade" ADD CONSTRAINT "PlanUpgrade_planRunId_fkey" FOREIGN KEY ("planRunId") REFERENCES "PlanRun"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ImportRow" ADD CONSTRAINT "ImportRow_batchId_fkey" FOREIGN KEY ("batchId") REFERENCES "ImportBatch"("id") ON DELETE CASCADE ON UPDATE CASCADE;
