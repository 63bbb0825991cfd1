"""Whatever is corrected in a ledger, and however: nothing is written that `validate` then refuses
unasked, and what is refused says what to do instead."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from cove import small_cove
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sweep import tries

from tankbook.acts.correct import correct
from tankbook.acts.soundness import SLIPS, UNDECIDED
from tankbook.acts.striking import Wrong
from tankbook.ledger.apply import changes_of
from tankbook.ledger.load import load
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.fields import Record, attributes_of, keys_of
from tankbook.records.node import Severity
from tankbook.records.station import struck_from
from tankbook.rules.checks import check

TODAY = dt.date(2026, 11, 25)
NOW = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
COUNTER = """\
certified:
  - {on: 2026-11-20, by: KD, reference: B-5433, level: nitrox}
stolen:
  - {on: 2026-10-01, by: KD, serial: ZQ 771204, why: police notice}
refused:
  - {on: 2026-10-01, by: KD, reasons: [no test], serial: ZQ 88}
"""
OWN = {*SLIPS, *UNDECIDED, "reason-says-nothing", "removed-unsaid", "station-struck-out"}
"""What is wrong with a correction itself, and no fact that it tells."""


class Asked(NamedTuple):
    """A correction: of what, which, and what is right, by key."""

    id: str
    what: str
    when: str
    changes: tuple[tuple[str, str], ...] = ()
    why: str = "wrong card"


class Cove(NamedTuple):
    """A part of the example ledger on disk, and what is at fault in it."""

    root: Path
    book: Book
    faults: frozenset[tuple[str, str]]


def read(root: Path) -> tuple[Book, frozenset[tuple[str, str]]]:
    book = load(root, today=TODAY, clock=TODAY)
    found = (f for f in check(book, TODAY) if f.severity is Severity.FAULT)
    return book, frozenset((f.code, f.text) for f in found)


COVES: list[Cove] = []


@pytest.fixture(scope="module", autouse=True)
def _cove(tmp_path_factory: pytest.TempPathFactory) -> None:
    root = small_cove(tmp_path_factory.mktemp("cove") / "ledger")
    (root / "counter.yaml").write_text(COUNTER)
    COVES[:] = [Cove(root, *read(root))]


def entries(book: Book) -> Iterator[tuple[str, str, Record]]:
    """Every entry that can be struck out, with what it is called by."""
    for id_, record in {**book.cylinders, **book.sets, "counter": book.counter}.items():
        assert record is not None
        for name, attribute in attributes_of(type(record)).items():
            every = getattr(record, attribute)
            if isinstance(every, tuple):
                yield from ((id_, name, e) for e in every if hasattr(e, "void"))
    assert book.station is not None
    for name, steps in struck_from(book.station).items():
        held: Any = book.station
        for step in steps:
            held = held[step] if isinstance(step, int) else getattr(held, step)
        yield from (("station", name, each) for each in held or ())


@cache
def forms() -> tuple[Asked, ...]:
    """Every form of a correction: each entry and line struck out, and each key of it set anew."""
    [cove] = COVES
    book = cove.book
    found = [
        Asked(id_, what, str(getattr(entry, "on", "")), changes)
        for id_, what, entry in entries(book)
        for changes in sets(entry)
    ]
    lines = book.log[-40:]
    found += [Asked(n.cylinder, n.act, n.at.isoformat(), s) for n in lines for s in sets(n)]
    for id_, record in {**book.cylinders, **book.sets}.items():
        notes = ((), (("note", "another"),), (("note", "-"),), (("note", "cracked at the neck"),))
        found += [Asked(id_, "note", "", s) for s in notes if getattr(record, "note", None)]
    found += [Asked("ledger", "removed", name) for name in ("rules/shop.yaml", "notes")]
    found += [Asked("RB-014", "removed", "held 2020-01-01"), Asked("RB-014", "nothing", "")]
    return tuple(a._replace(why=why) for a in found for why in ("wrong card", "x", "-", ""))


def sets(entry: Record) -> Iterator[tuple[tuple[str, str], ...]]:
    yield ()
    for name, each in keys_of(type(entry)).items():
        yield from (((name, text),) for text in ("", each.example) if name != "void")
    for odd in (("on", "2027-01-05"), ("on", "1980-01-01"), ("by", "ZZ"), ("by", "nobody")):
        yield (odd,)


def planned(asked: Asked, by: str = "KD") -> Act | Refusal:
    [cove] = COVES
    wrong = Wrong(asked.what, asked.when, asked.why, dict(asked.changes))
    return correct(cove.book, asked.id, wrong, by=by, now=NOW, on=TODAY)


WHATEVER = settings(deadline=None, suppress_health_check=list(HealthCheck))


@settings(WHATEVER, max_examples=tries(12, 600))
@given(st.data())
def test_what_is_corrected_is_no_fault_of_the_correction(data: st.DataObject) -> None:
    is_sound(data.draw(st.sampled_from(forms())))


def is_sound(asked: Asked) -> None:
    act = planned(asked)
    if isinstance(act, Refusal):
        return
    found = after(act)
    silent = [text for _, text in found if not any(text in note for note in act.notes)]
    assert not silent
    assert not OWN & {code for code, _ in found}


KNOWN = [
    Asked("DB-01", "note", "", (("note", "steel"),), "x"),
    Asked("DB-01", "note", "", (("note", "steel"),)),
    Asked("RB-014", "requalified", "2016-10", (), "x"),
    Asked("RB-021", "inspected", "2026-03-02", (("on", "2027-01-05"),)),
    Asked("station", "hours", "2026-06-30", (), "x"),
    Asked("station", "hours", "2026-06-30", (("on", "2027-01-05"),)),
    Asked("DB-01", "rented", "2025-08-22", (("back", "2026-11-28"),)),
    Asked("DB-01", "rented", "2026-09-18", (("on", "1980-01-01"),)),
    Asked("ledger", "removed", "rules/other.yaml", (), "-"),
    Asked("counter", "certified", "2026-11-20", (("on", "2027-01-05"),)),
    Asked("counter", "certified", "2026-11-20", (), "x"),
    Asked("RB-021", "fill", "2026-09-30", (("gas", ""),)),
    Asked("RB-021", "fill", "2026-09-30", (("at", "2027-01-05T10:00:00+00:00"),)),
]
"""What was written once and refused by `validate` then, or told by nobody."""


@pytest.mark.parametrize("asked", KNOWN, ids=str)
def test_what_was_written_and_a_fault_once(asked: Asked) -> None:
    is_sound(asked)


def test_every_one_of_those_is_of_something_that_is_there() -> None:
    for asked in KNOWN:
        if asked.id != "ledger":
            changes = () if asked.what != "note" else (("note", "other"),)
            told = planned(asked._replace(why="wrong card", changes=changes))
            assert isinstance(told, Act), told


def after(act: Act) -> set[tuple[str, str]]:
    """What is at fault after an act that was not before; the ledger is left as it was."""
    [cove] = COVES
    changes = changes_of(lambda path: _bytes(cove.root / path), act)
    before = {change.path: _bytes(cove.root / change.path) for change in changes}
    try:
        for change in changes:
            (cove.root / change.path).write_bytes(change.new)
        return set(read(cove.root)[1] - cove.faults)
    finally:
        for path, text in before.items():
            (cove.root / path).write_bytes(text or b"")


def _bytes(path: Path) -> bytes | None:
    return path.read_bytes() if path.exists() else None


SAYS_SO = ("let somebody certified do it (--by)", ": it has ", ": say in words", "--why is empty")
"""How a reason says what to do that is no clause of its own."""


@settings(WHATEVER, max_examples=tries(150, 5000))
@given(st.data(), st.sampled_from(["KD", "TO", "ZZ", ""]))
def test_what_is_not_corrected_says_what_to_do(data: st.DataObject, by: str) -> None:
    act = planned(data.draw(st.sampled_from(forms())), by)
    for reason in act.reasons if isinstance(act, Refusal) else ():
        mend = reason.partition(";")[2].strip()
        known = any(said in reason for said in (*SAYS_SO, "give --by", "is not among the people"))
        assert mend or known, reason


@pytest.mark.parametrize(
    ("asked", "by", "mend"),
    [
        (Asked("RB-014", "inspected", "2031"), "KD", "write the date of one of these: "),
        (Asked("RB-014", "held", ""), "KD", "what is right is recorded as if nothing had been"),
        (Asked("RB-014", "drain", ""), "KD", "`tankbook history RB-014` tells"),
        (Asked("RB-021", "fill", "2031"), "KD", "write the time of one of the last: "),
        (Asked("RB-021", "fill", "2026-09-30", (("colour", "x"),)), "KD", "it has at, cylinder, "),
        (
            Asked("RB-014", "inspected", "2026-03-02", (("findings[9].note", "x"),)),
            "KD",
            "it has 1 of them",
        ),
        (
            Asked("RB-021", "inspected", "2026-03-02", (("findings[1].note", "x"),)),
            "KD",
            "enter them all: --set KEY=[{..}]",
        ),
        (Asked("DB-02", "note", "", (("note", "x"),)), "KD", "LIST DATE --set note=TEXT"),
        (Asked("DB-01", "note", "", (("note", "steel backplate, DIN 300"),)), "KD", "say it otherwise"),
        (Asked("RB-014", "inspected", "2026-03-02"), "TO", "let somebody certified do it (--by)"),
        (Asked("station", "hours", "2026-06-30", (("on", "2027-01-05"),)), "KD", "write a day up to"),
        (Asked("station", "hours", "2026-06-30", (("reads", "9 h"),)), "KD", "read it again; "),
        (Asked("RB-021", "fill", "2026-09-30", (), "x"), "KD", "say in words what is wrong"),
    ],
)  # fmt: skip
def test_the_mend_of_a_correction_that_is_refused(asked: Asked, by: str, mend: str) -> None:
    act = planned(asked, by)
    assert isinstance(act, Refusal)
    assert any(mend in reason for reason in act.reasons), act.reasons
