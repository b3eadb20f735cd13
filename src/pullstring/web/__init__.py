"""DOOR: a small server that shows one site, read-only, on this machine only."""
