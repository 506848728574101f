-- relation: ledger.player_names
-- comment: The player that each name of the exports and notes stands for.
-- grain: a name
-- columns:
--   said: The name as an export or a note writes it
--   player: Name of the player
--   place: Order in which the names came first
CREATE TABLE IF NOT EXISTS ledger.player_names (
    said VARCHAR NOT NULL,
    player VARCHAR NOT NULL,
    place INTEGER NOT NULL
);
