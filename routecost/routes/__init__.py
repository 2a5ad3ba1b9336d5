"""How a part can be made, one file a route. A route turns measures into operations with draws; it never sees a price."""
