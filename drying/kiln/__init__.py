"""The chamber and its air, and runs followed in it, for drying.heat."""
