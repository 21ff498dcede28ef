"""JSON that keeps said digits, held against Python's own reader."""

from __future__ import annotations

import json
import math
from decimal import Decimal

from logger.core.json_text import json_text


def test_it_is_json() -> None:
    """Objects, arrays, texts with quotes and control characters, numbers, nothing."""
    value = {"a": [1, 2.5, True, None], "b\n": 'x"\u2028<', "c": {}, "d": ()}

    assert {"a": [1, 2.5, True, None], "b\n": 'x"\u2028<', "c": {}, "d": []} == json.loads(json_text(value))


def test_digits_stay() -> None:
    """63.0 is not 63, and what JSON has no number for is null."""
    assert "[63.0, 0.10, null, null]" == json_text([Decimal("63.0"), Decimal("0.10"), math.nan, math.inf])
