"""Form fields of both apps: numbers as people type them, several in one field, a tag's code."""
