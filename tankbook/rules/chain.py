"""What each part that the gas goes through stands, and which of them is the lowest.

The temperature at which a pressure is marked moves the limit of the cylinder alone. A valve, an
outlet, an insert, a manifold, a whip, an adaptor, an enclosure or a panel limits what the gauge
shows, hot or cold. What stays on the cylinder when it is taken away must stand what the cylinder
holds; what stays at the station only says how far it is filled.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from tankbook.gas import AIR, RangeError
from tankbook.records.cylinder import Doubles
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.records.station import Adaptor, Position, Station, Whip
from tankbook.records.valve import Valve
from tankbook.records.words import Isolator, Outlet, PositionKind
from tankbook.rules.answers import Ceiling, Limit, MayFill
from tankbook.rules.conditions import Condition
from tankbook.rules.inforce import CylinderFacts, InForce
from tankbook.rules.limits import settled
from tankbook.rules.test_pressure import ROUNDING
from tankbook.units import GaugePressure, Temperature
from tankbook.units.patterns import pattern


class Part(Struct, frozen=True):
    """A part that the gas stands in while a cylinder is filled.

    Attributes:
        name: what it is called: `valve`, `yoke outlet`, `whip W1`.
        said: what is known of it, to be read after its name: `is rated 3000 psi`.
        most: the highest gauge pressure it stands. Of a part that stays on the cylinder, as the
            gauge shows it at the reference temperature of the cylinder's limit.
        rows: the rule rows that give it.
        question: whom to ask where it is too low: its own mark, or what its kind stands.
        code: what the codes of its reasons begin with.
        mend: how to mend it where it is too low.
        worked_out: `most` was marked in another unit or at another temperature, and is rounded by
            that.
    """

    name: str
    said: str
    most: GaugePressure
    rows: tuple[RuleRow, ...] = ()
    question: Obligation = Obligation.VALVE_RATING
    code: str = "valve-rating"
    mend: str = ""
    worked_out: bool = False


class Fitted(Struct, frozen=True):
    """What stays on a cylinder or a set, and what is to be asked of the rules about it."""

    parts: tuple[Part, ...] = ()
    conditions: tuple[Condition, ...] = ()

    @property
    def rows(self) -> tuple[RuleRow, ...]:
        """The rows that say what the parts stand."""
        return tuple(dict.fromkeys(row for part in self.parts for row in part.rows))


# --- the valve, its outlet and its insert --------------------------------------------------------


class _Use(Struct, frozen=True):
    """One way in which a valve is used: through its outlet as it is, with or without an insert."""

    outlet: str
    name: str
    valve: Valve
    insert: bool = False

    @property
    def marks(self) -> tuple[tuple[str, GaugePressure], ...]:
        """The pressures marked on what is used, with the name of each part."""
        found = (
            ("valve", self.valve.rating),
            ("insert", self.valve.insert if self.insert else None),
        )
        return tuple((name, mark) for name, mark in found if mark is not None)

    @property
    def state(self) -> str:
        """The state in which its ceiling is asked: a mark may go higher than none."""
        return f"{self.outlet}-marked" if self.marks else self.outlet


def takes_insert(valve: Valve) -> bool:
    """Whether a valve is one that a yoke insert is screwed into.

    Only the five-thread outlet is (ISO 12209 scope: with an adaptor to convert it into a yoke, 232
    bar; read, A).
    """
    has_one = valve.insert is not None or valve.insert_in is not None
    return valve.outlet is Outlet.CONVERTIBLE or (
        has_one and valve.outlet in {None, Outlet.DIN_200}
    )


def _uses(valve: Valve) -> tuple[_Use, ...]:
    """How a valve is used, as far as that is recorded; of a valve that takes an insert, either
    way where that is not. Empty where its outlet is unknown."""
    if takes_insert(valve):
        with_it = _Use("insert-in", "yoke outlet, insert in,", valve, insert=True)
        without = _Use("insert-out", "DIN outlet, insert out,", valve)
        return {True: (with_it,), False: (without,), None: (with_it, without)}[valve.insert_in]
    return (_plain(valve.outlet, valve),) if valve.outlet else ()


def _plain(outlet: Outlet, valve: Valve) -> _Use:
    word = outlet.value if outlet is Outlet.YOKE else outlet.value.replace("-", " ").upper()
    return _Use(outlet.value, f"{word} outlet", valve)


def of_valve(rules: InForce, facts: CylinderFacts, limit: Limit, service: GaugePressure) -> Fitted:
    """What the valve of a cylinder stands, against its service pressure and its limit.

    A mark counts up to what its kind of outlet stands; without a mark the outlet's own ceiling
    counts, and the highest of any outlet where nothing but a mark is known.
    """
    valve = facts.cylinder.valve or Valve()
    scale = _Scale(rules, facts, limit)
    uses = _uses(valve)
    if not uses and valve.rating is None:
        text = "neither its valve's rating nor its outlet is recorded"
        mend = "read both off the valve into `valve:`"
        code = "valve-rating-unknown"
        unknown = Condition(Obligation.VALVE_RATING, "unknown", code, text, mend)
        return Fitted(tuple(scale.unknown_outlet(valve)), (unknown,))
    found = [tuple(scale.parts(use)) for use in uses] or [tuple(scale.unknown_outlet(valve))]
    parts = tuple(dict.fromkeys(part for each in found for part in each))
    base = min(service, limit.pressure)
    conditions = (
        *(_gap(use) for use in uses if not scale.ceilings(use)),
        *_unread(valve, uses, parts),
        *_either_way(found),
        *_insert_unread(scale, valve, uses, limit),
        *_too_low(parts, base, limit),
    )
    return Fitted(parts, conditions)


class _Scale(Struct, frozen=True):
    """Ratings brought to the reference temperature of one cylinder's limit."""

    rules: InForce
    facts: CylinderFacts
    limit: Limit

    def parts(self, use: _Use) -> Iterator[Part]:
        """What is used and what each of it stands."""
        for name, mark in use.marks:
            yield self.marked(name, mark, f"{name}-rating")
        ceilings = self.ceilings(use)
        if ceilings:
            yield min(ceilings, key=lambda part: part.most)

    def marked(self, name: str, mark: GaugePressure, code: str = "valve-rating") -> Part:
        """A part by the pressure marked on it.

        One in psi is taken as the gauge shows it. One in bar is a working pressure at the
        temperature that a row gives, and is held against the limit at one temperature.
        """
        rows = () if mark.unit == "psi" else self._about(Obligation.VALVE_RATING, "metric")
        temperatures = [row.temperature for row in rows if row.temperature]
        most = min((self.here(mark, at) for at in temperatures), default=mark)
        mend = f"fit {_a(name)} that is rated for it, or correct the rating if it was misread"
        other = mark.unit != most.unit or mark.pa != most.pa
        said = f"is rated {mark}"
        return Part(name, said, most, rows, code=code, mend=mend, worked_out=other)

    def ceilings(self, use: _Use) -> list[Part]:
        """What each row in force says that an outlet stands."""
        rows = self._about(Obligation.OUTLET, use.state)
        return [self._ceiling(use, row) for row in rows if row.at_most is not None]

    def _ceiling(self, use: _Use, row: RuleRow) -> Part:
        assert row.at_most is not None
        at = f" at {row.temperature}" if row.temperature else ""
        most = self.here(row.at_most, row.temperature) if row.temperature else row.at_most
        how = "at most" if use.marks else "unless it is marked higher"
        said = f"stands {row.at_most}{at} {how}"
        mend = (
            f"fit a valve that stands it{'' if use.marks else ', or read the rating off this one'}"
        )
        other = row.at_most.unit != most.unit or row.at_most.pa != most.pa
        return Part(use.name, said, most, (row,), Obligation.OUTLET, "outlet", mend, other)

    def unknown_outlet(self, valve: Valve) -> Iterator[Part]:
        """A valve with a mark and an outlet that nobody wrote down: no outlet stands more than the
        best of them."""
        yield from (self.marked(name, mark) for name, mark in _Use("", "", valve).marks)
        uses = [_plain(o, valve) for o in Outlet if o is not Outlet.CONVERTIBLE]
        known = [min(c, key=lambda part: part.most) for use in uses if (c := self.ceilings(use))]
        if known:
            yield max(known, key=lambda part: part.most)

    def here(self, pressure: GaugePressure, at: Temperature) -> GaugePressure:
        """A working pressure at one temperature as a gauge shows it at the reference temperature,
        of air and rounded down."""
        if at == self.limit.reference:
            return pressure
        try:
            found = settled(AIR, pressure, at, self.limit.reference)
        except RangeError:
            return pressure
        return _rounded_down(found, self.limit.pressure.unit)

    def _about(self, question: Obligation, state: str) -> tuple[RuleRow, ...]:
        return self.rules.about(self.facts, question, state)


