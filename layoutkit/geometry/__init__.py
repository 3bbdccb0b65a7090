"""Numbers in, numbers out: vectors, the sphere, roots, and what solids have in common."""
