"""Everything a person opens: pages, drawings, meshes, pictures."""
