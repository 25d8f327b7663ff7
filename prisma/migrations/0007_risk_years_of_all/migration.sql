-- Failures by year of all properties together get rows of their own, so that a page need not add up
-- every property's. The rows that are there are computed ones: the next pass writes them anew.
DELETE FROM "RiskYear";

-- DropIndex
DROP INDEX "RiskYear_organizationId_kind_idx";

-- AlterTable
ALTER TABLE "RiskYear" DROP CONSTRAINT "RiskYear_pkey",
ADD COLUMN     "id" UUID NOT NULL,
ALTER COLUMN "propertyId" DROP NOT NULL,
ADD CONSTRAINT "RiskYear_pkey" PRIMARY KEY ("id");

-- CreateIndex
CREATE INDEX "RiskYear_organizationId_propertyId_idx" ON "RiskYear"("organizationId", "propertyId");
