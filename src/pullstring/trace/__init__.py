"""GUESS: which cable end belongs to which outlet, how sure that is, why, and what to try next."""