def _a(name: str) -> str:
    return f"an {name}" if name[0] in "aeiou" else f"a {name}"


def _gap(use: _Use) -> Condition:
    text = f"it has a {use.name.rstrip(',')}"
    return Condition(Obligation.OUTLET, use.state, "outlet-ceiling", text)


def _unread(valve: Valve, uses: tuple[_Use, ...], parts: tuple[Part, ...]) -> Iterator[Condition]:
    """What nobody read off the valve, and what is taken instead."""
    if not uses:
        text = "its outlet is not recorded, so only its valve's mark was looked at"
        mend = "record `outlet:` as it is fitted"
        yield Condition(Obligation.OUTLET, "unknown", "outlet-unknown", text, mend)
    outlets = [part for part in parts if part.question is Obligation.OUTLET]
    if valve.rating is None and outlets:
        lowest = min(outlets, key=lambda part: part.most)
        text = f"its valve's rating is not recorded; its {lowest.name} {lowest.said}"
        mend = "read it off the valve into `rating:`"
        yield Condition(Obligation.VALVE_RATING, "unread", "valve-rating-unread", text, mend)


def _either_way(found: list[tuple[Part, ...]]) -> Iterator[Condition]:
    """Whether the insert is in is not recorded, and matters."""
    lows = [min(part.most for part in parts) for parts in found if parts]
    if len({low.pa for low in lows}) > 1:
        text = f"whether its insert is in is not recorded: no gauge above {min(lows)} either way"
        mend = "record `insert_in: yes` or `insert_in: no`, as it is used"
        yield Condition(Obligation.OUTLET, "insert-unrecorded", "insert-unrecorded", text, mend)


