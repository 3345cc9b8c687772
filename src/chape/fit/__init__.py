"""How the knife sits in the sheath: pull and push, clearance, play, the share that passes."""
