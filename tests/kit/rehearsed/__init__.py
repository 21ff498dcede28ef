"""Drives that were simulated, spoken by synthetic voices in cabin noise, and heard by the real recognisers."""
