"""The main path: read, measure, plan the routes, price, rank."""
