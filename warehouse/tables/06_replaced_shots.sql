-- relation: ledger.replaced_shots
-- comment: Shots that an export loaded later gives again; they count once, as in the later one.
-- grain: a shot
-- columns:
--   replaced_by: SHA-256 of the newest export that gives the shot again
CREATE TABLE IF NOT EXISTS ledger.replaced_shots (
    shot_id VARCHAR PRIMARY KEY,
    replaced_by VARCHAR NOT NULL
);
