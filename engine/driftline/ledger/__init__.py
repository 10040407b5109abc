"""The ledger room."""
