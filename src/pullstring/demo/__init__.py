"""Example properties as tables, for the demo and for tests.

Everything in them is invented: places, gear, labels and people's parts. The arrival tables hold what a
technician sees and is told on the first day, before anything was traced or metered; the walk holds bare readings;
then follow the house after the first visit and after the second. The second property is small enough that every
answer can be checked in the head. `ORIGIN.md` says what stands for what.
"""

ARRIVAL = ("three_lamps", "1_arrival")
"""Folder of the tables that hold what is seen on arrival."""

ARRIVAL_DAY = "2026-03-03"
"""The day on which the demo is asked."""

STAGES = (
    ("1_arrival", "2026-03-03"),
    ("2_walk", "2026-03-04"),
    ("3_after_visit1", "2026-03-05"),
    ("4_after_visit2", "2027-09-30"),
)
"""Folders of `three_lamps` in the order in which they are imported, each with the day on which it is asked."""
