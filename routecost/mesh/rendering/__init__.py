"""Pictures of parts, without a display."""
