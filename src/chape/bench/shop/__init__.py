"""The shop's side of the bench: what the Day page asks and tells, by area."""
