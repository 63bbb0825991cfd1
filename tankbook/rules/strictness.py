"""Whether one row asks at least as much as another: what a ledger's own may do to a shipped one.

Each key of a row is compared by itself. What cannot be shown to be at least as strict counts as
looser, so that a row that merely differs is never taken for a stricter one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from operator import eq
from typing import Any, TypeAlias

from tankbook.records.rulerow import (
    AirLimits,
    AppliesTo,
    Basis,
    Gate,
    GoodUntil,
    Obligation,
    RuleRow,
    WatchRow,
)
from tankbook.rules.spelling import alloy_named, folded, takes_in
from tankbook.units import Concentration, GaugePressure, Percent, Period

BASES = (Basis.PRACTICE, Basis.STANDARD, Basis.LAW)
"""From what a shop decides by itself to what nobody may set aside."""

TOLD = frozenset({"id", "citation", "edition", "verified", "grade", "since", "by", "why", "note"})
"""Keys that say who a row is and how it is known; no answer turns on them."""


def looser_in(new: RuleRow | WatchRow, old: RuleRow | WatchRow) -> tuple[str, ...]:
    """In which keys a row is not at least as strict as the shipped one of its id, in words.

    Empty where it asks as much or more of every cylinder, station and person on every day.
    """
    if type(new) is not type(old):
        return ("it is another kind of row",)
    if new.drop:
        # a grant: without it less is filled
        grants = isinstance(old, RuleRow) and old.obligation is Obligation.PLUS_FILL
        return () if grants else ("it takes it out of force",)
    keys = RULE_KEYS if isinstance(new, RuleRow) else WATCH_KEYS
    return tuple(_says(name, new, old) for name, kept in keys.items() if not kept(new, old))


def _says(name: str, new: Any, old: Any) -> str:
    got, was = (_word(getattr(row, name)) for row in (new, old))
    return f"{name} {got} for {was}" if got and was and got != was else name


def _word(value: Any) -> str:
    if value is None or value == () or isinstance(value, AppliesTo | AirLimits):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)


# --- one key of a rule row -----------------------------------------------------------------------


def _same(name: str) -> Callable[[Any, Any], bool]:
    return lambda new, old: bool(getattr(new, name) == getattr(old, name))


def _is_or_was(name: str, strict: Any, lax: Any) -> Callable[[Any, Any], bool]:
    """Whether a key is the stricter of its two values, or was the laxer one."""
    return lambda new, old: getattr(new, name) is strict or getattr(old, name) is lax


_gate = _is_or_was("gate", Gate.REFUSE, Gate.WARN)


def _unless(new: Any, old: Any) -> bool:
    return new.unless is None or new.unless is old.unless


def _basis(new: Any, old: Any) -> bool:
    return BASES.index(new.basis) >= BASES.index(old.basis)


def _period(new: RuleRow, old: RuleRow) -> bool:
    if isinstance(new.period, Period) and isinstance(old.period, Period):
        return ends_no_later(new.period, old.period)
    return new.period == old.period


def _refuses_after(new: RuleRow, old: RuleRow) -> bool:
    """A row that warns refuses no later than it did; one that refuses at once needs no time."""
    if new.gate is Gate.REFUSE or old.refuses_after is None:
        return True
    return new.refuses_after is not None and ends_no_later(new.refuses_after, old.refuses_after)


def ends_no_later(period: Period, bound: Period) -> bool:
    """Whether a period is over no later than another, from whatever day both run."""
    if bool(period.days) == bool(bound.days):
        return (period.months, period.days) <= (bound.months, bound.days)
    if period.days:
        return period.days <= 28 * bound.months  # no month is shorter
    return 31 * period.months <= bound.days  # none is longer


def _temperature(new: RuleRow, old: RuleRow) -> bool:
    """A marked pressure at a hotter day is less gas, and a hotter day shows more of it."""
    if new.temperature is None or old.temperature is None:
        return new.temperature is old.temperature
    return new.temperature >= old.temperature


def _ratio(new: RuleRow, old: RuleRow) -> bool:
    """A lower ratio caps a fill lower; a test pressure is held to its ratio on both sides."""
    if new.ratio == old.ratio:
        return True
    if old.obligation is Obligation.FILL_LIMIT and old.ratio is None:
        return new.ratio is not None and new.of is not None
    if new.ratio is None or old.ratio is None:
        return False
    if old.obligation in {Obligation.FILL_LIMIT, Obligation.HOT_LIMIT}:
        return new.ratio < old.ratio
    states = old.applies_to.state if old.applies_to else ()
    if old.obligation is Obligation.PERMIT and states == (TEST_TOO_LOW,):
        return new.ratio > old.ratio
    if old.obligation is Obligation.PERMIT and states == (TEST_TOO_HIGH,):
        return new.ratio < old.ratio
    return False


PERIOD_TOO_LONG, TEST_TOO_LOW, TEST_TOO_HIGH = "period-too-long", "test-too-low", "test-too-high"
"""The states of a permit whose figures cannot be right."""


def _of(new: RuleRow, old: RuleRow) -> bool:
    added = old.obligation is Obligation.FILL_LIMIT and old.ratio is None and new.ratio is not None
    return new.of is old.of or (added and old.of is None)


def _share(new: RuleRow, old: RuleRow) -> bool:
    """A lower share grants less, allows less and asks for cleanness sooner; of the rating of a disc
    it is the least, and a higher one asks more."""
    if new.share is None or old.share is None:
        return new.share is old.share
    if old.obligation is Obligation.DISC_RATING:
        return new.share >= old.share
    return new.share <= old.share


def _times(new: RuleRow, old: RuleRow) -> bool:
    """More of them ask more; where nothing is said, none are enough."""
    return new.times is None or (old.times is not None and new.times >= old.times)


def _limits(new: RuleRow, old: RuleRow) -> bool:
    if new.limits is None or old.limits is None:
        return new.limits is old.limits
    return limits_within(new.limits, old.limits)


def limits_within(new: AirLimits, old: AirLimits) -> bool:
    """Whether air that keeps some limits keeps others too, every value measured."""
    return (
        all(_at_most(getattr(new, n), getattr(old, n)) for n in ("oxygen_to", *CONTAMINANTS))
        and (new.co_by_mass is None or old.co_by_mass is not None)  # it would judge what none did
        and (old.oxygen_from is None or (new.oxygen_from or NO_OXYGEN) >= old.oxygen_from)
        and all(_at_most(new.water_at(where), old.water_at(where)) for where in DRAWN_AT)
    )


CONTAMINANTS = ("co", "co_by_mass", "co2", "oil", "hydrocarbons")
NO_OXYGEN = Percent.of(0, "%")
DRAWN_AT = (None, GaugePressure.of(200, "bar"), GaugePressure.of(300, "bar"))
"""Samples to which different limits of water apply: at the compressor, and out of either store."""


def _at_most(got: Any, most: Any) -> bool:
    if most is None or got is None:
        return most is None
    if isinstance(got, Concentration) and got.unit != most.unit:
        return False  # by volume and by mass have no common measure
    return bool(got <= most)


def _needs(new: RuleRow, old: RuleRow) -> bool:
    """Of the marks in `needs` any one will do; of everything else all must hold."""
    got, was = set(new.needs), set(old.needs)
    if old.obligation is Obligation.MARK_REQUIRED:
        return "any" in was or ("any" not in got and got <= was)
    return got >= was


def _applies_to(new: RuleRow, old: RuleRow) -> bool:
    """A demand may reach further, a grant less far."""
    if old.obligation is Obligation.PLUS_FILL:
        return covers(old.applies_to, new.applies_to)
    return covers(new.applies_to, old.applies_to)


def _at_most_key(new: RuleRow, old: RuleRow) -> bool:
    if old.at_most is None or new.at_most is None:
        return old.at_most is None
    return new.at_most <= old.at_most


def _spares(new: RuleRow, old: RuleRow) -> bool:
    """What a row spares grows with each of its measures."""
    if new.spares is None or old.spares is None:
        return new.spares is None
    return (
        new.spares.length <= old.spares.length
        and new.spares.diameter <= old.spares.diameter
        and new.spares.below <= old.spares.below
    )


RULE_KEYS: Mapping[str, Callable[[Any, Any], bool]] = {
    "subject": _same("subject"),
    "obligation": _same("obligation"),
    "applies_to": _applies_to,
    "period": _period,
    "refuses_after": _refuses_after,
    "starts": _same("starts"),
    "met_by": lambda new, old: set(new.met_by) <= set(old.met_by),
    "good_until": _is_or_was("good_until", GoodUntil.SAME_DAY, GoodUntil.END_OF_MONTH),
    "temperature": _temperature,
    "ratio": _ratio,
    "of": _of,
    "at_least": _same("at_least"),
    "at_most": _at_most_key,
    "spares": _spares,
    "share": _share,
    "times": _times,
    "limits": _limits,
    "needs": _needs,
    "beside": lambda new, old: set(new.beside) >= set(old.beside),
    "unless": _unless,
    "for_diving": _is_or_was("for_diving", False, True),
    "gate": _gate,
    "basis": _basis,
    "never_overridden": _is_or_was("never_overridden", True, False),
}
"""How each key of a rule row is compared; `drop` is looked at before them."""


# --- which cylinders a row speaks of -------------------------------------------------------------

ANY = AppliesTo()


def covers(wide: AppliesTo | None, narrow: AppliesTo | None) -> bool:
    """Whether a row speaks of every cylinder, state and standard that another speaks of."""
    one, other = wide or ANY, narrow or ANY
    return (
        _reaches(one.specification, other.specification, takes_in)
        and _leaves_in(one.not_specification, other.not_specification, takes_in)
        and _reaches(one.material, other.material, eq)
        and _reaches(one.use, other.use, eq)
        and _reaches(one.service, other.service, eq)
        and _reaches(one.alloy, other.alloy, lambda wide, narrow: narrow.startswith(wide))
        and one.permit in (None, other.permit)
        and _dates(one, other)
        and bool(one.state) == bool(other.state)
        and set(other.state) <= set(one.state)
        and one.standard == other.standard
    )


_Fits: TypeAlias = Callable[[Any, Any], bool]
"""Whether one word or pattern takes in another."""


def _reaches(wide: tuple[Any, ...], narrow: tuple[Any, ...], fits: _Fits) -> bool:
    """Whether some words that a row asks for take in all that another asks for; none are all."""
    return not wide or (bool(narrow) and all(any(fits(w, n) for w in wide) for n in narrow))


def _leaves_in(wide: tuple[Any, ...], narrow: tuple[Any, ...], fits: _Fits) -> bool:
    """Whether what the wide one leaves out, the narrow one leaves out as well. An exclusion of
    makers also leaves out cylinders without one."""
    return all(any(fits(n, w) for n in narrow) for w in wide)


def _dates(wide: AppliesTo | WatchRow, narrow: AppliesTo | WatchRow) -> bool:
    starts, began = wide.made_from, narrow.made_from
    ends, ended = wide.made_before, narrow.made_before
    early = starts is None or (began is not None and starts.first <= began.first)
    late = ends is None or (ended is not None and ended.first <= ends.first)
    return early and late


# --- watch rows ----------------------------------------------------------------------------------


def clears(row: WatchRow) -> bool:
    """Whether a notice says of its cylinders that they are not of 6351."""
    return row.alloy is not None and alloy_named(row.alloy) != "6351"


def _alloy(new: WatchRow, old: WatchRow) -> bool:
    if old.alloy is None:
        return not clears(new)
    return new.alloy == old.alloy or (not clears(new) and new.alloy is not None)


def _reach(new: WatchRow, old: WatchRow) -> bool:
    """A notice that clears may speak of fewer, any other of more."""
    if clears(old) and new.recall == old.recall and new.alloy == old.alloy:
        wider = not old.recall or _watches(new, old)
        return wider and _watches(old, new)
    return _watches(new, old)


def _watches(wide: WatchRow, narrow: WatchRow) -> bool:
    """Whether a notice speaks of every cylinder that another speaks of."""
    return (
        _reaches(wide.maker, narrow.maker, _is_in_name)
        and _leaves_in(wide.not_maker, narrow.not_maker, _is_in_name)
        and _reaches(wide.specification, narrow.specification, takes_in)
        and _reaches(wide.made_in, narrow.made_in, _is_country)
        and _leaves_in(wide.not_made_in, narrow.not_made_in, _is_country)
        and _dates(wide, narrow)
        and (wide.serial_from, wide.serial_to)
        in {(None, None), (narrow.serial_from, narrow.serial_to)}
    )


def _is_in_name(part: str, name: str) -> bool:
    """A maker's name fits wherever it is part of the one marked."""
    return folded(part) in folded(name)


def _is_country(one: str, other: str) -> bool:
    return folded(one) == folded(other)


WATCH_KEYS: Mapping[str, Callable[[Any, Any], bool]] = {
    "alloy": _alloy,
    "recall": lambda new, old: bool(new.recall) or not old.recall,
    "maker": _reach,
    "unless": _unless,
    "gate": _gate,
    "basis": _basis,
}
"""How a watch row is compared; `maker` stands for all that says which cylinders it speaks of."""
