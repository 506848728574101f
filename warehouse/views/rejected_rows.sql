-- relation: rejected_rows
-- comment: Rows of exports that were not accepted as shots, each with its reason.
-- grain: a row not accepted
-- columns:
--   file_name: Name under which the export was offered
--   raw_text: The line as it stands in the export
--   reason_code: Code of the reason
--   reason: The reason in a plain sentence
CREATE OR REPLACE VIEW rejected_rows AS
WITH names AS (
    SELECT source_file, batch, min(file_name) AS file_name
    FROM ledger.offers
    WHERE starts_with(state, 'loaded')
    GROUP BY source_file, batch
)
SELECT r.source_file, n.file_name, r.source_row, r.raw_text, r.reason_code, r.reason
FROM ledger.rejected_rows AS r
LEFT JOIN names AS n ON n.source_file = r.source_file AND n.batch = r.batch
ORDER BY n.file_name, r.source_row;
