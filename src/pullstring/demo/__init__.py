"""Example properties as tables, for the demo and for tests.

Everything in them is invented: places, gear, labels and people's parts. The arrival tables hold what a
technician sees and is told on the first day, before anything was traced or metered. The second property is
small enough that every answer can be checked in the head. `ORIGIN.md` says what stands for what.
"""

ARRIVAL = ("three_lamps", "1_arrival")
"""Folder of the tables that hold what is seen on arrival."""

ARRIVAL_DAY = "2026-03-03"
"""The day on which the demo is asked."""
