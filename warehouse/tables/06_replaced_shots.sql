-- relation: ledger.replaced_shots
-- comment: Shots that don't count: a newer export gives them again and they count as there, or
--   their export was taken out again.
-- grain: a shot
-- columns:
--   player: Player of the replaced shot
--   batch: Load of the newest export that gives the shot again; its own where that was taken out
--   replaced_by: SHA-256 of the newest export that gives the shot again; NULL where its own export
--     was taken out
--   by_shot: The shot there; NULL as before
CREATE TABLE IF NOT EXISTS ledger.replaced_shots (
    shot_id VARCHAR NOT NULL,
    player VARCHAR NOT NULL,
    batch INTEGER NOT NULL,
    replaced_by VARCHAR,
    by_shot VARCHAR
);
