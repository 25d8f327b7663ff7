-- Separation of organisations: the application's role sees and writes only rows of the organisation
-- that its transaction names. A transaction that names none sees nothing.

DO $$
BEGIN
  IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'tanklore_app') THEN
    CREATE ROLE tanklore_app NOLOGIN NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE;
  END IF;
END
$$;

CREATE FUNCTION current_organization() RETURNS uuid
  LANGUAGE sql STABLE PARALLEL SAFE
  AS $$ SELECT NULLIF(current_setting('tanklore.organization', true), '')::uuid $$;

CREATE FUNCTION current_person() RETURNS text
  LANGUAGE sql STABLE PARALLEL SAFE
  AS $$ SELECT NULLIF(current_setting('tanklore.person', true), '') $$;

GRANT USAGE ON SCHEMA public TO tanklore_app;

-- Sign-in tables carry no organisation; the authentication library reads them by token or address.
GRANT SELECT, INSERT, UPDATE, DELETE ON "User", "Session", "Account", "Verification" TO tanklore_app;

-- A person finds the organisations they belong to before one is chosen.
GRANT SELECT, INSERT, UPDATE, DELETE ON "Member" TO tanklore_app;
ALTER TABLE "Member" ENABLE ROW LEVEL SECURITY;
CREATE POLICY separation ON "Member" TO tanklore_app
  USING ("organizationId" = (SELECT current_organization()))
  WITH CHECK ("organizationId" = (SELECT current_organization()));
CREATE POLICY own_membership ON "Member" FOR SELECT TO tanklore_app
  USING ("userId" = (SELECT current_person()));

GRANT SELECT, INSERT, UPDATE ON "Organization" TO tanklore_app;
ALTER TABLE "Organization" ENABLE ROW LEVEL SECURITY;
CREATE POLICY separation ON "Organization" TO tanklore_app
  USING ("id" = (SELECT current_organization()))
  WITH CHECK ("id" = (SELECT current_organization()));
CREATE POLICY own_membership ON "Organization" FOR SELECT TO tanklore_app
  USING ("id" IN (SELECT "organizationId" FROM "Member" WHERE "userId" = (SELECT current_person())));

DO $$
DECLARE
  tenant_table text;
BEGIN
  FOREACH tenant_table IN ARRAY ARRAY[
    'Property', 'Building', 'Unit', 'WaterTest', 'Heater', 'Retirement', 'ReadinessAnswer',
    'ServiceVisit', 'VisitTask', 'HeaterRisk', 'OptionType', 'Scenario', 'PlanRun', 'PlanItem',
    'PlanUpgrade', 'ImportBatch', 'ImportRow'
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

-- Published factors (no organisation) are everybody's to read and nobody's to change.
GRANT SELECT, INSERT, UPDATE, DELETE ON "EmissionFactor" TO tanklore_app;
ALTER TABLE "EmissionFactor" ENABLE ROW LEVEL SECURITY;
CREATE POLICY separation ON "EmissionFactor" TO tanklore_app
  USING ("organizationId" = (SELECT current_organization()))
  WITH CHECK ("organizationId" = (SELECT current_organization()));
CREATE POLICY published ON "EmissionFactor" FOR SELECT TO tanklore_app
  USING ("organizationId" IS NULL);

-- The log is written once: the application can add to it and read it, nothing else.
GRANT SELECT, INSERT ON "AuditEntry" TO tanklore_app;
ALTER TABLE "AuditEntry" ENABLE ROW LEVEL SECURITY;
CREATE POLICY separation ON "AuditEntry" TO tanklore_app
  USING ("organizationId" = (SELECT current_organization()))
  WITH CHECK ("organizationId" = (SELECT current_organization()));

-- Rules that no path into the table may break.
ALTER TABLE "Heater"
  ADD CONSTRAINT heater_install_bracket CHECK ("installEarliest" <= "installLatest"),
  ADD CONSTRAINT heater_status CHECK ("status" IN ('in-service', 'retired')),
  ADD CONSTRAINT heater_homes CHECK ("homesServed" >= 1),
  ADD CONSTRAINT heater_volume CHECK ("volumeGal" > 0),
  ADD CONSTRAINT heater_factor CHECK ("uniformEnergyFactor" > 0);
ALTER TABLE "Retirement"
  ADD CONSTRAINT retirement_bracket CHECK ("earliest" <= "latest"),
  ADD CONSTRAINT retirement_cause CHECK ("cause" IN ('leak', 'no-heat', 'planned', 'damage', 'other'));
ALTER TABLE "HeaterRisk"
  ADD CONSTRAINT risk_probability CHECK ("failureProbability" BETWEEN 0 AND 1);
ALTER TABLE "Member"
  ADD CONSTRAINT member_role CHECK ("role" IN ('owner', 'manager', 'maintenance', 'sustainability', 'viewer'));
