"""One option for each part, jointly the best: a mixed-integer program with a proven gap."""
