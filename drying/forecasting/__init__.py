"""From readings to the way ahead, one step a file, for drying.forecast."""
