"""Sums of money: exact decimals with their currency."""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache
from typing import Self, cast

from msgspec import Struct

from tankbook.units.errors import UnitError, quoted
from tankbook.units.patterns import pattern

WRITTEN = pattern(r"([0-9]{1,15}(?:\.[0-9]{1,4})?)(?: ?([A-Z]{3}))?")
CURRENCY = pattern(r"[A-Z]{3}")
MEND = "write a plain number and a currency of three capitals, as in 18.50 USD"


class Money(Struct, frozen=True):
    """An amount, zero or more, below a million million and with at most four decimals, in a
    currency named by three capital letters (ISO 4217 form): `18.50 USD`.

    Amounts in one currency add, compare and multiply by a count; two currencies raise
    `TypeError`.
    """

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        if not CURRENCY.fullmatch(self.currency):
            raise UnitError(f"{quoted(self.currency)} is no currency", MEND)
        if not self.amount.is_finite() or not WRITTEN.fullmatch(format(self.amount, "f")):
            raise UnitError(f"{quoted(str(self.amount))} is no sum of money", MEND)

    @classmethod
    def of(cls, amount: Decimal | int | float | str, currency: str) -> Self:
        """`amount` of `currency`; a float is taken at its shortest decimal. Raises `UnitError`."""
        try:
            exact = amount if isinstance(amount, Decimal) else Decimal(str(amount))
        except ArithmeticError as error:
            raise UnitError(f"{quoted(str(amount))} is no sum of money", MEND) from error
        return cls(exact, currency)

    @classmethod
    def parse(cls, text: str, default_unit: str | None = None) -> Self:
        """Read `18.50 USD`; a bare number is in the currency `default_unit` when one is given.

        Raises `UnitError`, and nothing else, for any text.
        """
        return cast(Self, _parse(text, default_unit))

    def _amount_of(self, other: Money) -> Decimal:
        if self.currency != other.currency:
            raise TypeError(f"{self} and {other} are in two currencies")
        return other.amount

    def __add__(self, other: Money) -> Money:
        return Money(self.amount + self._amount_of(other), self.currency)

    def __mul__(self, count: int | Decimal) -> Money:
        return Money(self.amount * count, self.currency)

    __rmul__ = __mul__

    def __lt__(self, other: Money) -> bool:
        return self.amount < self._amount_of(other)

    def __le__(self, other: Money) -> bool:
        return self.amount <= self._amount_of(other)

    def __gt__(self, other: Money) -> bool:
        return self.amount > self._amount_of(other)

    def __ge__(self, other: Money) -> bool:
        return self.amount >= self._amount_of(other)

    def __str__(self) -> str:
        return f"{self.amount:f} {self.currency}"


@lru_cache(maxsize=1024)
def _parse(text: str, default_unit: str | None) -> Money:
    written = WRITTEN.fullmatch(text)
    if written is None:
        raise UnitError(f"{quoted(text)} is no sum of money", MEND)
    amount, currency = written[1], written[2] or default_unit
    if currency is None:
        raise UnitError(f"{quoted(text)} is a bare number; a sum of money carries its unit", MEND)
    return Money(Decimal(amount), currency)
