"""What a terminal shows."""
