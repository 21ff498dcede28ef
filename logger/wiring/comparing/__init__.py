"""Stored drives compared: what of each is gathered, by more than one process where there are many."""
