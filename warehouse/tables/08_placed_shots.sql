-- relation: ledger.placed_shots
-- comment: Shots whose player, time, session or number in it follows from other exports.
-- grain: a shot
CREATE TABLE IF NOT EXISTS ledger.placed_shots (
    shot_id VARCHAR NOT NULL,
    player VARCHAR NOT NULL,
    struck_at TIMESTAMP,
    session_id VARCHAR NOT NULL,
    shot_number INTEGER NOT NULL
);
