"""What a drive comes to: pure functions from what was read off and where the car was to figures with their uncertainty.

`observed` says what they start from, `figures` what each of them gives; `whole` calls them all. docs/method.md has every formula.
"""
