-- relation: ledger.rejected_rows
-- comment: Every row of an export that was not accepted as a shot.
-- grain: a row not accepted
-- columns:
--   batch: Number of the load
--   raw_text: The line as it stands in the export
--   reason_code: Code of the reason
--   reason: The reason in a plain sentence
CREATE TABLE IF NOT EXISTS ledger.rejected_rows (
    batch INTEGER NOT NULL,
    source_file VARCHAR NOT NULL,
    source_row INTEGER NOT NULL,
    raw_text VARCHAR NOT NULL,
    reason_code VARCHAR NOT NULL,
    reason VARCHAR NOT NULL
);
