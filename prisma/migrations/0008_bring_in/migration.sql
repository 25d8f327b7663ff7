-- DropForeignKey
ALTER TABLE "ImportRow" DROP CONSTRAINT "ImportRow_batchId_fkey";

-- DropIndex
DROP INDEX "ImportRow_organizationId_idx";

-- AlterTable
ALTER TABLE "Property" ADD COLUMN     "importBatchId" UUID;

-- AlterTable
ALTER TABLE "Building" ADD COLUMN     "importBatchId" UUID;

-- AlterTable
ALTER TABLE "Unit" ADD COLUMN     "importBatchId" UUID;

-- AlterTable
ALTER TABLE "WaterTest" ADD COLUMN     "importBatchId" UUID;

-- AlterTable
ALTER TABLE "Retirement" ADD COLUMN     "importBatchId" UUID;

-- AlterTable
ALTER TABLE "ServiceVisit" ADD COLUMN     "importBatchId" UUID;

-- AlterTable
ALTER TABLE "ImportBatch" ADD COLUMN     "file" JSONB NOT NULL DEFAULT '{}',
ADD COLUMN     "fingerprint" TEXT,
ADD COLUMN     "message" TEXT,
ADD COLUMN     "options" JSONB NOT NULL DEFAULT '{}',
ADD COLUMN     "progress" DOUBLE PRECISION NOT NULL DEFAULT 0,
ADD COLUMN     "signature" TEXT,
ADD COLUMN     "summary" JSONB,
ADD COLUMN     "work" TEXT,
ADD COLUMN     "workAt" TIMESTAMPTZ(3);

-- AlterTable
ALTER TABLE "ImportRow" DROP COLUMN "cells",
ADD COLUMN     "changes" JSONB,
ADD COLUMN     "tag" TEXT,
ALTER COLUMN "verdict" SET NOT NULL;

-- CreateTable
CREATE TABLE "ImportChunk" (
    "batchId" UUID NOT NULL,
    "number" INTEGER NOT NULL,
    "organizationId" UUID NOT NULL,
    "firstRow" INTEGER NOT NULL,
    "lastRow" INTEGER NOT NULL,
    "rows" TEXT NOT NULL,
    "verdicts" TEXT,

    CONSTRAINT "ImportChunk_pkey" PRIMARY KEY ("batchId","number")
);

-- CreateIndex
CREATE INDEX "ImportBatch_organizationId_signature_createdAt_idx" ON "ImportBatch"("organizationId", "signature", "createdAt");

-- ---- what the schema file cannot say ----

-- Compression would cost more time than reading the rows does.
ALTER TABLE "ImportChunk" ALTER COLUMN "rows" SET STORAGE EXTERNAL;

ALTER TABLE "ImportBatch"
  ADD CONSTRAINT import_batch_status CHECK ("status" IN ('staged', 'committed', 'undone', 'discarded')),
  ADD CONSTRAINT import_batch_work CHECK ("work" IN ('check', 'commit', 'undo'));

GRANT SELECT, INSERT, UPDATE, DELETE ON "ImportChunk" TO tanklore_app;
ALTER TABLE "ImportChunk" ENABLE ROW LEVEL SECURITY;
CREATE POLICY separation ON "ImportChunk" TO tanklore_app
  USING ("organizationId" = (SELECT current_organization()))
  WITH CHECK ("organizationId" = (SELECT current_organization()));
