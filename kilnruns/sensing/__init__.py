"""What sensors send: read without trust, and looked up again."""
