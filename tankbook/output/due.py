"""What is due: one line an obligation, most urgent first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Container, Iterable, Sequence
from typing import Any, TypeVar

from tankbook.output.page import Page, counted, plain_date
from tankbook.output.tables import Column, Table
from tankbook.output.words import NOT_ADVICE, Sources, obligation
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Status
from tankbook.rules.answers import Due, DueKind, State, Tally
from tankbook.rules.lapsed import mend_of


def subject(item: Due) -> str:
    """The id an obligation is listed under: a station's part, a person's initials and skill."""
    if item.kind is DueKind.STATION:
        return item.part or item.id
    return f"{item.id} {item.part}" if item.kind is DueKind.PERSON and item.part else item.id


def named(item: Due) -> str:
    """The same as people read it; of a set, which of its cylinders it is of: `DB-02 RB-044`."""
    return f"{item.id} {item.part}" if item.kind is DueKind.SET else subject(item)


def side(item: Due) -> str | None:
    """The cylinder of a set that an obligation is of."""
    return item.part if item.kind is DueKind.SET else None


def hours(item: Due) -> float | None:
    """Hours to run, negative when past a filter's life; None for what runs in days."""
    if item.hours_left is None:
        return None
    return -item.hours_left.hours if item.hours_over else item.hours_left.hours


def left(item: Due) -> str:
    """What is left: `12 d`, `-3 d`, `17.5 h`, or `no end`."""
    if item.hours_left is not None:
        return f"{'-' if item.hours_over else ''}{item.hours_left}"
    return "no end" if item.days_left is None else f"{item.days_left} d"


def next_said(item: Due) -> dt.date | str | None:
    """The last day that it holds; where that is reckoned from running hours, no more than its
    month: `about 2027-05`."""
    return item.next or (f"about {item.expected:%Y-%m}" if item.expected else None)


FAILED = "FAILED"


def alarm_of(*, missing: bool, failed: bool) -> str:
    """The one word for what is not kept: `FAILED`, `OVERDUE`, `NOT ON RECORD`."""
    return FAILED if failed else "NOT ON RECORD" if missing else "OVERDUE"


def alarm(item: Due) -> str:
    """The same of an obligation; empty where it is kept."""
    missing = item.state is State.MISSING
    return alarm_of(missing=missing, failed=item.failed) if item.is_open else ""


def late_word(items: Iterable[Due]) -> str:
    """What a list of what is overdue is called: `overdue`, `overdue or failed`."""
    return LATE_WORDS[any(item.failed for item in items)]


LATE_WORDS = {False: "overdue", True: "overdue or failed"}


def late_by(item: Due) -> str:
    """By how much what is overdue is late; of what failed there are no days to tell."""
    return FAILED if item.failed else left(item).removeprefix("-")


def _stands(item: Due) -> str:
    """How an obligation stands: `76 d`, `12 d SOON`, `289 d LATE`, `FAILED`, `MISSING`."""
    if item.state is State.MISSING or item.failed:
        return FAILED if item.failed else "MISSING"
    if item.state is State.OVERDUE:
        return f"{late_by(item)} LATE"
    return f"{left(item)} SOON" if item.state is State.SOON else left(item)


STANDS = {
    Status.HELD: "held",
    Status.AT_TEST: "at test",
    Status.AT_REPAIR: "at repair",
    Status.OUT: "out",
}
"""How people read that a cylinder is kept, out or away."""


def notes(item: Due) -> list[str]:
    """What else is known of an obligation: `held`, `out`, `a hydro by 30 Nov 2026 spares it`; of a
    gauge that it reads above true."""
    found = [*_beware(item), *(STANDS[status] for status in item.stands)]
    if item.spared is not None:
        act = item.spared.act.called
        found.append(f"{a_or_an(act)} {act} by {plain_date(item.spared.on)} spares it")
    return found


def _beware(item: Due) -> list[str]:
    return [item.beware] if item.beware else []


def a_or_an(word: str) -> str:
    """The article of a word that is written as it sounds."""
    return "an" if word[0] in "aeiou" else "a"


Line = tuple[str, tuple[DueKind, str, str, Obligation]]
"""A line of a list: the id it stands under, and whose obligation it tells."""


def _line(item: Due) -> Line:
    return item.id, item.owner


