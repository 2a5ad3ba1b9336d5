"""What other programs read."""
