-- relation: ledger.batches
-- comment: Loads, as the lake's markers state them.
-- grain: a load
-- columns:
--   batch: Number of the load, in order
--   loaded_at: When it was committed to the lake [UTC]
CREATE TABLE IF NOT EXISTS ledger.batches (
    batch INTEGER PRIMARY KEY,
    loaded_at TIMESTAMP NOT NULL
);
