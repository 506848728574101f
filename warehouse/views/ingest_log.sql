-- relation: ingest_log
-- comment: Every export that was offered and what became of it.
-- grain: an export offered
-- columns:
--   offered_at: When its load was committed [UTC]
--   file_name: Name under which it was offered
--   source_file: SHA-256 of its bytes
--   state: loaded, loaded-with-rejects, duplicate or quarantined
--   reason: Why it was not loaded, in plain words; empty if it was
--   shots: Shots accepted
--   rejected: Rows not accepted
--   mapping: Mapping file used; empty if the headings were recognised without one
--   seconds: Time from reading to the lake [s]
--   details: How it was read (columns, units, layout), as JSON
CREATE OR REPLACE VIEW ingest_log AS
SELECT
    b.loaded_at AS offered_at, o.file_name, o.source_file, o.state, o.reason, o.shots,
    o.rejected, o.mapping, o.seconds, o.details
FROM ledger.offers AS o
INNER JOIN ledger.batches AS b ON b.batch = o.batch
ORDER BY o.batch, o.place;
