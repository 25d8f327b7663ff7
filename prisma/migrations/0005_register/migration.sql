-- DropIndex
DROP INDEX "HeaterRisk_organizationId_failureProbability_idx";

-- DropIndex
DROP INDEX "HeaterRisk_organizationId_expectedLossCents_idx";

-- CreateTable
CREATE TABLE "RegisterLine" (
    "heaterId" UUID NOT NULL,
    "organizationId" UUID NOT NULL,
    "status" TEXT NOT NULL,
    "tag" TEXT NOT NULL,
    "tagOrder" TEXT NOT NULL,
    "propertyId" UUID NOT NULL,
    "propertyName" TEXT NOT NULL,
    "propertyOrder" TEXT NOT NULL,
    "buildingId" UUID NOT NULL,
    "buildingName" TEXT NOT NULL,
    "buildingOrder" TEXT NOT NULL,
    "unitLabel" TEXT,
    "homeOrder" TEXT,
    "floor" INTEGER,
    "riser" TEXT,
    "riserOrder" TEXT,
    "technology" TEXT NOT NULL,
    "manufacturer" TEXT,
    "makerOrder" TEXT,
    "model" TEXT,
    "modelOrder" TEXT,
    "serial" TEXT,
    "volumeGal" DOUBLE PRECISION,
    "place" TEXT NOT NULL,
    "installEarliest" DATE NOT NULL,
    "installLatest" DATE NOT NULL,
    "installEvidence" TEXT NOT NULL,
    "installKind" TEXT NOT NULL,
    "installMiddle" DATE NOT NULL,
    "retiredMiddle" DATE,
    "lifeDays" INTEGER,
    "hardnessMgPerLitre" DOUBLE PRECISION,
    "softened" TEXT,
    "lastVisitOn" DATE,
    "missing" TEXT[],
    "searchText" TEXT NOT NULL,

    CONSTRAINT "RegisterLine_pkey" PRIMARY KEY ("heaterId")
);

