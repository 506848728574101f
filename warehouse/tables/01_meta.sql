-- relation: ledger.meta
-- comment: Version of this database's tables and views.
-- grain: the database
-- columns:
--   database_version: Version; a database of another version is rebuilt from the lake
CREATE TABLE IF NOT EXISTS ledger.meta (
    database_version INTEGER NOT NULL
);
