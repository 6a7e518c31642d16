"""The yard without reception: the copy that a phone keeps, and the pages drawn from it."""
