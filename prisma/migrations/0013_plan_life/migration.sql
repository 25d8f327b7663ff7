-- AlterTable
ALTER TABLE "PlanRun" ADD COLUMN     "approvedAt" TIMESTAMPTZ(3),
ADD COLUMN     "approvedBy" TEXT,
ADD COLUMN     "frozenInputs" BYTEA,
ADD COLUMN     "version" INTEGER NOT NULL DEFAULT 1,
ADD COLUMN     "withdrawnAt" TIMESTAMPTZ(3);

-- AlterTable
ALTER TABLE "PlanItem" ADD COLUMN     "actualCents" INTEGER,
ADD COLUMN     "actualDay" DATE,
ADD COLUMN     "life" TEXT NOT NULL DEFAULT 'planned',
ADD COLUMN     "version" INTEGER NOT NULL DEFAULT 1;

-- ---- what the schema file cannot say ----

-- One plan in force an organisation.
CREATE UNIQUE INDEX plan_in_force ON "PlanRun" ("organizationId")
  WHERE "approvedAt" IS NOT NULL AND "withdrawnAt" IS NULL;

ALTER TABLE "PlanRun"
  ADD CONSTRAINT plan_approved_when_done CHECK ("approvedAt" IS NULL OR ("status" = 'done' AND "frozenInputs" IS NOT NULL AND "fingerprint" IS NOT NULL)),
  ADD CONSTRAINT plan_withdrawn_after_approval CHECK ("withdrawnAt" IS NULL OR "approvedAt" IS NOT NULL);

ALTER TABLE "PlanItem"
  ADD CONSTRAINT plan_line_life CHECK ("life" IN ('planned', 'committed', 'done', 'dropped')),
  ADD CONSTRAINT plan_line_done CHECK (("life" = 'done') = ("actualDay" IS NOT NULL)),
  ADD CONSTRAINT plan_line_cost CHECK ("actualCents" IS NULL OR ("life" = 'done' AND "actualCents" >= 0));
