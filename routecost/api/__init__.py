"""Calls over a whole build that `import routecost` offers."""
