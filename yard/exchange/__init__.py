"""Sheets out of the yard and into it: columns, files, and what each row of a file would do."""
