-- relation: ledger.offers
-- comment: Every export that was offered and what became of it.
-- grain: an export offered
-- columns:
--   batch: Number of the load
--   place: Place within the load, from 1
--   file_name: Name under which it was offered
--   source_file: SHA-256 of its bytes
--   state: loaded, loaded-with-rejects, duplicate or quarantined
--   reason: Why it was not loaded, in plain words; empty if it was
--   shots: Shots accepted
--   rejected: Rows not accepted
--   mapping: Mapping file used; empty if the headings were recognised
--   seconds: Time from reading to the lake [s]
--   zone: Time zone of its dates; NULL where an earlier version loaded it
--   exported_at: Its own time stamp; NULL where it has none [UTC]
--   modified_at: When its file was last changed; NULL where an earlier version loaded it [UTC]
--   details: How it was read, as JSON
--   other_lines: Lines that are neither shots nor rejected rows; NULL if it was loaded before they
--     were kept
--   remarks: Remarks on it; NULL if it was loaded before they were kept
CREATE TABLE IF NOT EXISTS ledger.offers (
    batch INTEGER NOT NULL,
    place INTEGER NOT NULL,
    file_name VARCHAR NOT NULL,
    source_file VARCHAR NOT NULL,
    state VARCHAR NOT NULL,
    reason VARCHAR NOT NULL,
    shots INTEGER NOT NULL,
    rejected INTEGER NOT NULL,
    mapping VARCHAR NOT NULL,
    seconds DOUBLE NOT NULL,
    zone VARCHAR,
    exported_at TIMESTAMP,
    modified_at TIMESTAMP,
    details VARCHAR NOT NULL,
    other_lines INTEGER,
    remarks INTEGER,
    PRIMARY KEY (batch, place)
);
