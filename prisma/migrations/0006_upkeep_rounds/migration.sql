-- AlterTable
ALTER TABLE "WaterTest" ADD COLUMN     "calciumMgPerLitre" DOUBLE PRECISION,
ADD COLUMN     "note" TEXT;

-- AlterTable
ALTER TABLE "ServiceVisit" ADD COLUMN     "costCents" INTEGER,
ADD COLUMN     "entryKey" UUID,
ADD COLUMN     "tapF" DOUBLE PRECISION;

-- CreateTable
CREATE TABLE "TaskInterval" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "propertyId" UUID NOT NULL,
    "task" TEXT NOT NULL,
    "months" INTEGER NOT NULL,
    "source" TEXT NOT NULL DEFAULT '',
    "setBy" TEXT,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "TaskInterval_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "HomeAccess" (
    "unitId" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "fromMinute" INTEGER,
    "toMinute" INTEGER,
    "weekdays" INTEGER[],
    "note" TEXT,
    "setBy" TEXT,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "HomeAccess_pkey" PRIMARY KEY ("unitId")
);

-- CreateTable
CREATE TABLE "Round" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "propertyId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "plannedOn" DATE NOT NULL,
    "startMinute" INTEGER NOT NULL,
    "dayMinutes" INTEGER NOT NULL,
    "noticeDays" INTEGER NOT NULL,
    "assigneeId" TEXT,
    "status" TEXT NOT NULL DEFAULT 'planned',
    "finishMinutes" DOUBLE PRECISION NOT NULL,
    "finishBoundMinutes" DOUBLE PRECISION NOT NULL,
    "travelMinutes" DOUBLE PRECISION NOT NULL,
    "travelBoundMinutes" DOUBLE PRECISION NOT NULL,
    "noticesGivenOn" DATE,
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdBy" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Round_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "RoundStop" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "roundId" UUID NOT NULL,
    "position" INTEGER NOT NULL,
    "buildingId" UUID NOT NULL,
    "unitId" UUID,
    "label" TEXT NOT NULL,
    "floor" INTEGER,
    "arriveMinute" INTEGER NOT NULL,
    "workMinutes" INTEGER NOT NULL,
    "fromMinute" INTEGER,
    "toMinute" INTEGER,
    "status" TEXT NOT NULL DEFAULT 'open',
    "closedAt" TIMESTAMPTZ(3),
    "closedBy" TEXT,

    CONSTRAINT "RoundStop_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "RoundTask" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "stopId" UUID NOT NULL,
    "heaterId" UUID NOT NULL,
    "task" TEXT NOT NULL,
    "minutes" INTEGER NOT NULL,

    CONSTRAINT "RoundTask_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "RoundEntry" (
    "organizationId" UUID NOT NULL,
    "key" UUID NOT NULL,
    "roundId" UUID NOT NULL,
    "stopId" UUID NOT NULL,
    "outcome" TEXT NOT NULL,
    "body" JSONB NOT NULL,
    "enteredBy" TEXT NOT NULL,
    "personName" TEXT NOT NULL,
    "receivedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "takenBackAt" TIMESTAMPTZ(3),

    CONSTRAINT "RoundEntry_pkey" PRIMARY KEY ("organizationId","key")
);

-- CreateTable
CREATE TABLE "VisitPart" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "visitId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "quantity" DOUBLE PRECISION NOT NULL DEFAULT 1,
    "costCents" INTEGER,

    CONSTRAINT "VisitPart_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "VisitPhoto" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "visitId" UUID NOT NULL,
    "contentType" TEXT NOT NULL,
    "bytes" BYTEA NOT NULL,
    "byteCount" INTEGER NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "VisitPhoto_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "UrgentMatter" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "heaterId" UUID NOT NULL,
    "kind" TEXT NOT NULL,
    "raisedOn" DATE NOT NULL,
    "raisedBy" TEXT NOT NULL,
    "tapF" DOUBLE PRECISION,
    "note" TEXT,
    "visitId" UUID,
    "status" TEXT NOT NULL DEFAULT 'open',
    "settledOn" DATE,
    "settledBy" TEXT,
    "settledNote" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "UrgentMatter_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "CalendarFeed" (
    "id" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "userId" TEXT NOT NULL,
    "secretHash" TEXT NOT NULL,
    "content" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "lastReadAt" TIMESTAMPTZ(3),
    "revokedAt" TIMESTAMPTZ(3),

    CONSTRAINT "CalendarFeed_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "TaskInterval_organizationId_idx" ON "TaskInterval"("organizationId");

