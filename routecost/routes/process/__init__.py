"""What a route is asked and what it answers: parts and process plans."""
