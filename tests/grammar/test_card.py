"""The card teaches only what is understood."""

from __future__ import annotations

import pytest

from grammar import Language, Phrasebook, Quantity, card, default_quantities
from grammar.card import example_of

BOOKS = {system: Phrasebook(default_quantities(system)) for system in ("miles", "metric")}


@pytest.mark.parametrize("system", BOOKS)
def test_each_example_means_its_quantity(system: str) -> None:
    """What the card says to say is heard as what it says it is."""
    book = BOOKS[system]
    language = Language(book)
    for quantity in book.quantities:
        assert isinstance(quantity, Quantity)
        meanings = language.meanings(f"checkpoint {example_of(quantity)}")
        assert {quantity.name} == {m.readings[0].quantity for m in meanings if len(m.readings) == 1}
        assert example_of(quantity) in card(book)
