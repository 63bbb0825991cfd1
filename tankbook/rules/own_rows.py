"""A ledger's own rows, judged: they may ask more than the shipped ones, and never less unnoticed.

A row that would loosen law, a standard, or what nobody may override is a fault and counts for
nothing: the shipped row stays in force. One that loosens practice counts where it says who decided,
why and since when, and is told with every answer it touches.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import TypeGuard

from msgspec import Struct

from tankbook.records.kinds import FromRecord
from tankbook.records.node import Where
from tankbook.records.rulerow import Basis, Obligation, RuleRow, RuleSet, WatchRow
from tankbook.rules.spelling import alloy_named, any_fits, ids_near, normal, numbered
from tankbook.rules.strictness import clears, limits_within, looser_in
from tankbook.rules.wording import says_nothing
from tankbook.units.patterns import pattern

STRICTER = "a ledger's own rows may only tighten: make it as strict in everything, or take it out"
NAMES = ("by", "why", "since")
"""What a row that loosens practice must say."""


class OwnRow(Struct, frozen=True):
    """One of a ledger's own rows, judged.

    Attributes:
        row: the row.
        shipped: the shipped row of the same id, which it would stand in for.
        looser: in what it asks less than that row, in words.
        code: a short stable word for what is wrong with it; empty where it counts.
        fault: what is wrong, in words.
        mend: how to mend it.
    """

    row: RuleRow | WatchRow
    shipped: RuleRow | WatchRow | None = None
    looser: tuple[str, ...] = ()
    code: str = ""
    fault: str = ""
    mend: str = ""

    @property
    def counts(self) -> bool:
        """Whether it is in force from its day on. One with a fault never is."""
        return not self.fault

    @property
    def where(self) -> Where:
        """The place of the row's id in its file."""
        return self.row.source.at("id")

    def begun(self, day: dt.date | None) -> bool:
        """Whether it is in force on a day. Where no day is asked about, what loosens is not."""
        if self.row.since is None:
            return True
        return self.row.since.first <= day if day else not self.looser


class Judged(Struct, frozen=True):
    """Every row of the sets named: the shipped ones by id, and the ledger's own with a verdict."""

    rules: Mapping[str, RuleRow]
    watch: Mapping[str, WatchRow]
    own: tuple[OwnRow, ...]

    @property
    def faults(self) -> tuple[OwnRow, ...]:
        """The own rows that count for nothing."""
        return tuple(o for o in self.own if o.fault)

    @property
    def loosened(self) -> tuple[OwnRow, ...]:
        """The own rows that loosen practice and say who, why and since when."""
        return tuple(o for o in self.own if o.looser and not o.fault)


def judged(sets: tuple[RuleSet, ...]) -> Judged:
    """The verdict on every row of a ledger's own among some rule sets.

    Which of them have begun depends on the day; see `OwnRow.begun`.
    """
    rules = {row.id: row for each in sets if each.shipped for row in each.rows}
    watch = {row.id: row for each in sets if each.shipped for row in each.watch}
    own = [row for each in sets if not each.shipped for row in each.every_row]
    times = Counter(row.id.casefold() for row in own)
    ids = frozenset(row.id for row in own if isinstance(row, RuleRow))
    found = (_judge(row, rules, watch, times[row.id.casefold()], ids) for row in own)
    return Judged(rules, watch, tuple(found))


def is_named(row: RuleRow | WatchRow) -> bool:
    """Whether a row says who decided on it, why and since when."""
    return not _unsaid(row)


def _unsaid(row: RuleRow | WatchRow) -> list[str]:
    unsaid = [name for name in NAMES if not getattr(row, name)]
    return [*unsaid, "why"] if row.why and says_nothing(row.why) else unsaid


def _judge(
    row: RuleRow | WatchRow,
    rules: Mapping[str, RuleRow],
    watch: Mapping[str, WatchRow],
    times: int,
    own: frozenset[str],
) -> OwnRow:
    if times > 1:
        fault = f"{times} rows of the ledger's own are called {row.id}: none of them counts"
        return OwnRow(row, None, (), "row-twice", fault, "give each an id of its own")
    same, other = (rules, watch) if isinstance(row, RuleRow) else (watch, rules)
    if row.id in other:
        kind = "rule row" if isinstance(row, WatchRow) else "watch row"
        fault = f"{row.id} is a shipped {kind}, and here it is another kind of row"
        return OwnRow(row, None, (), "row-twice", fault, "give it an id of its own")
    if isinstance(row, WatchRow) and _is_empty(row):
        fault = f"{row.id}: no serial lies from {row.serial_from} to {row.serial_to}"
        return OwnRow(row, None, (), "row-range", fault, "read both serials in the notice again")
    unheard = _unheard(row, rules) if isinstance(row, RuleRow) else ""
    if unheard:
        fault = f"{row.id}: {unheard}, so it would say nothing"
        return OwnRow(row, None, (), "row-unheard", fault, "correct it, or take it out")
    lost = [i for i in row.beside if i not in rules and i not in own] if _has_beside(row) else []
    if lost:
        fault = f"{row.id} must stand beside {lost[0]}, and there is no such row"
        return OwnRow(row, None, (), "row-unknown", fault, "read that row's id again")
    shipped = same.get(row.id)
    return _of_new(row, rules) if shipped is None else _of_same_id(row, shipped)


