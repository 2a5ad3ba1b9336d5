"""Comparison with other plans: baseline, Pareto frontiers, simulation, and why a request is infeasible."""
