"""The bench: the local page on which knives and sheaths are made by eye."""
