-- relation: ledger.decisions
-- comment: The user's decisions: sessions and exports left out or taken back, exports preferred,
--   players renamed, sessions moved to another player or merged.
-- grain: a decision
-- columns:
--   decision: Number of the decision, in order
--   kind: session, export, prefer, rename, move or merge
--   session_id: Session that was decided on, as it was called then; NULL for the other kinds
--   excluded: Whether the session or export is left out from then on; NULL for the other kinds
--   why: The user's reason
--   decided_at: When it was decided [UTC]
--   details: The decision as it stands in the lake, as JSON
CREATE TABLE IF NOT EXISTS ledger.decisions (
    decision INTEGER PRIMARY KEY,
    kind VARCHAR NOT NULL,
    session_id VARCHAR,
    excluded BOOLEAN,
    why VARCHAR NOT NULL,
    decided_at TIMESTAMP NOT NULL,
    details VARCHAR NOT NULL
);
