"""A planned session as it is logged: what each cylinder got, and what some gave to others."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from tankbook.acts.fill import Wanted
from tankbook.gas import Gas
from tankbook.units import GaugePressure, Temperature

STEP = {"psi": 1.0, "bar": 0.1}
"""What a planned pressure is rounded down to when it is logged: no gauge shows less."""


class Planned(Struct, frozen=True):
    """One cylinder of a plan: what it began with and ends with, from where, and where it stood."""

    id: str
    start: GaugePressure
    holds: GaugePressure
    sources: tuple[str, ...]
    position: str = ""
    fill_pressure: GaugePressure | None = None

    @property
    def gave(self) -> bool:
        """It ends with less than it began with: it gave to others."""
        return _rounded(self.holds) < _rounded(self.start)

    @property
    def got(self) -> bool:
        """It ends with more than it began with."""
        return _rounded(self.holds) > _rounded(self.start)


class PlannedSession(Struct, frozen=True):
    """A plan to be logged: its gas, the ambient temperature its cold readings are at, its lines."""

    gas: Gas
    ambient: Temperature
    cylinders: tuple[Planned, ...]


def as_filled(
    session: PlannedSession, corrected: Mapping[str, GaugePressure]
) -> tuple[tuple[Wanted, ...], tuple[Wanted, ...]]:
    """The fills of a session and the drains of those that gave, with readings corrected by hand.

    Args:
        session: the plan.
        corrected: what a gauge really showed, by id, in place of what was planned.

    Raises:
        ValueError: a correction is about a cylinder that the plan does not fill.
    """
    planned = {p.id: p for p in session.cylinders if p.got or p.gave}
    strange = [i for i in corrected if i not in planned]
    if strange:
        raise ValueError(f"the plan does not fill {', '.join(strange)}")
    lines = [_wanted(p, corrected.get(p.id)) for p in planned.values()]
    got = tuple(w for w, p in zip(lines, planned.values(), strict=True) if not p.gave)
    gave = tuple(w for w, p in zip(lines, planned.values(), strict=True) if p.gave)
    return got, gave


def _wanted(planned: Planned, reading: GaugePressure | None) -> Wanted:
    return Wanted(
        planned.id,
        reading or _rounded(planned.holds),
        _rounded(planned.start),
        source="+".join(dict.fromkeys(planned.sources)),
        position=planned.position,
        fill_pressure=planned.fill_pressure,
    )


def _rounded(pressure: GaugePressure) -> GaugePressure:
    step = STEP.get(pressure.unit, 1.0)
    count = int(pressure.to(pressure.unit) / step + 1e-6)
    return GaugePressure.of(round(count * step, 6), pressure.unit)
