"""Geometry on triangle meshes: arrays in, arrays out; no part, no process, no price."""
