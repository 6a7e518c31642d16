"""Backups: one file with all rows and photos, made while the yard is in use, for SQLite and PostgreSQL alike."""
