"""Random properties written as tables, and a plain forward simulation of them, made without a look at the program."""
