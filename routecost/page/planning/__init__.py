"""The pages about the plan of the whole bill."""