def _insert_unread(
    scale: _Scale, valve: Valve, uses: tuple[_Use, ...], limit: Limit
) -> Iterator[Condition]:
    """A valve's mark is taken for its insert as well, which may come from elsewhere."""
    if valve.rating is None or valve.insert is not None or not any(use.insert for use in uses):
        return
    unmarked = scale.ceilings(_Use("insert-in", "", Valve()))
    if any(_under(part.most, limit.pressure) for part in unmarked):
        text = f"its insert's own rating is not recorded, and {limit.pressure} rests on it"
        mend = "read it off the insert into `insert:`, or record `insert_in: no`"
        yield Condition(Obligation.OUTLET, "insert-unread", "insert-rating-unread", text, mend)


def _too_low(
    parts: Iterable[Part], base: GaugePressure, limit: Limit, whose: str = "its"
) -> Iterator[Condition]:
    """Each part that a filled cylinder would stand above; or what keeps it from a plus fill."""
    parts = tuple(parts)
    low = [part for part in parts if _is_below(part, base)]
    for part in low:
        text = f"{whose} {part.name} {part.said}, below {base}"
        yield Condition(part.question, "below", f"{part.code}-below", text, part.mend)
    lowest = min(parts, key=lambda part: part.most, default=None)
    if lowest and not low and _is_below(lowest, limit.pressure):
        text = f"{whose} {lowest.name} {lowest.said}: filled to that, not to {limit.pressure}"
        code = f"{lowest.code}-below-limit"
        yield Condition(Obligation.VALVE_RATING, "below-limit", code, text, lowest.mend)


