"""Tests: one folder a room, `house` for the rules of the house, `published` for printed figures."""
