"""The words for gases that people write: `air`, `oxygen`, `nitrox32`, `trimix18/45`, `heliox21`."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Self, cast

from msgspec import Struct

from tankbook.gas.errors import GasError
from tankbook.gas.mixture import AIR, Mixture, nitrox, trimix
from tankbook.units import quoted
from tankbook.units.patterns import pattern

PERCENT = r"([0-9]{1,3}(?:\.[0-9]{1,2})?)"
NITROX = pattern(rf"(?:nitrox|eanx?){PERCENT}", re.IGNORECASE)
TRIMIX = pattern(rf"trimix{PERCENT}/{PERCENT}", re.IGNORECASE)
HELIOX = pattern(rf"heliox{PERCENT}", re.IGNORECASE)
MEND = "write air, oxygen, helium, nitrox32, trimix18/45 (oxygen/helium) or heliox21"


def analysed_said(oxygen: float, helium: float | None = None) -> str:
    """What a gas was analysed at [%], as every answer and paper says it, with its helium.

    >>> analysed_said(32.1), analysed_said(18.1, 44.8)
    ('32.1 % oxygen', '18.1 % oxygen, 44.8 % helium')
    """
    return f"{oxygen:g} % oxygen{f', {helium:g} % helium' if helium is not None else ''}"


class Gas(Struct, frozen=True):
    """A gas by the word for it, and the mixture the word means.

    The numbers in the word are mole percents: `nitrox32.4` is 32.4 % oxygen, `trimix18/45` is
    18 % oxygen and 45 % helium. What is not named is nitrogen and argon as in air; in heliox the
    rest is helium.
    """

    word: str
    mixture: Mixture

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a gas word, in capitals or not; `EAN32` and `EANx32` are twins of `nitrox32`.

        Raises `GasError`, and nothing else, for any text.

        >>> Gas.parse("EANx32").word
        'nitrox32'
        >>> Gas.parse("Trimix18/45").mixture.helium
        0.45
        """
        return cast(Self, _parse(text))

    @classmethod
    def of(cls, oxygen_percent: float, helium_percent: float = 0.0) -> Self:
        """The gas of an analysis, under its plainest word, to a hundredth of a percent.

        21 % oxygen is `nitrox21`: an analyser cannot tell air from nitrox, so it is not called
        air. Raises `GasError`.

        >>> Gas.of(21).word, Gas.of(18, 45).word, Gas.of(100).word, Gas.of(0, 100).word
        ('nitrox21', 'trimix18/45', 'oxygen', 'helium')
        """
        oxygen, helium = _plain(oxygen_percent), _plain(helium_percent)
        if helium == "0":
            return cls.parse("oxygen" if oxygen == "100" else f"nitrox{oxygen}")
        if float(oxygen) + float(helium) == 100:
            return cls.parse("helium" if oxygen == "0" else f"heliox{oxygen}")
        return cls.parse(f"trimix{oxygen}/{helium}")

    @property
    def is_air(self) -> bool:
        """True for the word `air` alone."""
        return self.word == "air"

    @property
    def oxygen_percent(self) -> float:
        """Oxygen in mole percent, 0 to 100."""
        return round(100 * self.mixture.oxygen, 9)

    @property
    def helium_percent(self) -> float:
        """Helium in mole percent, 0 to 100."""
        return round(100 * self.mixture.helium, 9)

    @property
    def validated(self) -> bool:
        """Whether the gas model has been checked for it. False when it holds helium."""
        return self.mixture.validated

    def __str__(self) -> str:
        return self.word


@lru_cache(maxsize=1024)
def _parse(text: str) -> Gas:
    word = text.lower()
    if word == "air":
        return Gas(word, AIR)
    if word == "oxygen":
        return Gas(word, nitrox(1.0))
    if word == "helium":
        return Gas(word, trimix(0.0, 1.0))
    if read := NITROX.fullmatch(text):
        return _nitrox(read[1])
    if read := HELIOX.fullmatch(text):
        return _heliox(read[1])
    if read := TRIMIX.fullmatch(text):
        return _trimix(read[1], read[2])
    raise GasError(f"{quoted(text)} is not a gas" if text.strip() else "the gas is missing", MEND)


def _nitrox(oxygen: str) -> Gas:
    _within(0 < float(oxygen) < 100, "nitrox", oxygen, "pure oxygen is written oxygen")
    return Gas(f"nitrox{_plain(oxygen)}", nitrox(float(oxygen) / 100))


def _heliox(oxygen: str) -> Gas:
    _within(0 < float(oxygen) < 100, "heliox", oxygen, "pure oxygen is written oxygen")
    return Gas(f"heliox{_plain(oxygen)}", trimix(float(oxygen) / 100, 1 - float(oxygen) / 100))


def _trimix(oxygen: str, helium: str) -> Gas:
    o2, he = float(oxygen), float(helium)
    _within(0 < o2 < 100, "trimix", f"{oxygen}/{helium}", "oxygen comes first, as in trimix18/45")
    _within(he > 0, "trimix", f"{oxygen}/{helium}", f"without helium it is nitrox{_plain(oxygen)}")
    rest = round(100 - o2 - he, 9)
    _within(rest >= 0, "trimix", f"{oxygen}/{helium}", "oxygen and helium come to over 100 %")
    _within(rest != 0, "trimix", f"{oxygen}/{helium}", f"it is written heliox{_plain(oxygen)}")
    return Gas(f"trimix{_plain(oxygen)}/{_plain(helium)}", trimix(o2 / 100, he / 100))


def _within(good: bool, name: str, numbers: str, mend: str) -> None:
    if not good:
        raise GasError(f"{name}{numbers} is no such mixture", mend)


def _plain(percent: str | float) -> str:
    """A percent to a hundredth without idle zeros: `32`, `32.4`."""
    return f"{float(percent):.2f}".rstrip("0").rstrip(".")


AIR_GAS = Gas("air", AIR)
"""Air, by its word."""
