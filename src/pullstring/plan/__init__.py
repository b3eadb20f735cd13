"""CHOICE: what to ask, photograph, convert, carry and do, from what is known so far."""
