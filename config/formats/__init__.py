"""How a language writes days, where it differs from the formats in the sources: Django looks here first for each."""
