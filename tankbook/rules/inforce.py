"""The rule rows in force for a ledger, and which of them speak of a cylinder."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple, TypeAlias

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import AppliesTo, Basis, Obligation, RuleRow, RuleSet, WatchRow
from tankbook.records.words import Material, Service, Use
from tankbook.rules.tested import made_of
from tankbook.units import PartialDate

_PERMIT = re.compile(r"(DOT|TC|CTC|ICC)-?(SP|E|SU)")


Kind: TypeAlias = tuple[
    tuple[str, ...], bool, Material | None, str | None, PartialDate | None, Use | None,
    Service | None,
]  # fmt: skip
"""All that a rule row may ask of a cylinder."""


class Origin(NamedTuple):
    """What a notice asks of a cylinder besides its serial, folded for comparing."""

    maker: str
    country: str
    specifications: tuple[str, ...]
    made: PartialDate | None


@dataclass(frozen=True, slots=True)
class InForce:
    """Rows by the question they answer, after a ledger's own rows have replaced shipped ones.

    What has been asked of the rows is remembered: a fleet is many cylinders of few kinds.
    """

    rows: Mapping[Obligation, tuple[RuleRow, ...]]
    watch: tuple[WatchRow, ...]
    sets: tuple[RuleSet, ...]
    dropped: tuple[str, ...] = ()
    replaced: tuple[str, ...] = ()
    _kinds: dict[Kind, int] = field(default_factory=dict, compare=False, repr=False)
    _spoken: dict[tuple[int, Obligation, str | None], tuple[RuleRow, ...]] = field(
        default_factory=dict, compare=False, repr=False
    )
    _watched: dict[Origin, tuple[WatchRow, ...]] = field(
        default_factory=dict, compare=False, repr=False
    )
    _facts: dict[int, Facts] = field(default_factory=dict, compare=False, repr=False)
    _lacks: dict[str, tuple[RuleSet, ...]] = field(default_factory=dict, compare=False, repr=False)

    def about(
        self, facts: Facts, question: Obligation, state: str | None = None
    ) -> tuple[RuleRow, ...]:
        """The rows that answer a question about a cylinder, in a state where one is asked for."""
        asked = (facts.kind, question, state)
        found = self._spoken.get(asked)
        if found is None:
            found = tuple(row for row in self.rows[question] if speaks_of(row, facts, state))
            self._spoken[asked] = found
        return found

    def kind_of(self, kind: Kind) -> int:
        """A number that stands for all that a row may ask of a cylinder."""
        return self._kinds.setdefault(kind, len(self._kinds))

    def watching(self, cylinder: Cylinder, origin: Origin) -> list[WatchRow]:
        """The watch rows that speak of a cylinder."""
        found = self._watched.get(origin)
        if found is None:
            found = tuple(row for row in self.watch if _comes_from(row, origin))
            self._watched[origin] = found
        return [row for row in found if _serial_within(cylinder.serial, row)]

    def known(self, cylinder: Cylinder) -> Facts | None:
        """The facts of a cylinder, where they were asked for before."""
        found = self._facts.get(id(cylinder))
        return found if found is not None and found.cylinder is cylinder else None

    def remember(self, facts: Facts) -> Facts:
        """Keep the facts of a cylinder."""
        self._facts[id(facts.cylinder)] = facts
        return facts

    def all_rows(self) -> Iterator[RuleRow | WatchRow]:
        """Every row in force, question by question."""
        for rows in self.rows.values():
            yield from rows
        yield from self.watch

    @property
    def needs_stamp_means(self) -> bool:
        """A set in force reads retest stamps only where the record says what they mean."""
        return any(s.needs_stamp_means for s in self.sets)

    @property
    def lacks_notices(self) -> tuple[RuleSet, ...]:
        """The sets that hold fewer notices than they say: one has gone missing."""
        if "notices" not in self._lacks:
            found = tuple(s for s in self.sets if s.notices_held < (s.notices or 0))
            self._lacks["notices"] = found
        return self._lacks["notices"]

    @property
    def lacks_fill_rules(self) -> tuple[RuleSet, ...]:
        """The sets in force that ask for a national or shop set beside them, when there is none."""
        wanting = tuple(s for s in self.sets if not s.stands_alone)
        enough = any(s.stands_alone and s.id not in _EVERYWHERE and s.rows for s in self.sets)
        return () if enough else wanting


_EVERYWHERE = {"bench", "alloys"}


@once_per_book
def rules_of(book: Book) -> InForce:
    """The rules in force for a ledger."""
    return in_force(book.rule_sets)


def in_force(sets: tuple[RuleSet, ...]) -> InForce:
    """Merge rule sets in order: a later row of the same id replaces an earlier one, or drops it."""
    rows: dict[str, RuleRow] = {}
    watch: dict[str, WatchRow] = {}
    for each in sets:
        rows.update((row.id, row) for row in each.rows)
        watch.update((row.id, row) for row in each.watch)
    kept = [row for row in rows.values() if not row.drop]
    by_question = {
        question: tuple(row for row in kept if row.obligation is question)
        for question in Obligation
    }
    shipped = {row.id: row for each in sets for row in each.rows if rows[row.id] is not row}
    replaced = tuple(i for i, row in shipped.items() if not rows[i].drop and _binding(row))
    dropped = tuple(r.id for r in rows.values() if r.drop)
    dropped += tuple(w.id for w in watch.values() if w.drop)
    return InForce(
        by_question, tuple(w for w in watch.values() if not w.drop), sets, dropped, replaced
    )


def _binding(row: RuleRow) -> bool:
    """A row that is more than shop practice: that a ledger replaces it is always told."""
    return row.basis is not Basis.PRACTICE or row.never_overridden


@lru_cache(maxsize=4096)
def normal(specification: str) -> str:
    """A specification in one spelling: capitals, single hyphens, no spaces; CTC is TC.

    `DOT 3AL`, `DOT3AL` and `dot-3al` are all `DOT-3AL`.
    """
    text = re.sub(r"[\s\-/]+", "-", specification.strip().upper())
    text = re.sub(r"^CTC", "TC", text)
    return re.sub(r"^(DOT|ICC|TC|UN|ISO|EN|BS|AS|DIN)-?(?=\d|SP|E\d|SU|ISO|EN-?\d)", r"\1-", text)


@dataclass(frozen=True, slots=True)
class Facts:
    """What rows ask of a cylinder. `alloy` is the one recorded, or the one a watch row assumes;
    None where what is recorded names no alloy known here.

    `kind` is one number for all cylinders that every rule row treats alike.
    """

    specifications: tuple[str, ...]
    permit: bool
    material: Material | None
    alloy: str | None
    alloy_row: WatchRow | None
    recalls: tuple[WatchRow, ...]
    made: PartialDate | None
    cylinder: Cylinder
    kind: int


def facts_of(cylinder: Cylinder, rules: InForce) -> Facts:
    """The facts of a cylinder under the watch rows in force."""
    return rules.known(cylinder) or rules.remember(_facts_of(cylinder, rules))


def _facts_of(cylinder: Cylinder, rules: InForce) -> Facts:
    origin = _origin(cylinder)
    watched = rules.watching(cylinder, origin)
    permit = is_permit(cylinder)
    alloy, row = alloy_named(cylinder.alloy), None
    if cylinder.alloy is None and cylinder.material is Material.ALUMINIUM:
        # the warier assumption wins where two notices speak of one cylinder
        assumed = sorted(
            (w for w in watched if w.alloy), key=lambda w: alloy_named(w.alloy) != "6351"
        )
        if assumed:
            alloy, row = alloy_named(assumed[0].alloy), assumed[0]
    specs, made = origin.specifications, origin.made
    kind = (specs, permit, cylinder.material, alloy, made, cylinder.use, cylinder.service)
    return Facts(
        specifications=specs,
        permit=permit,
        material=cylinder.material,
        alloy=alloy,
        alloy_row=row,
        recalls=tuple(w for w in watched if w.recall),
        made=made,
        cylinder=cylinder,
        kind=rules.kind_of(kind),
    )


ALLOYS = ("6351", "6061", "6082", "7032", "7060")
"""Aluminium alloys of cylinders (memory); any other word is an unknown alloy."""


def alloy_named(text: str | None) -> str | None:
    """The alloy that a text names (`6061`, `AA6351-T6`), or None where it names none, or two.

    A watch row may say `not-6351`, where a notice clears a maker without naming its alloy.
    """
    if text == "not-6351":
        return text
    named = {a for a in re.findall(r"\d+", text or "") if len(a) == 4}
    return named.pop() if len(named) == 1 and named <= set(ALLOYS) else None


def _origin(cylinder: Cylinder) -> Origin:
    return Origin(
        _folded(cylinder.maker or ""),
        _folded(cylinder.made_in or ""),
        _specifications(cylinder),
        made_of(cylinder),
    )


def _specifications(cylinder: Cylinder) -> tuple[str, ...]:
    """The specifications in one spelling, a permit's number among them however it is written."""
    found = [normal(s) for s in cylinder.specification]
    number = cylinder.permit.number if cylinder.permit else None
    for text in [*found, *([normal(number)] if number else [])]:
        permit = re.match(r"(DOT|TC)-(SP|E|SU)-?0*(\d+)", text)
        if permit:
            found.append(f"{permit[1]}-{permit[2]}-{permit[3]}")
    return tuple(dict.fromkeys(found))


