"""The computing core: how wood dries and how a kiln is filled. No Django, no clock; usable from a notebook."""
