-- relation: ledger.replaced_shots
-- comment: Shots that an export loaded later gives again; they count once, as in the later one.
-- grain: a shot
-- columns:
--   player: Player of the replaced shot
--   batch: Number of the newest load that gives the shot again
--   replaced_by: SHA-256 of the newest export that gives the shot again
CREATE TABLE IF NOT EXISTS ledger.replaced_shots (
    shot_id VARCHAR PRIMARY KEY,
    player VARCHAR NOT NULL,
    batch INTEGER NOT NULL,
    replaced_by VARCHAR NOT NULL
);
