-- relation: ledger.same_shots
-- comment: Rows of two exports that are one shot.
-- grain: a pair of rows
-- columns:
--   one: The row whose shot_id comes first
--   other: The other row
--   one_file: SHA-256 of the export of the first
--   other_file: SHA-256 of the export of the other
CREATE TABLE IF NOT EXISTS ledger.same_shots (
    one VARCHAR NOT NULL,
    other VARCHAR NOT NULL,
    one_file VARCHAR NOT NULL,
    other_file VARCHAR NOT NULL
);
