"""Answers that are computed once, by explicit keys."""
