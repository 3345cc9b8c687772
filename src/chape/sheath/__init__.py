"""A sheath, from a knife and the maker's choices."""
