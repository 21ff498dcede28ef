"""Several drives beside each other: what of each is compared, and what makes them not comparable. Pure; docs/compare.md has the bounds."""
