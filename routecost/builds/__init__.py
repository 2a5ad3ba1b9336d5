"""The user's folder: its settings, parts table, stock and quotes."""
