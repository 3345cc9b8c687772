"""What a sheath is formed over, trimmed on and fitted with."""
