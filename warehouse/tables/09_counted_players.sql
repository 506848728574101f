-- relation: ledger.counted_players
-- comment: What each player's fits are to be made from.
-- grain: a player
-- columns:
--   batch: Newest load among the shots that count
--   shots: Shots that count
--   fingerprint: Checksum of these shots and of what was decided about their sessions
CREATE TABLE IF NOT EXISTS ledger.counted_players (
    player VARCHAR NOT NULL,
    batch INTEGER NOT NULL,
    shots BIGINT NOT NULL,
    fingerprint UBIGINT NOT NULL
);
