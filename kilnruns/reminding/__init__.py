"""What is due and when, as Today reckons it: told as data, and drawn as a calendar."""
