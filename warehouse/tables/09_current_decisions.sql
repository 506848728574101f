-- relation: ledger.current_decisions
-- comment: The latest decision about each session that has one.
-- grain: a session
-- columns:
--   excluded: Whether the session is left out of the fits
--   why: The user's reason
--   decided_at: When it was decided [UTC]
CREATE TABLE IF NOT EXISTS ledger.current_decisions (
    session_id VARCHAR NOT NULL,
    excluded BOOLEAN NOT NULL,
    why VARCHAR NOT NULL,
    decided_at TIMESTAMP NOT NULL
);
