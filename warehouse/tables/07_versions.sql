-- relation: ledger.versions
-- comment: Which of several exports of the same shots counts: the one with the highest rank.
-- grain: an export that was loaded and not taken out again
-- columns:
--   source_file: SHA-256 of the export
--   rank: Place from the oldest to the newest, and what the user prefers above that
CREATE TABLE IF NOT EXISTS ledger.versions (
    source_file VARCHAR NOT NULL,
    rank INTEGER NOT NULL
);
