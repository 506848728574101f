-- relation: remarks
-- comment: What a load noticed about an export. Exports loaded before these were kept have none
--   here, and ingest_log.remarks is NULL for them.
-- grain: a remark on an export
-- columns:
--   file_name: Name under which the export was offered
--   place: Where in the export (line 3, column 'Vel'); empty for the export as a whole
--   remark: What was not understood, left empty or assumed, in a sentence
--   settled_by: What settles it; empty if nothing need be done
CREATE OR REPLACE VIEW remarks AS
WITH names AS (
    SELECT source_file, batch, min(file_name) AS file_name
    FROM ledger.offers
    WHERE starts_with(state, 'loaded')
    GROUP BY source_file, batch
)
SELECT r.source_file, n.file_name, r.place, r.remark, r.settled_by
FROM ledger.remarks AS r
LEFT JOIN names AS n ON n.source_file = r.source_file AND n.batch = r.batch
ORDER BY n.file_name, r.place, r.remark;
