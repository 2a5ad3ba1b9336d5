"""Answers that are computed once, stored under explicit keys."""
