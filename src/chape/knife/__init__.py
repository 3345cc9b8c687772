"""A knife, from the measurements a maker has."""
