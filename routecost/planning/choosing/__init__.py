"""The optimal choice of one option for each part: a mixed-integer program with a proven gap."""
