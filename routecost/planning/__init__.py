"""The whole bill at once: what to buy, in which packs."""
