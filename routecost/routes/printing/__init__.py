"""What a print takes: poses, pieces, plates, path times, steps."""