def _rounded_down(pressure: GaugePressure, unit: str) -> GaugePressure:
    """To what a gauge can be read to: whole psi, tenths of a bar."""
    steps = {"bar": 10, "MPa": 100}.get(unit, 1)
    return GaugePressure.of(int(pressure.to(unit) * steps + 1e-6) / steps, unit)


def _is_below(part: Part, pressure: GaugePressure) -> bool:
    """Whether a part stands less than a pressure, by more than the rounding of its mark."""
    share = ROUNDING if part.worked_out else 0.0
    return _under(part.most, pressure) and part.most.pa < pressure.pa * (1 - share)


def _under(one: GaugePressure, other: GaugePressure) -> bool:
    share = 1e-9 if one.unit == other.unit else ROUNDING
    return one.pa < other.pa * (1 - share)


# --- the manifold --------------------------------------------------------------------------------

WARMED = 0.035
"""Share by which one mark may differ in bar and in psi: 232 bar at 15 degC is about 3472 psi at 70
degF, which is 3.2 % more (computed)."""


def of_manifold(
    rules: InForce,
    facts: CylinderFacts,
    limit: Limit,
    service: GaugePressure,
    doubles: Doubles,
    whose: str = "its",
) -> Fitted:
    """What the manifold of a set stands.

    Args:
        rules: the rules in force.
        facts: of either side.
        limit: the joined limit.
        service: the service pressure of the sides.
        doubles: the set.
        whose: how its reasons begin, where they are told of a side.
    """
    unread = () if doubles.rating else (_manifold_unread(doubles, whose),)
    rating = doubles.rating or marked_on(doubles)
    if rating is None:
        return Fitted((), unread)
    scale = _Scale(rules, facts, limit)
    part = scale.marked("manifold", rating, "manifold-rating")
    base = min(service, limit.pressure)
    return Fitted((part,), (*unread, *_too_low((part,), base, limit, whose)))


def _manifold_unread(doubles: Doubles, whose: str) -> Condition:
    """Nobody recorded a rating; what is marked is taken for it, and may be another figure."""
    marked = marked_on(doubles)
    text = f"{whose} manifold's rating is not recorded"
    text += f", and {marked} is marked on it" if marked else ""
    mend = f"write `rating: {marked}`, if it is that" if marked else ""
    mend = mend or "read it off the manifold into `rating:`"
    code = "manifold-rating-unread"
    return Condition(Obligation.VALVE_RATING, "manifold-unread", code, text, mend)


_MARKED = pattern(
    r"(\d{1,3}(?:[,.' ]\d{3})+(?!\d)|\d+(?:[.,]\d+)?) ?(psi|bar|kpa|mpa)g?\b", re.IGNORECASE
)
_UNITS = {unit.casefold(): unit for unit in GaugePressure.UNITS}


_UNITS_WRITTEN = (
    (r"(?<=\d)[ -]?(?:bars?\b|b\b|atü?\b|atue\b|kg/cm2|kp/cm2)", " bar"),
    (r"(?<=\d)[ -]?(?:psi[ag]?\b|p\.s\.i\.?|lbs?\b|pounds?\b|#)", " psi"),
    (
        r"\b(?:WP|PN|PW|PS|MAWP|P ?max|max(?:imum)?)[ .:=]{0,2}(\d{2,3})(?![\d.,]| ?[a-z])",
        r"\1 bar",
    ),
    (r"\b(?:WP|PN|PW|PS|MAWP|P ?max|max(?:imum)?)[ .:=]{0,2}(\d{4})(?![\d.,]| ?[a-z])", r"\1 psi"),
)
"""How people write the units of a mark, and what a named figure without one is (memory)."""


def _in_plain_units(text: str) -> str:
    for written, plain in _UNITS_WRITTEN:
        text = re.sub(written, plain, text, flags=re.IGNORECASE)
    return text