-- CreateIndex
CREATE UNIQUE INDEX "TaskInterval_propertyId_task_key" ON "TaskInterval"("propertyId", "task");

-- CreateIndex
CREATE INDEX "HomeAccess_organizationId_idx" ON "HomeAccess"("organizationId");

-- CreateIndex
CREATE INDEX "Round_organizationId_plannedOn_idx" ON "Round"("organizationId", "plannedOn");

-- CreateIndex
CREATE INDEX "Round_organizationId_assigneeId_plannedOn_idx" ON "Round"("organizationId", "assigneeId", "plannedOn");

-- CreateIndex
CREATE INDEX "Round_propertyId_idx" ON "Round"("propertyId");

-- CreateIndex
CREATE INDEX "RoundStop_organizationId_idx" ON "RoundStop"("organizationId");

-- CreateIndex
CREATE INDEX "RoundStop_unitId_idx" ON "RoundStop"("unitId");

-- CreateIndex
CREATE INDEX "RoundStop_buildingId_idx" ON "RoundStop"("buildingId");

-- CreateIndex
CREATE UNIQUE INDEX "RoundStop_roundId_position_key" ON "RoundStop"("roundId", "position");

-- CreateIndex
CREATE INDEX "RoundTask_organizationId_idx" ON "RoundTask"("organizationId");

-- CreateIndex
CREATE INDEX "RoundTask_heaterId_idx" ON "RoundTask"("heaterId");

-- CreateIndex
CREATE UNIQUE INDEX "RoundTask_stopId_heaterId_task_key" ON "RoundTask"("stopId", "heaterId", "task");

-- CreateIndex
CREATE INDEX "RoundEntry_roundId_idx" ON "RoundEntry"("roundId");

-- CreateIndex
CREATE INDEX "RoundEntry_stopId_idx" ON "RoundEntry"("stopId");

-- CreateIndex
CREATE INDEX "VisitPart_organizationId_idx" ON "VisitPart"("organizationId");

-- CreateIndex
CREATE INDEX "VisitPart_visitId_idx" ON "VisitPart"("visitId");

-- CreateIndex
CREATE INDEX "VisitPhoto_organizationId_idx" ON "VisitPhoto"("organizationId");

-- CreateIndex
CREATE INDEX "VisitPhoto_visitId_idx" ON "VisitPhoto"("visitId");

-- CreateIndex
CREATE INDEX "UrgentMatter_organizationId_status_raisedOn_idx" ON "UrgentMatter"("organizationId", "status", "raisedOn");

-- CreateIndex
CREATE INDEX "UrgentMatter_heaterId_idx" ON "UrgentMatter"("heaterId");

-- CreateIndex
CREATE INDEX "UrgentMatter_visitId_idx" ON "UrgentMatter"("visitId");

-- CreateIndex
CREATE UNIQUE INDEX "CalendarFeed_secretHash_key" ON "CalendarFeed"("secretHash");

-- CreateIndex
CREATE INDEX "CalendarFeed_organizationId_userId_idx" ON "CalendarFeed"("organizationId", "userId");

-- AddForeignKey
ALTER TABLE "TaskInterval" ADD CONSTRAINT "TaskInterval_propertyId_fkey" FOREIGN KEY ("propertyId") REFERENCES "Property"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "HomeAccess" ADD CONSTRAINT "HomeAccess_unitId_fkey" FOREIGN KEY ("unitId") REFERENCES "Unit"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Round" ADD CONSTRAINT "Round_propertyId_fkey" FOREIGN KEY ("propertyId") REFERENCES "Property"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "RoundStop" ADD CONSTRAINT "RoundStop_roundId_fkey" FOREIGN KEY ("roundId") REFERENCES "Round"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "RoundStop" ADD CONSTRAINT "RoundStop_buildingId_fkey" FOREIGN KEY ("buildingId") REFERENCES "Building"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "RoundStop" ADD CONSTRAINT "RoundStop_unitId_fkey" FOREIGN KEY ("unitId") REFERENCES "Unit"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "RoundTask" ADD CONSTRAINT "RoundTask_stopId_fkey" FOREIGN KEY ("stopId") REFERENCES "RoundStop"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "RoundTask" ADD CONSTRAINT "RoundTask_heaterId_fkey" FOREIGN KEY ("heaterId") REFERENCES "Heater"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "RoundEntry" ADD CONSTRAINT "RoundEntry_roundId_fkey" FOREIGN KEY ("roundId") REFERENCES "Round"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "RoundEntry" ADD CONSTRAINT "RoundEntry_stopId_fkey" FOREIGN KEY ("stopId") REFERENCES "RoundStop"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "VisitPart" ADD CONSTRAINT "VisitPart_visitId_fkey" FOREIGN KEY ("visitId") REFERENCES "ServiceVisit"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "VisitPhoto" ADD CONSTRAINT "VisitPhoto_visitId_fkey" FOREIGN KEY ("visitId") REFERENCES "ServiceVisit"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "UrgentMatter" ADD CONSTRAINT "UrgentMatter_heaterId_fkey" FOREIGN KEY ("heaterId") REFERENCES "Heater"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- ---- what the schema file cannot say ----

