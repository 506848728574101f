-- relation: ledger.counted_shots
-- comment: Accepted shots, each once: without those that a later export gives again.
-- grain: a shot
CREATE OR REPLACE VIEW ledger.counted_shots AS
SELECT s.*
FROM ledger.shots AS s
ANTI JOIN ledger.replaced_shots AS r ON r.shot_id = s.shot_id;
