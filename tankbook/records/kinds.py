"""The kinds of value that keys hold, each with its parser and its name on the format page."""

from __future__ import annotations

import datetime as dt
import re
from enum import StrEnum
from fractions import Fraction

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.fields import Parsed
from tankbook.units import (
    AbsolutePressure,
    Concentration,
    FreeGasFlow,
    GaugePressure,
    Length,
    Mass,
    Money,
    PartialDate,
    Percent,
    Period,
    PressureRate,
    RunningTime,
    Temperature,
    Torque,
    Volume,
    doubt_of,
)
from tankbook.units.patterns import pattern


class RatedBasis(StrEnum):
    """How a rated free-gas capacity was worked out."""

    REAL = "real"
    IDEAL = "ideal"


class Rated(Struct, frozen=True):
    """A rated capacity: this much free gas at this gauge pressure, on a stated basis."""

    free_gas: Volume
    pressure: GaugePressure
    basis: RatedBasis

    @classmethod
    def parse(cls, text: str) -> Rated:
        """Read `77.4 cuft at 3000 psi (real)`.

        Raises:
            ValueError: for any other shape; the message says what is missing.
        """
        found = re.fullmatch(r"(.+?) at (.+?)(?: \((real|ideal)\))?", text)
        if not found:
            raise ValueError(f"`{text}` is not a rated capacity")
        if not found[3]:
            raise ValueError(
                f"`{text}` does not say its basis; add (ideal) for (P + 14.7)/14.7 x V, "
                "(real) for a real-gas figure"
            )
        return cls(Volume.parse(found[1]), GaugePressure.parse(found[2]), RatedBasis(found[3]))

    def __str__(self) -> str:
        return f"{self.free_gas} at {self.pressure} ({self.basis})"


MOST_PRESSURE = GaugePressure.of(690, "bar")
"""The gas model ends at 700 bar absolute: a higher figure is a slip of the unit."""
LEAST_MARKED = GaugePressure.of(500, "psi")
"""No cylinder for breathing gas is marked with less (common practice, no source): of a table, the
unit is another."""
EMPTY = GaugePressure.of(15, "psi")
"""A gauge that shows less than this cannot tell a cylinder from an empty one (common practice, no
source)."""


def is_empty(read: GaugePressure | None) -> bool:
    """Whether somebody read a pressure, and it was of a cylinder with nothing in it."""
    return read is not None and read < EMPTY


def holds_gas(read: GaugePressure | None) -> bool:
    """Whether somebody read a pressure, and there was something in it."""
    return read is not None and read >= EMPTY


MOST_WATER = Volume.of(150, "L")
"""The most that ISO 13769 marks a cylinder with: a higher figure is a slip of the unit, or is an
amount of gas."""
LEAST_WATER = Volume.of(0.1, "L")
"""No cylinder to breathe from holds less water (common practice, no source)."""
MOST_MASS = Mass.of(150, "kg")
"""No cylinder that people carry weighs more when it is empty (own bound)."""
COLDEST, HOTTEST = Temperature.of(-45, "degC"), Temperature.of(65, "degC")
"""Outside this a cylinder is in a freezer or on fire, or the unit is wrong."""
LONGEST = Period.parse("100 years")


def _pressure(text: str) -> GaugePressure:
    return pressure_within(GaugePressure.parse(text))


def pressure_within(pressure: GaugePressure) -> GaugePressure:
    """The pressure, if the gas model reaches it.

    Raises:
        ValueError: it is higher, as a slip of the unit makes it.
    """
    if pressure > MOST_PRESSURE:
        raise ValueError(f"{pressure} is above {MOST_PRESSURE}: check the unit")
    return pressure


def _water_volume(text: str) -> Volume:
    volume = Volume.parse(text)
    if not LEAST_WATER.litres <= volume.litres <= MOST_WATER.litres:
        raise ValueError(
            f"{volume} is not between {LEAST_WATER} and {MOST_WATER}, as a cylinder holds: check "
            "the unit"
        )
    return volume


def _empty_mass(text: str) -> Mass:
    mass = Mass.parse(text)
    if mass.kg > MOST_MASS.kg:
        raise ValueError(f"{mass} is above {MOST_MASS}: check the unit")
    return mass


def _temperature(text: str) -> Temperature:
    return temperature_within(Temperature.parse(text))


