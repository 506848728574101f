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
--   other_lines: Lines that are neither shots nor rejected rows, as in the view of that name; NULL
--     if it was loaded before they were kept
--   remarks: Remarks on it, as in the view of that name; NULL if it was loaded before they were kept
--   replaced: Shots of it that don't count here: a newer export gives them again, a later row has
--     them, where the same bytes were read again, or the export was taken out
--   taken_out: Whether the export was taken out again, so that none of its shots counts
--   read_again: Whether the same bytes were read again later; all that is told of their lines is
--     counted there too
--   mapping: Mapping file used; empty if the headings were recognised without one
--   seconds: Time from reading to the lake [s]
--   details: How it was read (columns, units, layout), as JSON
CREATE OR REPLACE VIEW ingest_log AS
WITH replaced AS (
    SELECT s.source_file, count(*) AS replaced, bool_or(r.by_shot IS NULL) AS taken_out
    FROM ledger.replaced_shots AS r
    INNER JOIN ledger.shots AS s ON s.shot_id = r.shot_id
    GROUP BY s.source_file
),
newest AS (
    SELECT source_file, max(batch) AS batch
    FROM ledger.offers
    WHERE starts_with(state, 'loaded')
    GROUP BY source_file
)
SELECT
    b.loaded_at AS offered_at, o.file_name, o.source_file, o.state, o.reason, o.shots,
    o.rejected, o.other_lines, o.remarks,
    CASE WHEN n.source_file IS NULL THEN 0
         WHEN o.batch < n.batch THEN o.shots
         ELSE coalesce(r.replaced, 0) END AS replaced,
    coalesce(r.taken_out, false) AS taken_out,
    coalesce(o.batch < n.batch, false) AS read_again,
    o.mapping, o.seconds, o.details
FROM ledger.offers AS o
INNER JOIN ledger.batches AS b ON b.batch = o.batch
LEFT JOIN newest AS n ON n.source_file = o.source_file AND starts_with(o.state, 'loaded')
LEFT JOIN replaced AS r ON r.source_file = o.source_file AND o.state <> 'quarantined'
ORDER BY o.batch, o.place;
