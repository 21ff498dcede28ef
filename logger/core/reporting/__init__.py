"""A report in words: figures rounded to what their intervals allow, tables, charts, doubts and decisions, ready to be laid out.

Nothing here computes a figure; `logger.core.results` does.
"""
