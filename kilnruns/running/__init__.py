"""A run in hand: what has been noted and measured of it, what is to be done next and when, and what to watch.

The door for views: `read` and `read_all` (with a fixed number of queries), `next_thing`, `watches`.
"""

from kilnruns.running.inhand import Air, RunInHand, Series, read, read_all
from kilnruns.running.nextthing import next_thing
from kilnruns.running.outdoors import outside_c
from kilnruns.running.thing import NextThing
from kilnruns.running.watching import RunWatch, watches

__all__ = [
    "Air",
    "NextThing",
    "RunInHand",
    "RunWatch",
    "Series",
    "next_thing",
    "outside_c",
    "read",
    "read_all",
    "watches",
]
