"""Plans that are under way: what is done, what is left, what has moved since."""
