"""Rays over a lattice or a grid: where they meet the surface of a mesh."""
