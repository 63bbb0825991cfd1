"""Whether one row asks at least as much as another: what a ledger's own may do to a shipped one.

Each key of a row is compared by itself. What cannot be shown to be at least as strict counts as
looser, so that a row that merely differs is never taken for a stricter one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

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
    if isinstance(new, RuleRow) and isinstance(old, RuleRow):
        return tuple(_rule_row(new, old))
    if isinstance(new, WatchRow) and isinstance(old, WatchRow):
        return tuple(_watch_row(new, old))
    return ("it is another kind of row",)


def _rule_row(new: RuleRow, old: RuleRow) -> Iterator[str]:
    if new.drop:
        if old.obligation is not Obligation.PLUS_FILL:  # a grant: without it less is filled
            yield "it takes it out of force"
        return
    for name, as_strict in RULE_KEYS.items():
        if not as_strict(new, old):
            yield _says(name, new, old)


def _watch_row(new: WatchRow, old: WatchRow) -> Iterator[str]:
    if new.drop:
        yield "it takes it out of force"
        return
    for name, as_strict in WATCH_KEYS.items():
        if not as_strict(new, old):
            yield _says(name, new, old)


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


def _gate(new: Any, old: Any) -> bool:
    return new.gate is Gate.REFUSE or old.gate is Gate.WARN


def _basis(new: Any, old: Any) -> bool:
    return BASES.index(new.basis) >= BASES.index(old.basis)


def _never_overridden(new: RuleRow, old: RuleRow) -> bool:
    return new.never_overridden or not old.never_overridden


def _unless(new: Any, old: Any) -> bool:
    return new.unless is None or new.unless is old.unless


def _for_diving(new: RuleRow, old: RuleRow) -> bool:
    return old.for_diving or not new.for_diving


def _period(new: RuleRow, old: RuleRow) -> bool:
    if isinstance(new.period, Period) and isinstance(old.period, Period):
        return within(new.period, old.period)
    return new.period == old.period


def within(period: Period, bound: Period) -> bool:
    """Whether a period is over no later than another, from whatever day both run."""
    if bool(period.days) == bool(bound.days):
        return (period.months, period.days) <= (bound.months, bound.days)
    if period.days:
        return period.days <= 28 * bound.months  # no month is shorter
    return 31 * period.months <= bound.days  # none is longer


def _met_by(new: RuleRow, old: RuleRow) -> bool:
    return set(new.met_by) <= set(old.met_by)


def _good_until(new: RuleRow, old: RuleRow) -> bool:
    return new.good_until is GoodUntil.SAME_DAY or old.good_until is GoodUntil.END_OF_MONTH


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


def _beside(new: RuleRow, old: RuleRow) -> bool:
    return set(new.beside) >= set(old.beside)


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
    "starts": _same("starts"),
    "met_by": _met_by,
    "good_until": _good_until,
    "temperature": _temperature,
    "ratio": _ratio,
    "of": _of,
    "at_least": _same("at_least"),
    "at_most": _at_most_key,
    "spares": _spares,
    "share": _share,
    "limits": _limits,
    "needs": _needs,
    "beside": _beside,
    "unless": _unless,
    "for_diving": _for_diving,
    "gate": _gate,
    "basis": _basis,
    "never_overridden": _never_overridden,
}
"""How each key of a rule row is compared; `drop` is looked at before them."""


# --- which cylinders a row speaks of -------------------------------------------------------------

ANY = AppliesTo()


def covers(wide: AppliesTo | None, narrow: AppliesTo | None) -> bool:
    """Whether a row speaks of every cylinder, state and standard that another speaks of."""
    one, other = wide or ANY, narrow or ANY
    return (
        _patterns(one.specification, other.specification)
        and _patterns_out(one.not_specification, other.not_specification)
        and _words(one.material, other.material)
        and _words(one.use, other.use)
        and _words(one.service, other.service)
        and (not one.alloy or _begins(one.alloy, other.alloy))
        and one.permit in (None, other.permit)
        and _dates(one, other)
        and bool(one.state) == bool(other.state)
        and set(other.state) <= set(one.state)
        and one.standard == other.standard
    )


def _patterns(wide: tuple[str, ...], narrow: tuple[str, ...]) -> bool:
    if not wide:
        return True
    return bool(narrow) and all(any(takes_in(w, n) for w in wide) for n in narrow)


def _patterns_out(wide: tuple[str, ...], narrow: tuple[str, ...]) -> bool:
    """What the wide one leaves out, the narrow one leaves out as well."""
    return all(any(takes_in(n, w) for n in narrow) for w in wide)


def _words(wide: tuple[Any, ...], narrow: tuple[Any, ...]) -> bool:
    return not wide or (bool(narrow) and set(narrow) <= set(wide))


def _begins(wide: tuple[str, ...], narrow: tuple[str, ...]) -> bool:
    return bool(narrow) and all(any(n.startswith(w) for w in wide) for n in narrow)


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


def _recall(new: WatchRow, old: WatchRow) -> bool:
    return bool(new.recall) or not old.recall


def _reach(new: WatchRow, old: WatchRow) -> bool:
    """A notice that clears may speak of fewer, any other of more."""
    if clears(old) and new.recall == old.recall and new.alloy == old.alloy:
        wider = not old.recall or _watches(new, old)
        return wider and _watches(old, new)
    return _watches(new, old)


def _watches(wide: WatchRow, narrow: WatchRow) -> bool:
    """Whether a notice speaks of every cylinder that another speaks of."""
    return (
        _makers(wide.maker, narrow.maker)
        and _makers_out(wide.not_maker, narrow.not_maker)
        and _patterns(wide.specification, narrow.specification)
        and _countries(wide.made_in, narrow.made_in)
        and _countries_out(wide.not_made_in, narrow.not_made_in)
        and _dates(wide, narrow)
        and (wide.serial_from, wide.serial_to)
        in {(None, None), (narrow.serial_from, narrow.serial_to)}
    )


def _makers(wide: tuple[str, ...], narrow: tuple[str, ...]) -> bool:
    """A maker's name fits wherever it is part of the one marked."""
    if not wide:
        return True
    return bool(narrow) and all(any(folded(w) in folded(n) for w in wide) for n in narrow)


def _makers_out(wide: tuple[str, ...], narrow: tuple[str, ...]) -> bool:
    if not wide:
        return True  # an exclusion also leaves out cylinders without a maker
    return bool(narrow) and all(any(folded(n) in folded(w) for n in narrow) for w in wide)


def _countries(wide: tuple[str, ...], narrow: tuple[str, ...]) -> bool:
    one, other = set(map(folded, wide)), set(map(folded, narrow))
    return not one or (bool(other) and other <= one)


def _countries_out(wide: tuple[str, ...], narrow: tuple[str, ...]) -> bool:
    one, other = set(map(folded, wide)), set(map(folded, narrow))
    return not one or (bool(other) and one <= other)


WATCH_KEYS: Mapping[str, Callable[[Any, Any], bool]] = {
    "alloy": _alloy,
    "recall": _recall,
    "maker": _reach,
    "unless": _unless,
    "gate": _gate,
    "basis": _basis,
}
"""How a watch row is compared; `maker` stands for all that says which cylinders it speaks of."""