def is_permit(cylinder: Cylinder) -> bool:
    """Whether period, test pressure and life come from a permit or design approval."""
    return (
        cylinder.permit is not None
        or cylinder.material is Material.COMPOSITE
        or any(_PERMIT.match(normal(s)) for s in cylinder.specification)
    )


def speaks_of(row: RuleRow, facts: Facts, state: str | None = None) -> bool:
    """Whether a row applies to a cylinder, in a state where the row asks for one."""
    to = row.applies_to
    if to is None:
        return state is None
    return _state_fits(to, state) and _cylinder_fits(to, facts)


def speaks_of_station(row: RuleRow, state: str | None = None) -> bool:
    """Whether a row applies to a part of the station, in a state where the row asks for one."""
    return _state_fits(row.applies_to, state)


def _state_fits(to: AppliesTo | None, state: str | None) -> bool:
    wanted = to.state if to else ()
    return state in wanted if wanted else state is None


def _cylinder_fits(to: AppliesTo, facts: Facts) -> bool:
    cylinder = facts.cylinder
    return (
        _any_fits(to.specification, facts.specifications)
        and not (to.not_specification and _any_fits(to.not_specification, facts.specifications))
        and (not to.material or facts.material in to.material)
        and (not to.alloy or any((facts.alloy or "").startswith(a) for a in to.alloy))
        and (not to.use or cylinder.use in to.use)
        and (not to.service or cylinder.service in to.service)
        and (to.permit is None or to.permit == facts.permit)
        and (
            to.made_before is None
            or (facts.made is not None and facts.made.first < to.made_before.first)
        )
        and (
            to.made_from is None
            or (facts.made is not None and facts.made.last >= to.made_from.first)
        )
    )


