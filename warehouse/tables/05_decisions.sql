-- relation: ledger.decisions
-- comment: The user's decisions to leave a session out of the fits or take it back.
-- grain: a decision
-- columns:
--   decision: Number of the decision, in order
--   excluded: Whether the session is left out from then on
--   why: The user's reason
--   decided_at: When it was decided [UTC]
CREATE TABLE IF NOT EXISTS ledger.decisions (
    decision INTEGER PRIMARY KEY,
    session_id VARCHAR NOT NULL,
    excluded BOOLEAN NOT NULL,
    why VARCHAR NOT NULL,
    decided_at TIMESTAMP NOT NULL
);
