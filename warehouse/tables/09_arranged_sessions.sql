-- relation: ledger.arranged_sessions
-- comment: Sessions that the user moved to their player from another, or merged of several visits.
-- grain: a session
-- columns:
--   moved: Whether shots of it were moved here from another player
--   parts: Of how many visits it was merged; 1 where it was not
CREATE TABLE IF NOT EXISTS ledger.arranged_sessions (
    player VARCHAR NOT NULL,
    session_id VARCHAR NOT NULL,
    moved BOOLEAN NOT NULL,
    parts BIGINT NOT NULL
);
