"""How a part can be made, one file a route: measures become operations with draws, never a price."""
