"""Physics, optics and counting that routes rest on: pure functions, one concept a file, each with its source.

Nothing here knows of a table, a mesh or a price. Outside its domain a function raises ValueError.
"""
