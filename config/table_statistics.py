"""How large tables are, for the database's query planner: without it a large yard's pages read whole tables."""

from datetime import datetime

from django.db import connection

ROWS = 1000  # looked at of each index, as SQLite's page on ANALYZE has it (100 to 1000): so it takes milliseconds


def analyse(*, at: datetime) -> None:
    """Look at SQLite's tables; PostgreSQL's autovacuum does so by itself.

    Not by PRAGMA optimize, which before SQLite 3.46 leaves out what its own connection has not read: the worker's reads
    no lists. Other connections know of it when they are opened next, which each does within a minute.
    """
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA analysis_limit={ROWS}")
        cursor.execute("ANALYZE")
