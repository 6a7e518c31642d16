"""Sizes into bins: rules, patterns, bounds, and the solver they share."""
