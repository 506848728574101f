-- relation: ledger.other_lines
-- comment: Every line of a loaded export that is neither a shot nor a rejected row.
-- grain: a line
-- columns:
--   batch: Number of the load
--   source_row: Line in the export, counted from 1; where a record goes over several, its first
--   taken_for: What it was taken for
--   raw_text: The line as it stands in the export; empty for a blank one
CREATE TABLE IF NOT EXISTS ledger.other_lines (
    batch INTEGER NOT NULL,
    source_file VARCHAR NOT NULL,
    source_row INTEGER NOT NULL,
    taken_for VARCHAR NOT NULL,
    raw_text VARCHAR NOT NULL
);
