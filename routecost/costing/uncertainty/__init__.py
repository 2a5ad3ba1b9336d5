"""How sure: low, likely and high as sampled worlds."""
