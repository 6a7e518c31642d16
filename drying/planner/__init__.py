"""How drying.plan finds its charges, one step a file."""
