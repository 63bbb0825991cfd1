"""Where the relief valves of the fill station lift."""

from __future__ import annotations

from msgspec import Struct

from tankbook.records.rulerow import Obligation
from tankbook.records.station import (
    COMPRESSOR,
    Checked,
    ReliefValve,
    Station,
    new_since,
    that_stand,
)
from tankbook.rules.fill_history import is_above
from tankbook.rules.gauges import highest_mark, is_older
from tankbook.rules.inforce import InForce
from tankbook.rules.wording import says_nothing
from tankbook.units import GaugePressure


class LateLift(Struct, frozen=True):
    """That a relief valve lifted too late.

    Attributes:
        check: the check that found it.
        lifted: where it lifted.
        over: percent above its bound by which it may.
    """

    check: Checked
    lifted: GaugePressure
    over: float


def late_lift(station: Station, valve: ReliefValve, rules: InForce) -> LateLift | None:
    """The newest check at which a relief valve lifted too late, if nothing was done to it since:
    that it lifted in time another day mends nothing."""
    bound = bound_of(station, valve)
    if bound is None:
        return None
    checks = [c for c in that_stand(valve.checked) if not is_older(c.on, new_since(valve))]
    late: LateLift | None = None
    for check in checks:
        if check.lifted is not None and is_late(rules, bound, check.lifted):
            late = LateLift(check, check.lifted, _over(rules))
        elif check.repaired and not says_nothing(check.repaired):
            late = None
    return late


def is_late(
    rules: InForce,
    bound: GaugePressure,
    reached: GaugePressure,
    error: GaugePressure | None = None,
) -> bool:
    """Whether a pressure is above where a relief valve has to lift, by more than the rows let it
    and a gauge may err."""
    most = GaugePressure.of(bound.value * (1 + _over(rules) / 100), bound.unit)
    return is_above(reached, most, error)


def _over(rules: InForce) -> float:
    """Percent above its bound by which a relief valve may lift."""
    shares = [r.share for r in rules.rows[Obligation.RELIEF_CHECK] if r.share is not None]
    return min((share.percent for share in shares), default=0.0)


def bound_of(station: Station, valve: ReliefValve) -> GaugePressure | None:
    """Where a relief valve has to lift: as it is set, else at what it protects; None where neither
    is known."""
    weak = weakest(station, valve)
    return valve.set_at or (weak[1] if weak else None)


def protectable(station: Station) -> tuple[str, ...]:
    """What a relief valve may be said to protect, by its label."""
    pumps = station.every_compressor
    made = [*(c.name or "" for c in pumps), COMPRESSOR] if pumps else []
    made += [*(s.name for s in station.sources), *(b.name for b in station.boosters)]
    places = [*(p.name for p in station.positions), *(w.name for w in station.whips)]
    return tuple(filter(None, (*(b.name for b in station.banks), *made, *places, *_WHOLE)))


_WHOLE = ("panel", "regulator")
"""Parts of which a station has one, that has no label."""


def weakest(station: Station, valve: ReliefValve) -> tuple[str, GaugePressure] | None:
    """The weakest part that a relief valve is said to protect, with what it stands."""
    known = _marked(station)
    own = [known[name.casefold()] for name in valve.protects if name.casefold() in known]
    highest = highest_mark(station)
    if valve.protects and not own and highest is not None:
        return "the strongest part of the station", highest  # what it protects has no mark
    return min(own, key=lambda pair: pair[1], default=None)


def weakest_of_all(station: Station, valve: ReliefValve) -> tuple[str, GaugePressure] | None:
    """The weakest part of the station where a relief valve is the only one, and nobody says what it
    protects: all of it then. None of any other."""
    if valve.protects or len(station.relief_valves) > 1:
        return None
    return min(_marked(station).values(), key=lambda pair: pair[1], default=None)


def _marked(station: Station) -> dict[str, tuple[str, GaugePressure]]:
    """The parts of a station that are marked, by their labels in small letters, each with what it
    stands."""
    marked = {b.name: b.working_pressure for b in station.banks}
    marked |= {p.name: p.rating for p in station.positions}
    marked |= {w.name: w.rating for w in station.whips}
    marked |= {"panel": station.panel.rating if station.panel else None}
    reach = {p.name: p.max_pressure for p in station.every_pump}
    marked |= {name: most for name, most in reach.items() if name}
    lowest = min((c.max_pressure for c in station.every_compressor if c.max_pressure), default=None)
    marked |= {COMPRESSOR: lowest} if lowest else {}
    known = {name.casefold(): (name, p) for name, p in marked.items() if p is not None}
    return known | ({"regulator": known["panel"]} if "panel" in known else {})
