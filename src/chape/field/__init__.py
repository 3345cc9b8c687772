"""Height fields and outlines; nothing here knows about knives."""