def _any_fits(patterns: tuple[str, ...], specifications: tuple[str, ...]) -> bool:
    if not patterns:
        return True
    for pattern in map(normal, patterns):
        if pattern.endswith("*"):
            if any(s.startswith(pattern[:-1]) for s in specifications):
                return True
        elif pattern in specifications:
            return True
    return False


def is_watched(row: WatchRow, cylinder: Cylinder) -> bool:
    """Whether a notice speaks of a cylinder, going by what its record says."""
    return _comes_from(row, _origin(cylinder)) and _serial_within(cylinder.serial, row)


def _comes_from(row: WatchRow, origin: Origin) -> bool:
    """Whether a notice speaks of cylinders of an origin, whatever their serial."""
    maker, country, specs, made = origin
    if row.maker and not any(_folded(m) in maker for m in row.maker if maker):
        return False
    if row.not_maker and (not maker or any(_folded(m) in maker for m in row.not_maker)):
        return False
    if row.specification and not _any_fits(row.specification, specs):
        return False
    if row.made_in and country not in map(_folded, row.made_in):
        return False
    if row.not_made_in and (not country or country in map(_folded, row.not_made_in)):
        return False
    if (row.made_from or row.made_before) and made is None:
        return False
    if row.made_from and made and made.last < row.made_from.first:
        return False
    return not (row.made_before and made and made.first >= row.made_before.first)


@lru_cache(maxsize=4096)
def _folded(text: str) -> str:
    return " ".join(text.casefold().split())


def _serial_within(serial: str, row: WatchRow) -> bool:
    """Whether a serial lies in a range. Only serials of one shape can be compared: the same letters
    and the same count of digits."""
    bounds = [b for b in (row.serial_from, row.serial_to) if b is not None]
    if any(_serial_shape(b) != _serial_shape(serial) for b in bounds):
        return False
    got = _serial_number(serial)
    after = row.serial_from is None or _serial_number(row.serial_from) <= got
    return after and (row.serial_to is None or got <= _serial_number(row.serial_to))


def _serial_shape(serial: str) -> tuple[str, int]:
    text = serial.strip().upper()
    digits = len(text) - len(text.rstrip("0123456789"))
    return text[: len(text) - digits], digits


def _serial_number(serial: str) -> int:
    return int(serial.strip()[-_serial_shape(serial)[1] :] or 0) if _serial_shape(serial)[1] else 0