def repeats(dues: Iterable[Due]) -> frozenset[Line]:
    """The lines of sets that tell again what another line of the list tells, its cylinder's own
    or that of a set before: those left are as many as `Tally` counts."""
    items = list(dues)
    told = {d.owner for d in items if d.kind is not DueKind.SET}
    found = set()
    for item in items:
        if item.kind is DueKind.SET and item.owner in told:
            found.add(_line(item))
        told.add(item.owner)
    return frozenset(found)


def note(item: Due, again: Container[Line] = ()) -> str:
    """The same, for a column: `held`, `out, spared`; of a line of a set that is among those told
    `again`, of which cylinder it was counted: `also RB-044`."""
    found = [f"also {item.part}"] if _line(item) in again else []
    found += [*_beware(item), *(STANDS[status] for status in item.stands)]
    return ", ".join([*found, "spared"] if item.spared is not None else found)


T = TypeVar("T")


def kept_columns(of: Callable[[T], Sequence[Status]]) -> tuple[Column[T], Column[T]]:
    """Where the cylinder of a line is kept, out or away: for programs a list, for a spreadsheet a
    text."""

    def said(line: T) -> str | None:
        return ", ".join(of(line)) or None

    return Column[T]("kept", of, csv=False), Column[T]("kept", said, json=False)


def _kept(item: Due) -> Sequence[Status]:
    return item.stands


def _precision(item: Due) -> str | None:
    if item.next is None:
        return None
    return "month" if item.whole_month else "day"


def _columns(sources: Sources | None = None, dues: Sequence[Due] = ()) -> Table[Due]:
    """What `due` says of an obligation; with `sources`, people are told the rules' numbers, with
    the `dues` listed what spares one, where its cylinder is kept, and which are told twice."""
    again = repeats(dues)
    noted = any(note(d, again) for d in dues)

    def cited(item: Due) -> int | None:
        return sources.number(item.row) if sources is not None and item.row else None

    return Table[Due](
        Column("kind", lambda d: d.kind),
        Column("id", subject),
        Column("", named, "id"),
        Column("side", side),
        Column("obligation", lambda d: d.obligation, "what", obligation, wrap=True),
        Column("last", lambda d: d.last, "last"),
        Column("next", lambda d: d.next),
        Column("", next_said, "next"),
        Column("days_left", lambda d: d.days_left),
        Column("hours_left", hours),
        Column("expected", lambda d: d.expected),
        Column("", _stands, "left", right=True),
        Column("", lambda d: note(d, again) or None, "note" if noted else None, none="", wrap=True),
        Column("", cited, "rule" if sources else None, none="none", right=True),
        Column("state", lambda d: d.state),
        Column("why", lambda d: d.why or None),
        Column("rule", lambda d: d.rule or None),
        Column("citation", lambda d: d.citation),
        Column("basis", lambda d: d.row.basis if d.row else None, csv=False),
        Column("verified", lambda d: d.row.verified if d.row else None, csv=False),
        Column("failed", lambda d: d.failed),
        Column("precision", _precision),
        Column("spared_by", lambda d: d.spared.act if d.spared else None),
        Column("spared_until", lambda d: d.spared.on if d.spared else None),
        *kept_columns(_kept),
        Column("also", lambda d: d.part if _line(d) in again else None),
        Column("beware", lambda d: d.beware or None),
    )


def columns(dues: Sequence[Due]) -> Table[Due]:
    """The columns for programs, of this list: which of its lines tell another's again is among
    them."""
    return _columns(dues=dues)


def data(dues: Iterable[Due]) -> list[dict[str, Any]]:
    """The JSON shape of `due`, and of every list of obligations in another answer."""
    items = list(dues)
    return columns(items).objects(items)


def lines(dues: Sequence[Due], page: Page) -> str:
    """The table alone."""
    return _told(_columns(dues=dues), dues, page)


def _told(columns: Table[Due], dues: Sequence[Due], page: Page) -> str:
    """A table; where the page is too narrow for it, its lines as sentences."""
    return columns.text(dues, page, lambda item: _sentence(columns, item, page))