def marked_on(doubles: Doubles) -> GaugePressure | None:
    """The lowest pressure that stands in what is marked on a manifold; None where none does."""
    found = []
    for number, word in _MARKED.findall(_in_plain_units(doubles.manifold or "")):
        unit = _UNITS[word.casefold()]
        whole = unit in {"psi", "kPa"}  # so that a sign between three digits is one of thousands
        plain = re.sub(r"[,.' ]", "", number) if whole else re.sub("[,' ]", ".", number)
        if plain.count(".") < 2:
            found.append(GaugePressure.of(float(plain), unit))
    return min(found, default=None)


def manifold_differs(doubles: Doubles) -> GaugePressure | None:
    """The lowest pressure marked on a manifold, where its recorded rating is another; in bar and in
    psi one mark may be of two temperatures, so those are one within what a warm day adds."""
    marked, rating = marked_on(doubles), doubles.rating
    if marked is None or rating is None:
        return None
    share = ROUNDING if marked.unit == rating.unit else WARMED
    return None if abs(marked.pa - rating.pa) <= share * rating.pa else marked


def of_isolator(doubles: Doubles, whose: str = "its") -> Iterator[Condition]:
    """What a shut isolator says, whether the set is asked about or one side of it."""
    if doubles.isolator is Isolator.SHUT:
        text = f"{whose} isolator is shut: each side has its own reading"
        mend = f"open it, and say so: `tankbook isolator {doubles.id} open`"
        yield Condition(Obligation.DOUBLES, "isolator-shut", "isolator-shut", text, mend)


def of_side(doubles: Doubles, others: Sequence[MayFill]) -> Iterator[Condition]:
    """The conditions of one side of a set that is filled by itself.

    Args:
        doubles: the set.
        others: the answers of the other side.
    """
    question, name = Obligation.DOUBLES, doubles.id
    yield from of_isolator(doubles, f"doubles {name}: its")
    for other in others:
        if doubles.isolator is not Isolator.SHUT:
            how = _ISOLATOR[doubles.isolator]
            text, mend = f"doubles {name}: {other.id} fills with it, {how}", f"ask for {name}"
            yield Condition(question, "both-fill", "doubles-both-fill", text, mend)
        if other.refusals:
            text = f"doubles {name}: {other.id} may not be filled ({other.refusals[0].text})"
            mend = f"once they are apart, say so: `tankbook unpair {name} --bled heard`"
            yield Condition(question, "other-side", "doubles-other-side", text, mend)


_ISOLATOR = {
    None: "as whether the isolator is shut is not recorded",
    Isolator.OPEN: "as the isolator is open",
    Isolator.NONE: "as there is no isolator",
}


# --- the station ---------------------------------------------------------------------------------


def of_station(station: Station | None, through: Iterable[str] = ()) -> tuple[Part, ...]:
    """The rated parts of the station that a fill goes through.

    Args:
        station: the station.
        through: the names of the whip, position and adaptor used. Of a kind of which none is named,
            all count: nobody knows which is taken.
    """
    if station is None:
        return ()
    names = frozenset(through)
    positions, whips = _named(station.positions, names), _named(station.whips, names)
    rated = _ratings(station, positions, whips, _named(station.adaptors, names))
    return tuple(Part(name, f"is rated {most}", most) for name, most in rated if most is not None)


def _ratings(
    station: Station,
    positions: Iterable[Position],
    whips: Iterable[Whip],
    adaptors: Iterable[Adaptor],
) -> Iterator[tuple[str, GaugePressure | None]]:
    """The name of each of some parts, and of the panel, with what it is rated."""
    yield from ((_place(p), p.rating) for p in positions)
    yield from ((f"whip {w.name}", w.rating) for w in whips)
    yield from ((f"adaptor {a.name}", a.rating) for a in adaptors)
    yield "panel", station.panel.rating if station.panel else None


N_ = TypeVar("N_", Position, Whip, Adaptor)


