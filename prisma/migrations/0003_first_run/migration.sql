-- A new installation is one without any organisation. The application's role cannot see organisations
-- before it names one, so it asks this function, which answers yes or no and nothing else.
CREATE FUNCTION installation_is_empty() RETURNS boolean
  LANGUAGE sql STABLE SECURITY DEFINER
  SET search_path = pg_catalog, public
  AS $$ SELECT NOT EXISTS (SELECT FROM public."Organization") $$;

REVOKE ALL ON FUNCTION installation_is_empty() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION installation_is_empty() TO tanklore_app;