def _sentence(columns: Table[Due], item: Due, page: Page) -> str:
    """`RB-044 hydro: 61 d LATE; last 2021-09; next 2026-09-30; rule 4`."""
    said = dict(zip(columns.heads, next(columns.rows([item], page)), strict=True))
    rest = (f"{key} {said[key]}" for key in ("last", "next", "rule") if said.get(key, "-") != "-")
    noted = [said["note"]] if said.get("note") else []
    named = whole_name(said["id"], said["what"])
    stands = f"{said['left']} left" if item.state is State.OK and item.by else said["left"]
    return f"{named}: {'; '.join([stands, *noted, *rest])}"


def sourced(dues: Sequence[Due], page: Page, between: str = "") -> list[str]:
    """The table with a column of the rules' numbers, what stands `between`, and the rules."""
    sources = Sources()
    columns = _columns(sources, dues)
    return [_told(columns, dues, page), between, "\n".join(sources.lines(page))]


def whole_name(subject: str, called: str) -> str:
    """A subject with its obligation: `RB-014 hydro`; `air test`, not `air air test`."""
    return called if called.startswith(f"{subject} ") else f"{subject} {called}"


OWNERS = {
    DueKind.CYLINDER: "of cylinders",
    DueKind.STATION: "of the station",
    DueKind.PERSON: "of people",
}


def overdue(tally: Tally) -> str:
    """How many obligations are overdue, and of what: `6 overdue (5 of cylinders, 1 of people)`,
    `5 overdue, of cylinders`; with what failed among them `7 overdue or failed (...)`."""
    if not tally.late:
        return "nothing overdue"
    said = f"{tally.late} {LATE_WORDS[bool(tally.failed)]}"
    if len(tally.overdue) == 1:
        return f"{said}, {OWNERS[tally.overdue[0][0]]}"
    return f"{said} ({of_what(tally.overdue)})"


def of_what(counts: Iterable[tuple[DueKind, int]]) -> str:
    """Counts by kind: `5 of cylinders, 1 of people`."""
    return ", ".join(f"{count} {OWNERS[kind]}" for kind, count in counts)


def headline(dues: Sequence[Due], today: dt.date, horizon: dt.date) -> str:
    """The answer in one line: how much is overdue, unanswered, and due by `horizon`."""
    tally = Tally.of(dues)
    parts = [overdue(tally)]
    if tally.unknown:
        parts.append(f"{tally.unknown} not on record")
    soon = len({d.owner for d in dues if _comes(d, horizon)})
    parts.append(f"{soon} due within {counted((horizon - today).days, 'day')}")
    return "; ".join(parts)


def _comes(item: Due, horizon: dt.date) -> bool:
    """Whether what is met now falls due by a day, known or reckoned from running hours; what runs
    in hours also when few are left."""
    if item.is_open:
        return False
    by_hours = item.next is None and item.state is State.SOON
    return by_hours or (item.by is not None and item.by <= horizon)


def within(dues: Iterable[Due], horizon: dt.date) -> list[Due]:
    """What is overdue or not on record, what falls due by `horizon`, and what is known against what
    is in date."""
    return [d for d in dues if d.is_open or d.beware or _comes(d, horizon)]


def spared_lines(dues: Iterable[Due]) -> list[str]:
    """Of what is spared, by which act and by when that is to be done."""
    found = []
    for item in dues:
        if item.spared is not None:
            act = item.spared.act.called
            said = f"spared by {a_or_an(act)} {act} done by {item.spared.on}"
            found.append(f"{named(item)} {obligation(item.obligation)}: {said}")
    return found


def text(
    dues: Sequence[Due], shown: Sequence[Due], today: dt.date, horizon: dt.date, page: Page
) -> str:
    """The headline over all `dues`, a table of the `shown` ones and the rules they rest on."""
    again = repeats(shown)
    once = [d for d in shown if _line(d) not in again]
    whys = [
        "; ".join(filter(None, (f"{named(d)} {obligation(d.obligation)}: {d.why}", mend_of(d))))
        for d in once
        if d.why
    ]
    whys += spared_lines(once)
    more = len(dues) - len(shown)
    said = sourced(shown, page, page.paragraphs(whys, hang="  "))
    rest = f"{more} more are in date; --all lists them." if more else ""
    ends = (page.wrap(each) for each in (rest, NOT_ADVICE))
    return page.answer(headline(dues, today, horizon), *said, *ends)