def temperature_within(temperature: Temperature) -> Temperature:
    """The temperature, if a cylinder may be handled at it.

    Raises:
        ValueError: it is outside, as a slip of the unit makes it.
    """
    if not COLDEST <= temperature <= HOTTEST:
        raise ValueError(f"{temperature} is not between {COLDEST} and {HOTTEST}: check the unit")
    return temperature


def _bounded_period(text: str) -> Period:
    period = Period.parse(text)
    if not 0 < 12 * 30 * period.months + 12 * period.days <= 12 * 30 * LONGEST.months:
        raise ValueError(f"{period} is not between one day and {LONGEST}")
    return period


def _day(text: str) -> dt.date:
    try:
        if len(text) != 10:
            raise ValueError
        day = dt.date.fromisoformat(text)
    except ValueError:
        wrong = ValueError(f"`{text}` is not a calendar day")
        raise doubt_of(text, day=True) or wrong from None
    PartialDate.of(day)  # the years of a record are those of a month
    return day


def _timestamp(text: str) -> dt.datetime:
    try:
        if len(text) != 25 or text[10] != "T":
            raise ValueError
        when = dt.datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(f"`{text}` is not a local time with seconds and UTC offset") from None
    return when


def _life_end(text: str) -> PartialDate | NoEnd:
    return NoEnd.NONE if text == "none" else PartialDate.parse(text)


class Adverse(StrEnum):
    """What a later entry can answer by name."""

    HELD = "held"
    REJECTED = "rejected"
    INSPECTED = "inspected"
    REQUALIFIED = "requalified"
    DAMAGE = "damage"
    SUSPECTED_CRACK = "suspected-crack"
    HEAT = "heat"
    RETURNED = "returned"
    """That it came back, turned up or was read empty: a look of that day came after it."""


class Cleared(Struct, frozen=True):
    """An earlier entry that a later one answers: what it was, and its day or month."""

    what: Adverse
    on: PartialDate

    @classmethod
    def parse(cls, text: str) -> Cleared:
        """Read `damage 2026-02-09`.

        Raises:
            ValueError: for any other shape.
        """
        word, _, day = text.partition(" ")
        if word not in set(Adverse) or not day:
            known = ", ".join(Adverse)
            raise ValueError(f"`{text}` names no entry: write one of {known}, then its day")
        return cls(Adverse(word), PartialDate.parse(day.strip()))

    def __str__(self) -> str:
        return f"{self.what} {self.on}"


def _time_of_day(text: str) -> dt.time:
    try:
        if len(text) != 5:
            raise ValueError
        return dt.time.fromisoformat(text)
    except ValueError:
        raise ValueError(f"`{text}` is not a time of day") from None


class NoDisc(StrEnum):
    """A valve that has no burst disc."""

    NONE = "none"


def _disc(text: str) -> GaugePressure | NoDisc:
    return NoDisc.NONE if text == "none" else _pressure(text)


class NoEnd(StrEnum):
    """A permit that states that there is no end of service life, a bank that has no period."""

    NONE = "none"


class FromRecord(StrEnum):
    """A period that the cylinder's own permit states."""

    FROM_RECORD = "from-record"


def _period(text: str) -> Period | FromRecord:
    return FromRecord.FROM_RECORD if text == FromRecord.FROM_RECORD else _bounded_period(text)


def _period_or_none(text: str) -> Period | NoEnd:
    return NoEnd.NONE if text == "none" else _bounded_period(text)


def _ratio(text: str) -> Fraction:
    if not re.fullmatch(r"\d{1,3}/\d{1,3}", text) or text.endswith("/0"):
        raise ValueError(f"`{text}` is not a ratio")
    return Fraction(text)


_DIGEST = pattern(r"[0-9a-f]{64}")


def _digest(text: str) -> str:
    if not _DIGEST.fullmatch(text):
        raise ValueError(f"`{text}` is no SHA-256: 64 digits and letters from a to f")
    return text


