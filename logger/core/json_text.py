"""Records as JSON text (RFC 8259) in which a said value keeps its digits. Pure."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from decimal import Decimal

from logger.core.table import plain


def json_text(value: object) -> str:
    """Write JSON by hand: the json module would turn a said 63.0 into a float, and writes NaN, which is no JSON."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{json.dumps(key)}: {json_text(each)}" for key, each in value.items()) + "}"
    if isinstance(value, Decimal):
        return plain(value)
    if isinstance(value, float) and not math.isfinite(value):
        return "null"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(json_text(each) for each in value) + "]"
    return json.dumps(value)
