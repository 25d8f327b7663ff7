-- Every chance gets its band. The rows that are there are computed ones: the next pass writes them anew.
DELETE FROM "HeaterRisk";

-- AlterTable
ALTER TABLE "HeaterRisk" ADD COLUMN     "failureLower" DOUBLE PRECISION NOT NULL,
ADD COLUMN     "failureUpper" DOUBLE PRECISION NOT NULL;

-- CreateTable
CREATE TABLE "SurvivalFit" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "number" INTEGER NOT NULL,
    "status" TEXT NOT NULL DEFAULT 'queued',
    "progress" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "message" TEXT,
    "asOf" DATE NOT NULL,
    "method" TEXT NOT NULL,
    "fingerprint" TEXT,
    "model" JSONB,
    "report" JSONB,
    "isAdopted" BOOLEAN NOT NULL DEFAULT false,
    "adoptedBy" TEXT,
    "adoptedAt" TIMESTAMPTZ(3),
    "adoptsItself" BOOLEAN NOT NULL DEFAULT false,
    "backTestStatus" TEXT NOT NULL DEFAULT 'none',
    "backTestProgress" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "backTestMessage" TEXT,
    "backTest" JSONB,
    "requestedBy" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "startedAt" TIMESTAMPTZ(3),
    "finishedAt" TIMESTAMPTZ(3),

    CONSTRAINT "SurvivalFit_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE UNIQUE INDEX "SurvivalFit_organizationId_number_key" ON "SurvivalFit"("organizationId", "number");

ALTER TABLE "HeaterRisk"
  ADD CONSTRAINT risk_band CHECK ("failureLower" BETWEEN 0 AND "failureUpper" AND "failureUpper" <= 1);

ALTER TABLE "SurvivalFit"
  ADD CONSTRAINT survival_fit_status
    CHECK ("status" IN ('queued', 'running', 'done', 'failed', 'cancelled')),
  ADD CONSTRAINT survival_fit_back_test_status
    CHECK ("backTestStatus" IN ('none', 'queued', 'running', 'done', 'failed')),
  ADD CONSTRAINT survival_fit_adopted_is_done CHECK (NOT "isAdopted" OR "status" = 'done');

-- One fit ranks at a time.
CREATE UNIQUE INDEX survival_fit_adopted ON "SurvivalFit" ("organizationId") WHERE "isAdopted";

GRANT SELECT, INSERT, UPDATE, DELETE ON "SurvivalFit" TO tanklore_app;
ALTER TABLE "SurvivalFit" ENABLE ROW LEVEL SECURITY;
CREATE POLICY separation ON "SurvivalFit" TO tanklore_app
  USING ("organizationId" = (SELECT current_organization()))
  WITH CHECK ("organizationId" = (SELECT current_organization()));
