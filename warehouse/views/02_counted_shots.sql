-- relation: ledger.counted_shots
-- comment: Accepted shots, each once: without those that a newer export gives again or whose
--   export was taken out, with the player, time and session that follow from all exports.
-- grain: a shot
CREATE OR REPLACE VIEW ledger.counted_shots AS
SELECT s.* REPLACE (
    coalesce(p.player, s.player) AS player,
    CASE WHEN p.shot_id IS NULL THEN s.struck_at ELSE p.struck_at END AS struck_at,
    coalesce(p.session_id, s.session_id) AS session_id,
    coalesce(p.shot_number, s.shot_number) AS shot_number
)
FROM ledger.shots AS s
ANTI JOIN ledger.replaced_shots AS r ON r.shot_id = s.shot_id
LEFT JOIN ledger.placed_shots AS p ON p.shot_id = s.shot_id;
