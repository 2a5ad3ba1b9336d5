"""Prices, rates and copies that move: what changed, and where a decision flips."""
