"""Offline synthesisers that are installed on this machine, run as commands."""
