-- AlterTable
ALTER TABLE "RegisterLine" ADD COLUMN     "surveyAnswers" BIGINT NOT NULL DEFAULT 0;

-- ---- selective filters, in every order ----
--
-- A filter that few heaters pass makes the register read a long stretch of an order to fill a page. What
-- the survey says, how the install day is known and its middle stand in each order's index, so that the
-- stretch is read there alone and only the lines of the page itself are fetched.

-- The bit that says that the survey answers `item` with yes or with no; none for what is not known.
CREATE FUNCTION survey_mask(item text, answer text) RETURNS bigint
  LANGUAGE sql IMMUTABLE PARALLEL SAFE
  AS $$
    SELECT COALESCE(CASE answer WHEN 'yes' THEN 1 WHEN 'no' THEN 2 END::bigint << CASE item
      WHEN 'circuit-240v' THEN 0
      WHEN 'circuit-120v' THEN 2
      WHEN 'panel-space' THEN 4
      WHEN 'air-volume' THEN 6
      WHEN 'condensate-route' THEN 8
      WHEN 'clearance' THEN 10
      WHEN 'drain-pan' THEN 12
      WHEN 'leak-shutoff' THEN 14
      WHEN 'relief-discharge' THEN 16
      WHEN 'seismic-straps' THEN 18
      WHEN 'vent-capoff' THEN 20
      WHEN 'structure' THEN 22
      WHEN 'noise' THEN 24
    END, 0)
  $$;

CREATE OR REPLACE FUNCTION write_register_lines(organization uuid, heaters uuid[]) RETURNS void
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
      survey.answers, survey.open, survey.said
    FROM "Heater" h
    JOIN place ON place."buildingId" = h."buildingId"
    LEFT JOIN "Unit" u ON u.id = h."unitId"
    LEFT JOIN "Retirement" e ON e."heaterId" = h.id
    LEFT JOIN LATERAL (
      SELECT count(*) AS answers, count(*) FILTER (WHERE a.answer = 'unknown') AS open,
        COALESCE(bit_or(survey_mask(a.item, a.answer)), 0) AS said
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
    missing, "surveyAnswers", "searchText"
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
    r.said,
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
    missing = EXCLUDED.missing, "surveyAnswers" = EXCLUDED."surveyAnswers",
    "searchText" = EXCLUDED."searchText"
    WHERE l.* IS DISTINCT FROM EXCLUDED.*;
END
$$;

DROP INDEX register_tag;
DROP INDEX register_property;
DROP INDEX register_building;
DROP INDEX register_home;
DROP INDEX register_floor;
DROP INDEX register_riser;
DROP INDEX register_technology;
DROP INDEX register_maker;
DROP INDEX register_model;
DROP INDEX register_volume;
DROP INDEX register_install;
DROP INDEX register_hardness;
DROP INDEX register_last_visit;

CREATE INDEX register_tag ON "RegisterLine" ("organizationId", status, "tagOrder")
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle");
CREATE INDEX register_property ON "RegisterLine" ("organizationId", "propertyOrder", tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
CREATE INDEX register_building ON "RegisterLine" ("organizationId", "buildingOrder", tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
CREATE INDEX register_home ON "RegisterLine" ("organizationId", "homeOrder", tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
CREATE INDEX register_floor ON "RegisterLine" ("organizationId", floor, tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
CREATE INDEX register_riser ON "RegisterLine" ("organizationId", "riserOrder", tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
CREATE INDEX register_technology ON "RegisterLine" ("organizationId", technology, tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
CREATE INDEX register_maker ON "RegisterLine" ("organizationId", "makerOrder", tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
CREATE INDEX register_model ON "RegisterLine" ("organizationId", "modelOrder", tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
CREATE INDEX register_volume ON "RegisterLine" ("organizationId", "volumeGal", tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
CREATE INDEX register_install ON "RegisterLine" ("organizationId", "installMiddle", tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
CREATE INDEX register_hardness ON "RegisterLine" ("organizationId", "hardnessMgPerLitre", tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
CREATE INDEX register_last_visit ON "RegisterLine" ("organizationId", "lastVisitOn", tag)
  INCLUDE ("heaterId", "surveyAnswers", "installKind", "installMiddle")
  WHERE status = 'in-service';
-- The same for the orders of the risks, which look up the lines by heater.
CREATE INDEX register_by_heater ON "RegisterLine" ("heaterId")
  INCLUDE ("organizationId", status, "surveyAnswers", "installKind", "installMiddle");
-- Ages, for the orders of the lines.
CREATE INDEX risk_age_by_heater ON "HeaterRisk" ("heaterId")
  INCLUDE ("organizationId", "asOf", "ageYears");
-- First and last day of the risks, which bound the stretch that an age range leaves of the order by age.
CREATE INDEX risk_as_of ON "HeaterRisk" ("organizationId", "asOf");

INSERT INTO "RegisterStale" ("organizationId") SELECT id FROM "Organization";
