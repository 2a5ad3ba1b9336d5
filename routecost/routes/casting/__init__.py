"""Masters, silicone molds, pulls, and shells filled with resin."""
