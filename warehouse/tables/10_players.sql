-- relation: fits.players
-- comment: What each player's fits were made from.
-- grain: a player
-- columns:
--   batch: Newest load among the player's shots
--   fingerprint: Checksum of the shots and decisions that the fits were made from
--   model_version: Version of the models
--   fitted_at: When the newest load was committed; fits follow each load at once [UTC]
CREATE TABLE IF NOT EXISTS fits.players (
    player VARCHAR PRIMARY KEY,
    batch INTEGER NOT NULL,
    fingerprint UBIGINT NOT NULL,
    model_version VARCHAR NOT NULL,
    fitted_at TIMESTAMP NOT NULL
);
