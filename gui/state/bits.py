"""The shop's bits for the window: what the file holds, in the order of size, and how it is changed."""

from __future__ import annotations

from functools import partial
from typing import NamedTuple

from gui.state.shop import ShopFile
from layoutkit.job.shop import load_shop, with_bit, without_bit
from layoutkit.units import MM_PER_INCH

HOW = (
    "The sizes that the shop owns, as it writes them: 31/32, 18.5 mm or 0.75. A change is written to the "
    "shop's file at once."
)
HEADINGS = ("Bit", "inches", "mm")


class BitRow(NamedTuple):
    """A bit as the shop writes it, and its size in inches and in millimetres."""

    name: str
    inches: str
    millimetres: str


def rows(file: ShopFile) -> tuple[BitRow, ...]:
    """The bits that the file holds now, the smallest first; InputError where it cannot be used."""
    shop = load_shop(file.path)
    owned = () if shop is None else shop.owned
    return tuple(
        BitRow(
            bit.name,
            f"{bit.size:.4f}",
            f"{bit.size * MM_PER_INCH:.2f}",
        )
        for bit in sorted(owned, key=lambda bit: bit.size)
    )


def add(file: ShopFile, text: str) -> str:
    """Keep one more bit, and return its name; InputError, nothing written, where that cannot be."""
    file.keep(lambda shop: with_bit(shop, text))
    return text.strip()


def remove(file: ShopFile, name: str) -> None:
    """Keep the bits without this one; InputError, nothing written, where that cannot be."""
    file.keep(partial(without_bit, name=name))