_ID = pattern(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")


def _id(text: str) -> str:
    if not _ID.fullmatch(text) or ".." in text:
        raise ValueError(f"`{text}` is not an id: letters, digits, `-`, `_`, `.`, at most 64")
    return text


_DEVICES = {"con", "prn", "aux", "nul", *(f"{p}{n}" for p in ("com", "lpt") for n in range(10))}


def is_safe_id(text: str) -> bool:
    """Whether an id may name a file on every system.

    Up to 64 letters, digits, `.`, `_` and `-`, beginning with a letter or digit; neither `..` in it
    nor a dot at its end; not a device name of Windows.
    """
    return not why_unsafe(text)


def why_unsafe(text: str) -> str:
    """Why an id may not name a file on every system, or an empty text."""
    try:
        _id(text)
    except ValueError as error:
        return str(error)
    if text.endswith("."):
        return f"`{text}` is not an id: it ends in a dot"
    if text.partition(".")[0].casefold() in _DEVICES:
        return f"`{text}` is not an id: Windows keeps this name for a device"
    return ""


_WEB = pattern(
    r"https?://[A-Za-z0-9](?:[A-Za-z0-9-]*[A-Za-z0-9])?(?:\.[A-Za-z0-9](?:[A-Za-z0-9-]*[A-Za-z0-9])?)*"
    r"(?::[0-9]{1,5})?(?:/[A-Za-z0-9_~-][A-Za-z0-9._~-]*)*/?"
)
_LONGEST_WEB = 100


def _web(text: str) -> str:
    """An address without user, question or fragment: what a telephone opens is what is read."""
    if len(text) > _LONGEST_WEB or not _WEB.fullmatch(text):
        raise ValueError(
            f"{text!a} is no address of a folder: http or https, a host, and names of plain "
            f"letters, digits, `.`, `-`, `_` and `~`, at most {_LONGEST_WEB} characters"
        )
    return text.rstrip("/")


DIGEST = Parsed("a SHA-256 in hexadecimal", _digest)
PRESSURE = Parsed("a gauge pressure, such as `3000 psi` or `207 bar`", _pressure)
WEB = Parsed("an address, such as `https://tanks.example.org/pages`", _web)
PARTIAL = Parsed("an absolute pressure, such as `1.4 bar abs` or `1.4 ata`", AbsolutePressure.parse)
WATER_VOLUME = Parsed("a volume, such as `11.1 L` or `678 cuin`", _water_volume)
EMPTY_MASS = Parsed("a mass, such as `14.2 kg`", _empty_mass)
VOLUME = Parsed("a volume, such as `11.1 L` or `678 cuin`", Volume.parse)
MASS = Parsed("a mass, such as `14.2 kg`", Mass.parse)
LENGTH = Parsed("a length, such as `184 mm` or `7.25 in`", Length.parse)
TEMPERATURE = Parsed("a temperature, such as `70 degF` or `15 degC`", _temperature)
PERCENT = Parsed("a percentage, such as `32.4 %`", Percent.parse)
MONEY = Parsed("a price, such as `18.50 USD`", Money.parse)
TORQUE = Parsed("a torque, such as `60 N m`", Torque.parse)
CONCENTRATION = Parsed(
    "a concentration, such as `3 ppm`, `0.2 mg/m3` or `<0.1 mg/m3`", Concentration.parse
)
HOURS = Parsed("a running time, such as `412.5 h` or `3 min`", RunningTime.parse)
RATE = Parsed("a fill rate, such as `400 psi/min`", PressureRate.parse)
FLOW = Parsed("a delivery of free gas, such as `6.5 cuft/min`", FreeGasFlow.parse)
PERIOD = Parsed("a period, such as `5 years`", _bounded_period)
PERIOD_OR_RECORD = Parsed("a period, such as `5 years`, or `from-record`", _period)
PERIOD_OR_NONE = Parsed("a period, such as `5 years`, or `none`", _period_or_none)
RATIO = Parsed("a ratio, such as `5/3`", _ratio)
DATE = Parsed("a month or a day, such as `2026-02` or `2026-02-09`", PartialDate.parse)
DAY = Parsed("a day, such as `2026-02-09`", _day)
TIME = Parsed("a local time, such as `2026-11-25T09:30:00+01:00`", _timestamp)
TIME_OF_DAY = Parsed("a time of day, such as `16:30`", _time_of_day)
CLEARED = Parsed("a word and a day, such as `damage 2026-02-09`", Cleared.parse)
DISC = Parsed("a gauge pressure, such as `5000 psi`, or `none`", _disc)
LIFE_END = Parsed("a month or a day, or `none`", _life_end)
GAS = Parsed("air | oxygen | nitrox32 | trimix18/45 | heliox21", Gas.parse)
RATED = Parsed("a rated capacity, such as `77.4 cuft at 3000 psi (real)`", Rated.parse)
ID = Parsed("an id, such as `RB-014`", _id)
