"""A drawn building with a hidden truth, instruments that err, a clock, and the way it is done without a program.

It shares no number, no noise, no prior and no cost with the engine under test: `numbers.csv` here is its own table, and every
figure in it is assumed. Left out: obstacles, rooms and doors, two people, contact faults of one remote that persist, hidden
splices, resistor marks.
"""