_FIGURES = ("period", "ratio", "at_least", "at_most", "share", "limits", "met_by")
"""What a row may say beside whom it speaks of; each question hears some of it."""

_WARM = "temperature"
_HEARD = {Obligation.FILL_LIMIT: {"at_most", _WARM}}
"""What a question hears besides, though no shipped row says it."""


def _unheard(row: RuleRow, rules: Mapping[str, RuleRow]) -> str:
    """What of a row no question hears: a state or an alloy that is none, a figure of another
    question's, or none where each says some; or an empty text."""
    kin = [r for r in rules.values() if r.obligation is row.obligation]
    figures = (*_FIGURES, _WARM)
    heard = {n for r in kin for n in figures if _says(r, n)} | _HEARD.get(row.obligation, set())
    strange = [n for n in figures if _says(row, n) and n not in heard] if kin else []
    if strange:
        return f"`{strange[0]}` says nothing of {row.obligation}"
    to = row.applies_to
    states = {s for r in kin if r.applies_to for s in r.applies_to.state}
    unknown = [s for s in (to.state if to else ()) if s not in states] if kin else []
    if unknown:
        return f"`{unknown[0]}` is no state of {row.obligation}"
    alloys = [a for a in (to.alloy if to else ()) if alloy_named(a) is None]
    if alloys:
        return f"`{alloys[0]}` is no alloy known here"
    return _misspelt(to.specification if to else (), rules)


def _says_nothing(row: RuleRow | WatchRow, rules: Mapping[str, RuleRow]) -> str:
    """Why a new row would ask nothing of anybody, or an empty text."""
    if isinstance(row, WatchRow):
        return _watches_nothing(row, rules)
    kin = [r for r in rules.values() if r.obligation is row.obligation]
    plain = [r for r in kin if not (r.applies_to and r.applies_to.state)]
    if not plain or (row.applies_to and row.applies_to.state):
        return ""
    figured = row.ratio is not None or row.at_most is not None
    if row.obligation is Obligation.FILL_LIMIT and row.temperature is not None and not figured:
        return "`temperature` alone limits nothing"
    counted = {type(r.period) for r in plain}
    if type(None) not in counted and row.period is None:
        return f"{row.obligation} takes `period`, and it has none"
    if counted == {FromRecord} and not isinstance(row.period, FromRecord):
        return f"{row.obligation} takes its time from the record alone"
    return ""


def _watches_nothing(row: WatchRow, rules: Mapping[str, RuleRow]) -> str:
    """What of a notice nobody hears: that it says nothing, or of what is no specification."""
    if not (row.drop or row.recall or row.alloy):
        return "it gives neither `recall` nor `alloy`"
    return _misspelt(row.specification, rules)


def _misspelt(specifications: tuple[str, ...], rules: Mapping[str, RuleRow]) -> str:
    """That one of some specifications is none, where those of its country are known here; or an
    empty text."""
    known = tuple(s for r in rules.values() if r.applies_to for s in r.applies_to.specification)
    if not any(_AMERICAN.match(s) for s in known):
        return ""
    whole = [s for s in known if not s.endswith("*")]
    named = (*whole, *(s for s in known if s.endswith("*") and len(s) > _FAMILY))
    for each in specifications:
        name = normal(each.rstrip("*-"))
        american = _AMERICAN.match(each.upper()) and not any_fits(named, (name,))
        canadian = _CANADIAN.match(name) and name not in whole
        if american or (canadian and ids_near(name, whole)):
            return f"{each} is no specification known here"
    return ""


_FAMILY = len("DOT-3*")
"""A pattern no longer than this stands for a whole family, and tells no specification."""

_CANADIAN = pattern(r"TC-?\d")
"""One of Canada: not all are known here, so only one a slip from a known one is none."""

_AMERICAN = pattern(r"(?:DOT|ICC|CTC)-?\d")
"""A specification of the US: all that are filled are known here."""


def _says(row: RuleRow, name: str) -> bool:
    return getattr(row, name) not in (None, ())


def _has_beside(row: RuleRow | WatchRow) -> TypeGuard[RuleRow]:
    return isinstance(row, RuleRow) and not row.drop


