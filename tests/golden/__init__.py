"""Stored numbers of measures and plans, which tell whether a computation changed while its version did not.

`python -m tests.golden` computes and stores them anew.
"""
