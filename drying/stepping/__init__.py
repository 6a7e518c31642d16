"""The arithmetic of an implicit step, on plain arrays, for drying.diffusion."""