def _unmade(row: RuleRow | WatchRow) -> str:
    """The dates of making that no date lies between, or an empty text."""
    to = row if isinstance(row, WatchRow) else row.applies_to
    if to is None or to.made_from is None or to.made_before is None:
        return ""
    empty = to.made_from.first >= to.made_before.first
    return f"from {to.made_from} and before {to.made_before}" if empty else ""


def _is_empty(row: WatchRow) -> bool:
    """Whether the two ends of a range are of two shapes, or stand the wrong way round."""
    if row.serial_from is None or row.serial_to is None:
        one = row.serial_from or row.serial_to
        return one is not None and not numbered(one).digits
    first, last = numbered(row.serial_from), numbered(row.serial_to)
    return first.letters != last.letters or not last.digits or last.number < first.number


def _of_same_id(row: RuleRow | WatchRow, shipped: RuleRow | WatchRow) -> OwnRow:
    looser = looser_in(row, shipped)
    if not looser:
        return OwnRow(row, shipped)
    ways = "; ".join(looser)
    if is_binding(shipped):
        fault = f"{row.id} would loosen {_rests_on(shipped)} ({ways}): the shipped row stays"
        return OwnRow(row, shipped, looser, "row-loosens", fault, STRICTER)
    unsaid = _unsaid(row)
    if unsaid:
        fault = f"{row.id} loosens practice ({ways}) and does not say {', '.join(unsaid)}"
        mend = "say who decided (`by`), `why`, and from when (`since`), or make it as strict"
        return OwnRow(row, shipped, looser, "row-unnamed", fault, mend)
    return OwnRow(row, shipped, looser)


def is_binding(row: RuleRow | WatchRow) -> bool:
    """Whether a row is more than shop practice: no row of a ledger's own may loosen it."""
    return isinstance(row, WatchRow) or row.basis is not Basis.PRACTICE or row.never_overridden


def _rests_on(row: RuleRow | WatchRow) -> str:
    if row.basis is not Basis.PRACTICE:
        return f"a shipped row of {row.basis}"
    return "a notice" if isinstance(row, WatchRow) else "what nobody may override"


# --- rows that stand for no shipped one ----------------------------------------------------------


def _of_new(row: RuleRow | WatchRow, rules: Mapping[str, RuleRow]) -> OwnRow:
    """A new row adds a demand, and the strictest counts; a grant would loosen."""
    if row.drop:
        fault = f"{row.id} takes out a row that is not in force"
        return OwnRow(row, None, (), "row-unknown", fault, "read the shipped row's id again")
    for code, fault, mend in _grants(row, rules):
        return OwnRow(row, None, (), code, fault, mend)
    unmade, nothing = _unmade(row), _says_nothing(row, rules)
    if unmade:
        fault = f"{row.id}: nothing was made {unmade}"
        return OwnRow(row, None, (), "row-range", fault, "read both dates again")
    if nothing:
        fault = f"{row.id}: {nothing}, so it would say nothing"
        return OwnRow(row, None, (), "row-unheard", fault, "correct it, or take it out")
    return OwnRow(row)


def _grants(
    row: RuleRow | WatchRow, rules: Mapping[str, RuleRow]
) -> Iterator[tuple[str, str, str]]:
    """What a new row would grant that no shipped row does: code, fault and mend."""
    if isinstance(row, WatchRow):
        if clears(row):
            fault = (
                f"{row.id} clears cylinders of 6351 ({row.alloy}), which no ledger's own row can"
            )
            mend = "write `alloy` and `alloy_known_from` on each card"
            yield "row-clears-alloy", fault, mend
    elif row.obligation is Obligation.PLUS_FILL:
        fault = f"{row.id} would fill above the mark, which no ledger's own row can grant"
        yield "row-grants-plus", fault, "take it out; a stricter row takes the shipped row's id"
    elif row.obligation is Obligation.AIR_LIMITS:
        yield from _new_standard(row, rules)


def _new_standard(row: RuleRow, rules: Mapping[str, RuleRow]) -> Iterator[tuple[str, str, str]]:
    """An air standard of the ledger's own is as strict as some shipped one for diving. Limits that
    name none are of every sample, besides those of its standard."""
    name = row.applies_to.standard if row.applies_to else None
    if name is None and row.limits is not None and row.limits.limited:
        return
    known = [r for r in rules.values() if r.obligation is Obligation.AIR_LIMITS and r.limits]
    if name is not None and any(_standard(r) == name for r in known):
        return
    strict = row.limits is not None and any(
        limits_within(row.limits, r.limits) for r in known if r.for_diving and r.limits
    )
    if name is None or not strict:
        fault = f"{row.id} gives air limits that are laxer than every shipped standard for diving"
        mend = (
            "limit everything that one of them limits, at least as low; `tankbook rules` shows them"
        )
        yield "row-lax-air", fault, mend


def _standard(row: RuleRow) -> str | None:
    return row.applies_to.standard if row.applies_to else None
