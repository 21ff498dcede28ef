"""Two sequences laid beside each other in order, as cheaply as possible. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

Ours = TypeVar("Ours")
Theirs = TypeVar("Theirs")


def aligned(
    ours: Sequence[Ours],
    theirs: Sequence[Theirs],
    difference: Callable[[Ours, Theirs], float],
    left_out: float,
) -> list[int | None]:
    """Return for each of ours which of theirs stands beside it, None for none.

    The edit distance by dynamic programming (Wagner and Fischer, Journal of the ACM 21(1), 1974; cited from memory).

    Args:
        ours: what each gets its neighbour of.
        theirs: what is laid beside them.
        difference: what it costs to lay one of ours beside one of theirs.
        left_out: what it costs that one stands alone.
    """
    rows, columns = len(ours), len(theirs)
    beside: list[int | None] = [None] * rows
    # What is alike at the end belongs together: no other way is cheaper, and of equal ones this is taken.
    while rows and columns and not difference(ours[rows - 1], theirs[columns - 1]):
        rows, columns = rows - 1, columns - 1
        beside[rows] = columns
    cost = [[left_out * (i + j) for j in range(columns + 1)] for i in range(rows + 1)]
    for i in range(1, rows + 1):
        for j in range(1, columns + 1):
            cost[i][j] = min(
                cost[i - 1][j - 1] + difference(ours[i - 1], theirs[j - 1]),
                cost[i - 1][j] + left_out,
                cost[i][j - 1] + left_out,
            )
    i, j = rows, columns
    while i and j:
        if cost[i][j] == cost[i - 1][j - 1] + difference(ours[i - 1], theirs[j - 1]):
            i, j = i - 1, j - 1
            beside[i] = j
        elif cost[i][j] == cost[i - 1][j] + left_out:
            i -= 1
        else:
            j -= 1
    return beside
