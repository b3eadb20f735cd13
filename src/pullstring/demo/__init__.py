"""Example properties as tables, for the demo and for tests.

Everything in them is invented: places, gear, labels and people's parts. The arrival tables hold what a
technician sees and is told on the first day, before anything was traced or metered. The second property is
small enough that every answer can be checked in the head. `ORIGIN.md` says what stands for what.
"""
