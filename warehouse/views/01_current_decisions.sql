-- relation: ledger.current_decisions
-- comment: The latest decision about each session that has one.
-- grain: a session
-- columns:
--   excluded: Whether the session is left out of the fits
--   why: The user's reason
--   decided_at: When it was decided [UTC]
CREATE OR REPLACE VIEW ledger.current_decisions AS
SELECT
    session_id,
    arg_max(excluded, decision) AS excluded,
    arg_max(why, decision) AS why,
    max(decided_at) AS decided_at
FROM ledger.decisions
GROUP BY session_id;
