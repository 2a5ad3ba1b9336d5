"""What quotes and the log of what really happened teach the tables. Nothing changes but by dated rows."""
