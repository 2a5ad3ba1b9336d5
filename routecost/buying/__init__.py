"""What options take and what that comes to: packs, orders, the buy list."""
