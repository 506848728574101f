-- relation: ledger.remarks
-- comment: What a load noticed about an export.
-- grain: a remark
-- columns:
--   batch: Number of the load
--   place: Where in the export; empty for the export as a whole
--   remark: What was not understood, left empty or assumed, in a sentence
--   settled_by: What settles it; empty if nothing need be done
CREATE TABLE IF NOT EXISTS ledger.remarks (
    batch INTEGER NOT NULL,
    source_file VARCHAR NOT NULL,
    place VARCHAR NOT NULL,
    remark VARCHAR NOT NULL,
    settled_by VARCHAR NOT NULL
);
