"""Boards into rows and packs into tiers, for drying.load."""
