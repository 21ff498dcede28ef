"""Receivers that report where the car is while it drives: the real gpsd, by its published JSON protocol."""
