"""Text files that other programs open: CSV and iCalendar."""
