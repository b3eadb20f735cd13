"""GUESS: what a veteran would notice in this record, worst first, with the remedy."""
