"""Quantities times prices, and all that follows from cost being linear in prices."""
