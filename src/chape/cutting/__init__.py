"""Programs for the cutters, and their proof from their own text."""
