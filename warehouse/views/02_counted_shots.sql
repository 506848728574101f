-- relation: ledger.counted_shots
-- comment: Accepted shots, each once: without those that a newer export gives again or whose
--   export was taken out, with the player, time and session that follow from all exports.
-- grain: a shot
CREATE OR REPLACE VIEW ledger.counted_shots AS
-- In two parts, so that who asks for one player's shots has each table filtered as it is read; a
-- player chosen of two columns would be known only after all shots were joined.
SELECT s.*
FROM ledger.shots AS s
ANTI JOIN ledger.replaced_shots AS r ON r.shot_id = s.shot_id
ANTI JOIN ledger.placed_shots AS p ON p.shot_id = s.shot_id
UNION ALL
SELECT s.* REPLACE (
    p.player AS player, p.struck_at AS struck_at, p.session_id AS session_id,
    p.shot_number AS shot_number
)
FROM ledger.placed_shots AS p
INNER JOIN ledger.shots AS s ON s.shot_id = p.shot_id
ANTI JOIN ledger.replaced_shots AS r ON r.shot_id = p.shot_id;