-- CreateTable
CREATE TABLE "RegisterStale" (
    "id" UUID NOT NULL DEFAULT gen_random_uuid(),
    "organizationId" UUID NOT NULL,
    "heaterId" UUID,

    CONSTRAINT "RegisterStale_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "register_tag" ON "RegisterLine"("organizationId", "status", "tagOrder");

-- CreateIndex
CREATE INDEX "register_of_property" ON "RegisterLine"("propertyId");

-- CreateIndex
CREATE INDEX "register_of_building" ON "RegisterLine"("buildingId");

-- CreateIndex
CREATE INDEX "RegisterStale_organizationId_idx" ON "RegisterStale"("organizationId");

-- CreateIndex
CREATE INDEX "HeaterRisk_organizationId_failureProbability_heaterId_idx" ON "HeaterRisk"("organizationId", "failureProbability", "heaterId");

-- CreateIndex
CREATE INDEX "HeaterRisk_organizationId_expectedLossCents_heaterId_idx" ON "HeaterRisk"("organizationId", "expectedLossCents", "heaterId");

-- CreateIndex
CREATE INDEX "HeaterRisk_organizationId_ageYears_heaterId_idx" ON "HeaterRisk"("organizationId", "ageYears", "heaterId");

-- CreateIndex
CREATE INDEX "Heater_predecessorId_idx" ON "Heater"("predecessorId");

-- ---- how the register is kept ----
--
-- A line gathers what a heater's own row, its home, building, property, water, visits and survey say.
-- Triggers only note whose line has gone stale; `refresh_register()` writes those lines anew, and every
-- reader calls it first. So a bulk import pays for one note, not for 18 indexes, and a reader never
-- sees an old line. The application's role reads the lines and cannot write them.
-- Each order of the heaters in service is an index with the tag as the tie-break; retired heaters, seldom
-- listed, are sorted when asked for.
-- The chance of failure is not in the line: a pass over the fleet renews it for all heaters at once, and
-- its own indexes give its order.

CREATE INDEX register_property ON "RegisterLine" ("organizationId", "propertyOrder", tag)
  WHERE status = 'in-service';
CREATE INDEX register_building ON "RegisterLine" ("organizationId", "buildingOrder", tag)
  WHERE status = 'in-service';
CREATE INDEX register_home ON "RegisterLine" ("organizationId", "homeOrder", tag)
  WHERE status = 'in-service';
CREATE INDEX register_floor ON "RegisterLine" ("organizationId", floor, tag)
  WHERE status = 'in-service';
CREATE INDEX register_riser ON "RegisterLine" ("organizationId", "riserOrder", tag)
  WHERE status = 'in-service';
CREATE INDEX register_technology ON "RegisterLine" ("organizationId", technology, tag)
  WHERE status = 'in-service';
CREATE INDEX register_maker ON "RegisterLine" ("organizationId", "makerOrder", tag)
  WHERE status = 'in-service';
CREATE INDEX register_model ON "RegisterLine" ("organizationId", "modelOrder", tag)
  WHERE status = 'in-service';
CREATE INDEX register_volume ON "RegisterLine" ("organizationId", "volumeGal", tag)
  WHERE status = 'in-service';
CREATE INDEX register_install ON "RegisterLine" ("organizationId", "installMiddle", tag)
  WHERE status = 'in-service';
CREATE INDEX register_hardness ON "RegisterLine" ("organizationId", "hardnessMgPerLitre", tag)
  WHERE status = 'in-service';
CREATE INDEX register_last_visit ON "RegisterLine" ("organizationId", "lastVisitOn", tag)
  WHERE status = 'in-service';

-- Contained text is found through trigrams where the server has that (trusted) extension; elsewhere a
-- search reads the lines one by one.
DO $$
BEGIN
  IF EXISTS (SELECT FROM pg_available_extensions WHERE name = 'pg_trgm') THEN
    CREATE EXTENSION IF NOT EXISTS pg_trgm;
    CREATE INDEX register_search ON "RegisterLine" USING gin ("searchText" gin_trgm_ops)
      WHERE status = 'in-service';
  END IF;
END
$$;

-- Text as people count: every run of digits is padded to twelve, so that "Unit 9" precedes "Unit 10".
CREATE FUNCTION natural_order(value text) RETURNS text
  LANGUAGE sql IMMUTABLE PARALLEL SAFE STRICT
  AS $$
    SELECT regexp_replace(
      regexp_replace(lower(value), '(\d+)', '00000000000\1', 'g'), '\d*(\d{12})', '\1', 'g'
    )
  $$;

CREATE FUNCTION write_register_lines(organization uuid, heaters uuid[]) RETURNS void
  LANGUAGE plpgsql
  SET search_path = public, pg_temp
  SET plan_cache_mode = force_custom_plan
  AS $$
BEGIN
  DELETE FROM "RegisterLine" l
    WHERE l."organizationId" = organization AND (heaters IS NULL OR l."heaterId" = ANY (heaters))
      AND NOT EXISTS (SELECT FROM "Heater" h WHERE h.id = l."heaterId");

  WITH place AS MATERIALIZED (
    SELECT b.id AS "buildingId", b.name AS "buildingName", p.id AS "propertyId",
      p.name AS "propertyName", natural_order(p.name) AS "propertyOrder",
      natural_order(p.name) || E'\x1e' || natural_order(b.name) AS "buildingOrder",
      w."hardnessMgPerLitre", w.softened
    FROM "Building" b
    JOIN "Property" p ON p.id = b."propertyId"
    LEFT JOIN LATERAL (
      SELECT t."hardnessMgPerLitre", t.softened FROM "WaterTest" t
      WHERE t."organizationId" = organization AND t."propertyId" = p.id
      ORDER BY t."sampledOn" DESC LIMIT 1
    ) w ON true
    WHERE b."organizationId" = organization
      AND (heaters IS NULL OR b.id IN (SELECT "buildingId" FROM "Heater" WHERE id = ANY (heaters)))
  ), read AS (
    SELECT h.*, place."propertyId", place."propertyName", place."propertyOrder",
      place."buildingName", place."buildingOrder", place."hardnessMgPerLitre", place.softened,
      u.label, u.floor, u.riser,
      h."installEarliest" + (h."installLatest" - h."installEarliest") / 2 AS "installMiddle",
      e.earliest + (e.latest - e.earliest) / 2 AS "retiredMiddle",
      CASE
        WHEN h."installEvidence" = 'none' THEN 'unknown'
        WHEN h."installEarliest" <> h."installLatest"
          OR h."installEvidence" IN ('staff-estimate', 'building-age') THEN 'estimated'
        ELSE 'known'
      END AS "installKind",
      (SELECT max(v."visitedOn") FROM "ServiceVisit" v WHERE v."heaterId" = h.id) AS "lastVisitOn",
      survey.answers, survey.open
    FROM "Heater" h
    JOIN place ON place."buildingId" = h."buildingId"
    LEFT JOIN "Unit" u ON u.id = h."unitId"
    LEFT JOIN "Retirement" e ON e."heaterId" = h.id
    LEFT JOIN LATERAL (
      SELECT count(*) AS answers, count(*) FILTER (WHERE a.answer = 'unknown') AS open
      FROM "ReadinessAnswer" a WHERE a."heaterId" = h.id
    ) survey ON true
    WHERE h."organizationId" = organization AND (heaters IS NULL OR h.id = ANY (heaters))
  )
  INSERT INTO "RegisterLine" AS l (
    "heaterId", "organizationId", status, tag, "tagOrder", "propertyId", "propertyName",
    "propertyOrder", "buildingId", "buildingName", "buildingOrder", "unitLabel", "homeOrder", floor,
    riser, "riserOrder", technology, manufacturer, "makerOrder", model, "modelOrder", serial,
    "volumeGal", place, "installEarliest", "installLatest", "installEvidence", "installKind",
    "installMiddle", "retiredMiddle", "lifeDays", "hardnessMgPerLitre", softened, "lastVisitOn",
    missing, "searchText"
  )
  SELECT r.id, r."organizationId", r.status, r.tag,
    -- The tag itself at the end tells "WH-1" from "WH-01".
    natural_order(r.tag) || E'\x1f' || r.tag, r."propertyId",
    r."propertyName", r."propertyOrder", r."buildingId", r."buildingName", r."buildingOrder", r.label,
    natural_order(r.label), r.floor, r.riser, natural_order(r.riser), r.technology, r.manufacturer,
    lower(r.manufacturer), r.model, natural_order(r.model), r.serial, r."volumeGal", r.place,
    r."installEarliest", r."installLatest", r."installEvidence", r."installKind", r."installMiddle",
    r."retiredMiddle", greatest(0, r."retiredMiddle" - r."installMiddle"), r."hardnessMgPerLitre",
    r.softened, r."lastVisitOn",
    array_remove(ARRAY[
      CASE WHEN r."installKind" = 'unknown' THEN 'install-day' END,
      CASE WHEN r.manufacturer IS NULL THEN 'maker' END,
      CASE WHEN r.model IS NULL THEN 'model' END,
      CASE WHEN r.serial IS NULL THEN 'serial' END,
      CASE WHEN r."volumeGal" IS NULL
        AND r.technology NOT IN ('gas-instantaneous', 'electric-instantaneous') THEN 'volume' END,
      CASE WHEN CASE WHEN r.fuel = 'electricity' THEN r."inputWatts" ELSE r."inputBtuPerHour" END
        IS NULL THEN 'input' END,
      CASE WHEN r."uniformEnergyFactor" IS NULL THEN 'efficiency' END,
      CASE WHEN r."setpointF" IS NULL THEN 'setpoint' END,
      CASE WHEN r."hardnessMgPerLitre" IS NULL THEN 'hardness' END,
      CASE WHEN r."unitId" IS NULL THEN 'home' END,
      CASE WHEN 'unknown' IN (r."overFinishedSpace", r."drainPan", r."leakShutoff")
        THEN 'leak-protection' END,
      CASE WHEN r.answers = 0 THEN 'survey' END,
      CASE WHEN r.open > 0 THEN 'survey-open' END
    ], NULL),
    lower(concat_ws(' ', r.tag, r.label, r."buildingName", r."propertyName", r.manufacturer, r.model,
      r.serial))
  FROM read r
  ON CONFLICT ("heaterId") DO UPDATE SET
    status = EXCLUDED.status, tag = EXCLUDED.tag, "tagOrder" = EXCLUDED."tagOrder",
    "propertyId" = EXCLUDED."propertyId", "propertyName" = EXCLUDED."propertyName",
    "propertyOrder" = EXCLUDED."propertyOrder", "buildingId" = EXCLUDED."buildingId",
    "buildingName" = EXCLUDED."buildingName", "buildingOrder" = EXCLUDED."buildingOrder",
    "unitLabel" = EXCLUDED."unitLabel", "homeOrder" = EXCLUDED."homeOrder",
    floor = EXCLUDED.floor, riser = EXCLUDED.riser, "riserOrder" = EXCLUDED."riserOrder",
    technology = EXCLUDED.technology, manufacturer = EXCLUDED.manufacturer,
    "makerOrder" = EXCLUDED."makerOrder", model = EXCLUDED.model,
    "modelOrder" = EXCLUDED."modelOrder", serial = EXCLUDED.serial,
    "volumeGal" = EXCLUDED."volumeGal", place = EXCLUDED.place,
    "installEarliest" = EXCLUDED."installEarliest", "installLatest" = EXCLUDED."installLatest",
    "installEvidence" = EXCLUDED."installEvidence", "installKind" = EXCLUDED."installKind",
    "installMiddle" = EXCLUDED."installMiddle", "retiredMiddle" = EXCLUDED."retiredMiddle",
    "lifeDays" = EXCLUDED."lifeDays", "hardnessMgPerLitre" = EXCLUDED."hardnessMgPerLitre",
    softened = EXCLUDED.softened, "lastVisitOn" = EXCLUDED."lastVisitOn",
    missing = EXCLUDED.missing, "searchText" = EXCLUDED."searchText"
    WHERE l.* IS DISTINCT FROM EXCLUDED.*;
END
$$;

-- Writes the stale lines of the organisation that the transaction names. Two readers at once: the
-- second waits for the first and finds nothing left to do.
CREATE FUNCTION refresh_register() RETURNS void
  LANGUAGE plpgsql SECURITY DEFINER
  SET search_path = public, pg_temp
  AS $$
DECLARE
  organization constant uuid := current_organization();
  stale uuid[];
  is_everything boolean;
BEGIN
  IF NOT EXISTS (SELECT FROM "RegisterStale" WHERE "organizationId" = organization) THEN
    RETURN;
  END IF;
  PERFORM pg_advisory_xact_lock(hashtextextended('register ' || organization, 0));
  WITH taken AS (
    DELETE FROM "RegisterStale" WHERE "organizationId" = organization RETURNING "heaterId"
  )
  SELECT bool_or("heaterId" IS NULL), array_agg(DISTINCT "heaterId") INTO is_everything, stale
  FROM taken;
  IF is_everything THEN
    PERFORM write_register_lines(organization, NULL);
    ANALYZE "RegisterLine";
  ELSIF stale IS NOT NULL THEN
    PERFORM write_register_lines(organization, stale);
  END IF;
END
$$;

-- Ids of the heaters in service whose text contains `pattern`, or null when more than `most` do: then
-- reading on in order meets enough of them soon. A sample of the pages tells a common word before the
-- index is asked for it. Row-level security lets no index serve an operator that might leak, such as
-- LIKE; this function may use one because it names the organisation itself.
CREATE FUNCTION find_in_register(pattern text, most integer) RETURNS uuid[]
  LANGUAGE plpgsql STABLE SECURITY DEFINER
  SET search_path = public, pg_temp
  AS $$
DECLARE
  organization constant uuid := current_organization();
  found_ids uuid[];
BEGIN
  IF (
    SELECT count(*) FROM "RegisterLine" TABLESAMPLE SYSTEM (1) REPEATABLE (1)
    WHERE "organizationId" = organization AND status = 'in-service' AND "searchText" LIKE pattern
  ) * 100 > most THEN
    RETURN NULL;
  END IF;
  found_ids := ARRAY(
    SELECT "heaterId" FROM "RegisterLine"
    WHERE "organizationId" = organization AND status = 'in-service' AND "searchText" LIKE pattern
    LIMIT most + 1
  );
  RETURN CASE WHEN cardinality(found_ids) <= most THEN found_ids END;
END
$$;

-- ---- noting what has gone stale ----

CREATE FUNCTION note_stale_register() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER
  SET search_path = public, pg_temp
  AS $$
DECLARE
  -- More than this at once is cheaper to look through as a whole.
  many constant integer := 2000;
BEGIN
  IF (SELECT count(*) FROM (SELECT FROM changed LIMIT many + 1) few) > many THEN
    INSERT INTO "RegisterStale" ("organizationId") SELECT DISTINCT "organizationId" FROM changed;
    RETURN NULL;
  END IF;
  CASE TG_TABLE_NAME
    WHEN 'Heater' THEN
      INSERT INTO "RegisterStale" ("organizationId", "heaterId")
        SELECT "organizationId", id FROM changed;
    WHEN 'Unit' THEN
      INSERT INTO "RegisterStale" ("organizationId", "heaterId")
        SELECT h."organizationId", h.id FROM changed JOIN "Heater" h ON h."unitId" = changed.id;
    WHEN 'WaterTest' THEN
      INSERT INTO "RegisterStale" ("organizationId", "heaterId")
        SELECT DISTINCT h."organizationId", h.id FROM changed
        JOIN "Building" b ON b."propertyId" = changed."propertyId"
        JOIN "Heater" h ON h."buildingId" = b.id;
    ELSE
      INSERT INTO "RegisterStale" ("organizationId", "heaterId")
        SELECT DISTINCT "organizationId", "heaterId" FROM changed;
  END CASE;
  RETURN NULL;
END
$$;

-- A building or property that is renamed, or a building that moves to another property.
CREATE FUNCTION note_stale_places() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER
  SET search_path = public, pg_temp
  AS $$
BEGIN
  IF TG_TABLE_NAME = 'Building' THEN
    INSERT INTO "RegisterStale" ("organizationId", "heaterId")
      SELECT h."organizationId", h.id FROM changed
      JOIN before ON before.id = changed.id
        AND (before.name, before."propertyId") <> (changed.name, changed."propertyId")
      JOIN "Heater" h ON h."buildingId" = changed.id;
  ELSE
    INSERT INTO "RegisterStale" ("organizationId", "heaterId")
      SELECT h."organizationId", h.id FROM changed
      JOIN before ON before.id = changed.id AND before.name <> changed.name
      JOIN "Building" b ON b."propertyId" = changed.id
      JOIN "Heater" h ON h."buildingId" = b.id;
  END IF;
  RETURN NULL;
END
$$;

DO $$
DECLARE
  source text;
BEGIN
  FOREACH source IN ARRAY ARRAY[
    'Heater', 'Retirement', 'ReadinessAnswer', 'ServiceVisit', 'Unit', 'WaterTest'
  ] LOOP
    EXECUTE format('CREATE TRIGGER register_insert AFTER INSERT ON %I REFERENCING NEW TABLE AS changed
      FOR EACH STATEMENT EXECUTE FUNCTION note_stale_register()', source);
    EXECUTE format('CREATE TRIGGER register_update AFTER UPDATE ON %I REFERENCING NEW TABLE AS changed
      FOR EACH STATEMENT EXECUTE FUNCTION note_stale_register()', source);
    EXECUTE format('CREATE TRIGGER register_delete AFTER DELETE ON %I REFERENCING OLD TABLE AS changed
      FOR EACH STATEMENT EXECUTE FUNCTION note_stale_register()', source);
  END LOOP;
  FOREACH source IN ARRAY ARRAY['Building', 'Property'] LOOP
    EXECUTE format('CREATE TRIGGER register_update AFTER UPDATE ON %I
      REFERENCING OLD TABLE AS before NEW TABLE AS changed
      FOR EACH STATEMENT EXECUTE FUNCTION note_stale_places()', source);
  END LOOP;
END
$$;

-- ---- who may ----

GRANT SELECT ON "RegisterLine", "RegisterStale" TO tanklore_app;
DO $$
DECLARE
  tenant_table text;
BEGIN
  FOREACH tenant_table IN ARRAY ARRAY['RegisterLine', 'RegisterStale'] LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', tenant_table);
    EXECUTE format(
      'CREATE POLICY separation ON %I TO tanklore_app
         USING ("organizationId" = (SELECT current_organization()))
         WITH CHECK ("organizationId" = (SELECT current_organization()))', tenant_table);
  END LOOP;
END
$$;
REVOKE ALL ON FUNCTION write_register_lines(uuid, uuid[]), refresh_register(),
  find_in_register(text, integer) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION refresh_register(), find_in_register(text, integer) TO tanklore_app;

INSERT INTO "RegisterStale" ("organizationId") SELECT id FROM "Organization";