def _named(parts: tuple[N_, ...], names: frozenset[str]) -> tuple[N_, ...]:
    return tuple(part for part in parts if part.name in names) or parts


def _place(position: Position) -> str:
    enclosed = position.kind is PositionKind.ENCLOSED
    return f"{'enclosure' if enclosed else 'position'} {position.name}"


def unrated(station: Station) -> tuple[str, ...]:
    """The parts of the station whose rating nobody wrote down; an open position has its whip's.

    Nothing is missed of a station of which no part is recorded yet.
    """
    if not (station.positions or station.whips or station.adaptors or station.panel):
        return ()
    enclosed = [p for p in station.positions if p.kind is PositionKind.ENCLOSED]
    rated = _ratings(station, enclosed, station.whips, station.adaptors)
    return tuple(name for name, rating in rated if rating is None)


def below(ceiling: Ceiling, parts: Iterable[Part]) -> tuple[Part, ...]:
    """The parts that stand less than a ceiling, in their order."""
    return tuple(part for part in parts if _under(part.most, ceiling.pressure))


# --- what it comes to ----------------------------------------------------------------------------


def held_to(limit: Limit, service: GaugePressure, fitted: Fitted) -> Limit:
    """A limit, no higher than what stays on the cylinder stands, where that is enough to fill it.

    A cylinder filled to less on a cold day would stand above its valve's mark on a warm one: so the
    limit itself is lowered, and with it the cold target. Where a part does not even stand the
    service pressure it refuses, and the limit is the service pressure.
    """
    lowest = min(fitted.parts, key=lambda part: part.most, default=None)
    base = min(service, limit.pressure)
    if lowest is not None and not _is_below(lowest, base):
        base = min(base, lowest.most)  # the same but for rounding: the lower figure counts
    if lowest is None or not _under(max(lowest.most, base), limit.pressure):
        return limit
    said = f"its {lowest.name} {lowest.said}"
    return replace(
        limit,
        pressure=max(lowest.most, base),
        plus=limit.plus and service < lowest.most,
        rows=(*limit.rows, *lowest.rows),
        lowered="; ".join(filter(None, (limit.lowered, said))),
    )


def lower_of(limits: Sequence[Limit]) -> Limit:
    """The limit of what is joined: the lower; of two that read the same, the one that is marked at
    the higher temperature, for it allows less gas."""
    return min(limits, key=lambda each: (each.pressure.pa, -each.reference.kelvin))


def ceiling_of(limit: Limit, fitted: Fitted, rows: Iterable[RuleRow]) -> Ceiling:
    """The highest that a gauge may show while a cylinder is filled, hot or cold, and by which part.

    Args:
        limit: the cylinder's, already no higher than what stays on it.
        fitted: what stays on it.
        rows: the rows that let no gauge go above a mark.
    """
    parts = [part for part in fitted.parts if not _under(limit.pressure, part.most)]
    lowest = min(parts, key=lambda part: part.most, default=None)
    if lowest is None:
        return Ceiling(limit.pressure, "cylinder", tuple(rows))
    return Ceiling(lowest.most, lowest.name.rstrip(","), (*rows, *lowest.rows))


def lowest(ceilings: Iterable[Ceiling | None]) -> Ceiling | None:
    """The lowest of the ceilings of what is filled as one; None where one of them is unknown."""
    known = list(ceilings)
    found = [each for each in known if each is not None]
    return min(found, key=lambda each: each.pressure) if len(found) == len(known) else None


def is_of_station(ceiling: Ceiling, station: Station | None) -> bool:
    """Whether the lowest part is one of the station's."""
    return ceiling.part in {part.name for part in of_station(station)}


def lower(ceiling: Ceiling, parts: Iterable[Part]) -> Ceiling:
    """A ceiling, no higher than some further parts stand."""
    lowest = min(below(ceiling, parts), key=lambda part: part.most, default=None)
    if lowest is None:
        return ceiling
    return replace(ceiling, pressure=lowest.most, part=lowest.name)
