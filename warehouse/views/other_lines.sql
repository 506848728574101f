-- relation: other_lines
-- comment: Lines of loaded exports that are neither shots nor rejected rows: headings, units, notes,
--   summaries, blank lines. Exports loaded before these were kept have none here, and
--   ingest_log.other_lines is NULL for them.
-- grain: a line of an export
-- columns:
--   file_name: Name under which the export was offered
--   source_row: Line in the export, counted from 1; where a record goes over several, its first
--   taken_for: heading, units, section (a line between shots that names what follows), note,
--     summary, repeated (gives shots again), comment, commented-out (a row behind a number sign),
--     blank, separator (names the delimiter), or
--     turned (of a table whose shots are columns, whose first line stands for all of its shots)
--   raw_text: The line as it stands in the export; empty for a blank one
CREATE OR REPLACE VIEW other_lines AS
WITH names AS (
    SELECT source_file, batch, min(file_name) AS file_name
    FROM ledger.offers
    WHERE starts_with(state, 'loaded')
    GROUP BY source_file, batch
)
SELECT l.source_file, n.file_name, l.source_row, l.taken_for, l.raw_text
FROM ledger.other_lines AS l
LEFT JOIN names AS n ON n.source_file = l.source_file AND n.batch = l.batch
ORDER BY n.file_name, l.source_row;
