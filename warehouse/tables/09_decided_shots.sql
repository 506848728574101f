-- relation: ledger.decided_shots
-- comment: The shots that each decision about a session is about.
-- grain: a decision and a shot
-- columns:
--   decision: Number of the decision
CREATE TABLE IF NOT EXISTS ledger.decided_shots (
    decision INTEGER NOT NULL,
    shot_id VARCHAR NOT NULL
);
