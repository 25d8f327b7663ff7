-- Seals of the log of changes: each carries the SHA-256 of its entry and of the seal before it, so that an
-- entry that was changed, removed or slipped in breaks the chain from there on. Seals are set when a
-- transaction commits, one organisation's one after another: the lock is held for the commit only.
CREATE TABLE "AuditSeal" (
    "organizationId" UUID NOT NULL,
    "position" BIGINT NOT NULL,
    "entryId" UUID NOT NULL,
    "hash" BYTEA NOT NULL,

    CONSTRAINT "AuditSeal_pkey" PRIMARY KEY ("organizationId","position")
);

CREATE UNIQUE INDEX "AuditSeal_entryId_key" ON "AuditSeal"("entryId");

-- The application reads seals; only the function below, as the owner of the database, sets them.
GRANT SELECT ON "AuditSeal" TO tanklore_app;
ALTER TABLE "AuditSeal" ENABLE ROW LEVEL SECURITY;
CREATE POLICY separation ON "AuditSeal" TO tanklore_app
  USING ("organizationId" = (SELECT current_organization()));

-- What a seal covers: every column of the entry, as jsonb writes it (keys in its own fixed order).
CREATE FUNCTION audit_seal_hash(previous bytea, "position" bigint, entry "AuditEntry") RETURNS bytea
  LANGUAGE sql STABLE
  AS $$
    SELECT sha256(previous || convert_to(jsonb_build_object(
      'position', "position",
      'id', entry.id,
      'organizationId', entry."organizationId",
      'at', to_char(entry.at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"'),
      'userId', entry."userId",
      'action', entry.action,
      'entity', entry.entity,
      'entityId', entry."entityId",
      'before', entry.before,
      'after', entry.after
    )::text, 'UTF8'))
  $$;

CREATE FUNCTION seal_audit_entry() RETURNS trigger
  LANGUAGE plpgsql SECURITY DEFINER
  SET search_path = pg_catalog, public
  AS $$
    DECLARE
      last public."AuditSeal";
      next bigint;
    BEGIN
      PERFORM pg_advisory_xact_lock(hashtextextended('audit-seal ' || NEW."organizationId", 0));
      SELECT * INTO last FROM public."AuditSeal"
        WHERE "organizationId" = NEW."organizationId" ORDER BY "position" DESC LIMIT 1;
      next := COALESCE(last."position", 0) + 1;
      INSERT INTO public."AuditSeal" ("organizationId", "position", "entryId", hash)
        VALUES (NEW."organizationId", next, NEW.id,
          public.audit_seal_hash(COALESCE(last.hash, ''::bytea), next, NEW));
      RETURN NULL;
    END
  $$;
REVOKE ALL ON FUNCTION seal_audit_entry() FROM PUBLIC;

-- What the log holds already is sealed in the order of its time.
DO $$
DECLARE
  entry "AuditEntry";
  current uuid;
  previous bytea;
  next bigint;
BEGIN
  FOR entry IN SELECT * FROM "AuditEntry" ORDER BY "organizationId", at, id LOOP
    IF current IS DISTINCT FROM entry."organizationId" THEN
      current := entry."organizationId";
      previous := ''::bytea;
      next := 0;
    END IF;
    next := next + 1;
    previous := audit_seal_hash(previous, next, entry);
    INSERT INTO "AuditSeal" ("organizationId", "position", "entryId", hash)
      VALUES (current, next, entry.id, previous);
  END LOOP;
END
$$;

CREATE CONSTRAINT TRIGGER seal AFTER INSERT ON "AuditEntry"
  DEFERRABLE INITIALLY DEFERRED
  FOR EACH ROW EXECUTE FUNCTION seal_audit_entry();
