#!/usr/bin/env bash
# Makes an academy in the catalog: a role that owns a schema of the same name and may do nothing else.
#   ACADEMY=academy_two ACADEMY_PASSWORD=... PGDATABASE=ranges new-academy.sh    (as the server's owner)
# The container of PostgreSQL runs it by itself when its volume is new.
set -euo pipefail
psql --no-psqlrc --quiet --set ON_ERROR_STOP=1 \
    --username "${POSTGRES_USER:-${PGUSER:-postgres}}" --dbname "${POSTGRES_DB:-${PGDATABASE:-ranges}}" \
    --set academy="$ACADEMY" --set password="$ACADEMY_PASSWORD" <<'SQL'
CREATE ROLE :"academy" LOGIN PASSWORD :'password';
CREATE SCHEMA :"academy" AUTHORIZATION :"academy";
SELECT format('REVOKE ALL ON DATABASE %I FROM PUBLIC', current_database()) \gexec
SELECT format('GRANT CONNECT ON DATABASE %I TO %I', current_database(), :'academy') \gexec
REVOKE ALL ON SCHEMA public FROM PUBLIC;
SQL
