-- relation: ledger.replaced_shots
-- comment: Shots that a newer export gives again; they count once, as in the newest.
-- grain: a shot
-- columns:
--   player: Player of the replaced shot
--   batch: Load of the newest export that gives the shot again
--   replaced_by: SHA-256 of the newest export that gives the shot again
--   by_shot: The shot there
CREATE TABLE IF NOT EXISTS ledger.replaced_shots (
    shot_id VARCHAR NOT NULL,
    player VARCHAR NOT NULL,
    batch INTEGER NOT NULL,
    replaced_by VARCHAR NOT NULL,
    by_shot VARCHAR NOT NULL
);
