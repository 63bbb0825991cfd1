"""A cylinder's water volume, and where it comes from."""

from __future__ import annotations

from tankbook.gas import BAR_REFERENCE, PSI_REFERENCE, GasLaw, Reference, water_volume_from_rated
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.kinds import RatedBasis
from tankbook.records.words import Shore
from tankbook.rules.answers import WaterVolume


def reference_of(book: Book) -> Reference:
    """The condition free gas is counted at: 1 atm, and 70 degF for psi or 20 degC for bar."""
    return PSI_REFERENCE if book.settings.units is Shore.PSI else BAR_REFERENCE


def water_volume_of(book: Book, cylinder: Cylinder) -> WaterVolume | None:
    """The water volume: as given, else by trade size, else worked out from a rated capacity.

    None where the record gives none of them, or a size word that no table knows.
    """
    if cylinder.water_volume:
        return WaterVolume(cylinder.water_volume, "as recorded")
    if cylinder.size:
        return volume_of_size(book, cylinder.size)
    if cylinder.rated:
        rated = cylinder.rated
        basis = GasLaw.REAL if rated.basis is RatedBasis.REAL else GasLaw.IDEAL
        reference = reference_of(book)
        volume = water_volume_from_rated(
            rated.free_gas, rated.pressure, reference.temperature, basis, reference
        )
        return WaterVolume(
            volume, f"worked out from {rated.free_gas} at {rated.pressure}, {rated.basis} gas"
        )
    return None


def volume_of_size(book: Book, size: str) -> WaterVolume | None:
    """The nominal water volume of a trade size, the shop's own word first."""
    if size in book.settings.sizes:
        return WaterVolume(book.settings.sizes[size], f"the shop's size {size}")
    known = book.sizes.get(size)
    if known is None:
        return None
    return WaterVolume(
        known.water_volume, f"nominal for trade size {size} ({known.verified}: {known.citation})"
    )


def known_sizes(book: Book) -> frozenset[str]:
    """Every trade size that a table or the settings give a volume for."""
    return frozenset((*book.sizes, *book.settings.sizes))


def size_word(book: Book, cylinder: Cylinder) -> str:
    """How a cylinder's size is named: its trade size, else its water volume."""
    if cylinder.size:
        return cylinder.size
    volume = water_volume_of(book, cylinder)
    return volume.volume.format("L", 1) if volume else "size not recorded"


def size_of(book: Book, id_: str) -> str:
    """How the size of a cylinder or set is named: `al80`, `doubles hp100`."""
    if id_ in book.sets:
        sides = book.sides(id_)
        return f"doubles {size_word(book, sides[0])}" if sides else "doubles"
    return size_word(book, book.cylinders[id_])