DO $$
DECLARE
  tenant_table text;
BEGIN
  FOREACH tenant_table IN ARRAY ARRAY[
    'TaskInterval', 'HomeAccess', 'Round', 'RoundStop', 'RoundTask', 'RoundEntry', 'VisitPart',
    'VisitPhoto', 'UrgentMatter', 'CalendarFeed'
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

ALTER TABLE "TaskInterval" ADD CONSTRAINT task_interval_months CHECK ("months" BETWEEN 1 AND 120);
ALTER TABLE "HomeAccess"
  ADD CONSTRAINT home_access_window CHECK (
    "fromMinute" >= 0 AND "toMinute" <= 1440 AND "fromMinute" < "toMinute");
ALTER TABLE "Round"
  ADD CONSTRAINT round_status CHECK ("status" IN ('planned', 'done', 'cancelled')),
  ADD CONSTRAINT round_day CHECK ("startMinute" BETWEEN 0 AND 1439 AND "dayMinutes" > 0),
  ADD CONSTRAINT round_notice CHECK ("noticeDays" >= 0),
  ADD CONSTRAINT round_bounds CHECK (
    "finishBoundMinutes" <= "finishMinutes" + 0.001 AND "travelBoundMinutes" <= "travelMinutes" + 0.001);
ALTER TABLE "RoundStop"
  ADD CONSTRAINT round_stop_status CHECK ("status" IN ('open', 'done', 'no-access'));
ALTER TABLE "RoundEntry"
  ADD CONSTRAINT round_entry_outcome CHECK ("outcome" IN ('done', 'no-access', 'taken-back'));
ALTER TABLE "VisitPart"
  ADD CONSTRAINT visit_part_quantity CHECK ("quantity" > 0),
  ADD CONSTRAINT visit_part_cost CHECK ("costCents" >= 0);
ALTER TABLE "ServiceVisit" ADD CONSTRAINT visit_cost CHECK ("costCents" >= 0);
ALTER TABLE "VisitPhoto"
  ADD CONSTRAINT visit_photo_type CHECK ("contentType" IN ('image/jpeg', 'image/png', 'image/webp')),
  ADD CONSTRAINT visit_photo_size CHECK ("byteCount" = octet_length("bytes") AND "byteCount" <= 4194304);
ALTER TABLE "UrgentMatter"
  ADD CONSTRAINT urgent_kind CHECK ("kind" IN ('gas-smell', 'flue-gas', 'leak', 'scald', 'relief-valve')),
  ADD CONSTRAINT urgent_status CHECK ("status" IN ('open', 'settled', 'taken-back'));
ALTER TABLE "CalendarFeed"
  ADD CONSTRAINT calendar_feed_content CHECK ("content" IN ('rounds', 'rounds-and-due')),
  ADD CONSTRAINT calendar_feed_hash CHECK ("secretHash" ~ '^[0-9a-f]{64}$');

CREATE INDEX visit_of_entry ON "ServiceVisit" ("entryKey") WHERE "entryKey" IS NOT NULL;

-- A calendar is read without a session: its secret alone says whose it is. The application's role
-- cannot look for a feed before it names an organisation, so it asks this function, which answers for
-- the one secret only, while the address stands and the person belongs to the organisation.
CREATE FUNCTION calendar_feed_of(secret_hash text)
  RETURNS TABLE (feed_id uuid, organization_id uuid, user_id text, content text)
  LANGUAGE sql STABLE SECURITY DEFINER
  SET search_path = pg_catalog, public
  AS $$
    SELECT f.id, f."organizationId", f."userId", f.content
    FROM public."CalendarFeed" f
    JOIN public."Member" m ON m."organizationId" = f."organizationId" AND m."userId" = f."userId"
    WHERE f."secretHash" = secret_hash AND f."revokedAt" IS NULL
  $$;

REVOKE ALL ON FUNCTION calendar_feed_of(text) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION calendar_feed_of(text) TO tanklore_app;
