"""routecost: how to make each part of a one-off build, what it costs, and what to buy."""
