"""What a plan is asked for, and the workshop it is made for."""
