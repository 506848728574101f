"""The order of the steps: the ledger, the flow and its engine, fitting after a load."""
