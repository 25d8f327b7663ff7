-- AlterTable
ALTER TABLE "Building" ADD COLUMN     "electrical" JSONB;

-- AlterTable
ALTER TABLE "ReadinessAnswer" ADD COLUMN     "basis" TEXT NOT NULL DEFAULT 'seen',
ADD COLUMN     "inferenceId" UUID,
ADD COLUMN     "inferredFromId" UUID,
ADD COLUMN     "measures" JSONB;

-- CreateTable
CREATE TABLE "SurveyPhoto" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "heaterId" UUID NOT NULL,
    "item" TEXT,
    "bytes" BYTEA NOT NULL,
    "byteCount" INTEGER NOT NULL,
    "takenOn" DATE NOT NULL,
    "takenBy" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "SurveyPhoto_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "SurveyPhoto_organizationId_idx" ON "SurveyPhoto"("organizationId");

-- CreateIndex
CREATE INDEX "SurveyPhoto_heaterId_idx" ON "SurveyPhoto"("heaterId");

-- AddForeignKey
ALTER TABLE "SurveyPhoto" ADD CONSTRAINT "SurveyPhoto_heaterId_fkey" FOREIGN KEY ("heaterId") REFERENCES "Heater"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- ---- what the schema file cannot say ----

GRANT SELECT, INSERT, UPDATE, DELETE ON "SurveyPhoto" TO tanklore_app;
ALTER TABLE "SurveyPhoto" ENABLE ROW LEVEL SECURITY;
CREATE POLICY separation ON "SurveyPhoto" TO tanklore_app
  USING ("organizationId" = (SELECT current_organization()))
  WITH CHECK ("organizationId" = (SELECT current_organization()));

-- Pictures are served as JPEG whatever they hold, so nothing else comes in: FF D8 FF, at most 2 MiB.
ALTER TABLE "SurveyPhoto"
  ADD CONSTRAINT survey_photo_is_jpeg CHECK (substring("bytes" FROM 1 FOR 3) = '\xffd8ff'::bytea),
  ADD CONSTRAINT survey_photo_size CHECK ("byteCount" = octet_length("bytes") AND "byteCount" <= 2097152);

ALTER TABLE "ReadinessAnswer"
  ADD CONSTRAINT readiness_basis CHECK ("basis" IN ('seen', 'inferred')),
  ADD CONSTRAINT readiness_inference CHECK (("basis" = 'inferred') = ("inferenceId" IS NOT NULL));

CREATE INDEX readiness_of_inference ON "ReadinessAnswer" ("inferenceId") WHERE "inferenceId" IS NOT NULL;
