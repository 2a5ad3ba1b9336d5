"""Steps that routes share: finishing, joining, running machines, verdicts."""
