"""pullstring: a dated record of a property's wiring, and what follows from it."""

__version__ = "0.1.0"
