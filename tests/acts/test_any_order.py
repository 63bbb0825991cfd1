"""Acts in any order: each is refused with its reasons, or leaves the ledger sound; and what was
known on a day stays what was known, whatever is recorded later."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import acting
import books
import pytest
from acting import Shelf
from changing import replace
from hypothesis import given, settings
from hypothesis import strategies as st
from sweep import tries

from tankbook.acts.away import back, refit, send
from tankbook.acts.bench import Read
from tankbook.acts.correct import correct
from tankbook.acts.fill import Filling, Wanted, fill
from tankbook.acts.hold import hold, release
from tankbook.acts.inspect import Look, inspect
from tankbook.acts.jobs import News, collect, done, open_job, update
from tankbook.acts.lost import after_count
from tankbook.acts.open_against import open_against
from tankbook.acts.reading import Shown, drain, read_gauges
from tankbook.acts.refuse import refuse
from tankbook.acts.reject import condemn, reject
from tankbook.acts.rent import Going, rent
from tankbook.acts.requalify import Test, requalify
from tankbook.acts.return_ import Back, return_
from tankbook.acts.station_upkeep import read_banks
from tankbook.acts.striking import Wrong
from tankbook.acts.walk import passed_except, steps_for
from tankbook.ledger.apply import changes_of
from tankbook.output import as_json
from tankbook.output import board as board_output
from tankbook.output import card as card_output
from tankbook.output import due as due_output
from tankbook.output import listing as listing_output
from tankbook.output import may_fill as may_fill_output
from tankbook.output import rentals as rentals_output
from tankbook.output import workshop as workshop_output
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import StepFinding
from tankbook.records.log import LogLine, columns
from tankbook.records.words import (
    Bled,
    JobState,
    Method,
    Seen,
    SentFor,
    StepResult,
    ValvePosition,
    Work,
)
from tankbook.rules.board import board
from tankbook.rules.bookings import rental_board
from tankbook.rules.checks import check
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.rental import is_ready
from tankbook.rules.schedule import due
from tankbook.rules.status import status_from_entries, status_of
from tankbook.rules.stock import count_of
from tankbook.rules.workshop import workshop_board
from tankbook.units import GaugePressure, PartialDate

DOCS = Path(__file__).parents[2] / "docs"
Plan = Callable[[Book, str, dt.datetime], Act | Refusal]
LISTS = ("held", "sent", "rejected", "condemned", "requalified", "inspected", "rented", "lost")


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def paper(book: Book, id_: str, at: dt.datetime, failed: str) -> Act | Refusal:
    """A test; one that passes answers everything a test may answer, so far as it can be named."""
    names = [o.name for o in open_against(book, book.cylinders[id_]) if not o.for_ever]
    names = [n for n in names if not n.startswith("damage")] or ["none"]
    test = Test(
        PartialDate.of(at.date()),
        Method.HYDROSTATIC,
        "T123",
        failures={id_: failed} if failed else {},
        clears={} if failed else {id_: tuple(names)},
        findings={} if failed else {id_: "no crack found"},
    )
    return requalify(book, [id_], test, at.date())


def look(
    book: Book, id_: str, at: dt.datetime, *found: StepFinding, answers: bool
) -> Act | Refusal:
    followed = book.checklists["annual"]
    steps = steps_for(followed, book.cylinders[id_])
    given_ = passed_except(steps, {f.step: f for f in found})
    opens = open_against(book, book.cylinders[id_])
    names = tuple(
        o.name for o in opens if answers and o.what in {"held", "inspected", "damage", "rejected"}
    )
    why = "looked over" if any(n.startswith("held") for n in names) else ""
    read = Read(neck_thread="3/4-14 NPSM", valve_thread="3/4-14 NPSM")
    one = Look(id_, given_, read, clears=names, why=why)
    return inspect(
        book, [one], checklist="annual", by="MV", on=at.date(), at=at.time(), bled=Bled.HEARD
    )


def struck(name: str) -> Plan:
    """Strikes out the last entry of a list that stands."""

    def plan(book: Book, id_: str, at: dt.datetime) -> Act | Refusal:
        stand = [e for e in getattr(book.cylinders[id_], name) if e.void is None]
        when = f"{stand[-1].on}#{sum(e.on == stand[-1].on for e in stand)}" if stand else ""
        wrong = Wrong(name, when, "wrong card")
        return correct(book, id_, wrong, by="MV", on=at.date(), now=at)

    return plan


def counted(book: Book, id_: str, at: dt.datetime, *, here: bool) -> Act | Refusal:
    """A count in which a cylinder is found, or is the only one missing."""
    others = [i for i in book.cylinders if i != id_]
    found = count_of(book, [id_, *others] if here else others)
    lost = [i for i, why in found.unexpected if "lost" in why]
    where = dict.fromkeys(lost, "behind the rack")
    return after_count(
        book, found, by="MV", on=at.date(), missing_are_lost=not here, found_why=where
    )


GOUGE = StepFinding(step="cuts-and-dents", result=StepResult.HOLD, what=Seen.GOUGE, note="deep")
LINE = StepFinding(
    step="neck-cracks", result=StepResult.HOLD, what=Seen.SUSPECTED_CRACK, count=1, position="top"
)
OUT_OF_ROUND = StepFinding(step="cuts-and-dents", result=StepResult.REJECT, what=Seen.BULGE)
LOOKED = Filling(by="MV", source="B1", looked=True)

PLANS: dict[str, Plan] = {
    "hold": lambda b, i, t: hold(b, [i], why=f"dent {t:%d %H}", by="MV", on=t.date(), at=t.time()),
    "release": lambda b, i, t: release(b, [i], why="gauged", by="MV", on=t.date(), every=True),
    "send": lambda b, i, t: send(
        b, [i], to="N", for_=SentFor.REQUALIFICATION, by="MV", on=t.date()
    ),
    "repair": lambda b, i, t: send(b, [i], to="N", for_=SentFor.REPAIR, by="MV", on=t.date()),
    "back": lambda b, i, t: back(b, [i], by="MV", on=t.date()),
    "refitted": lambda b, i, t: back(b, [i], by="MV", on=t.date(), refitted=True),
    "refit": lambda b, i, t: refit(b, [i], by="MV", on=t.date()),
    "reject": lambda b, i, t: reject(
        b, i, why="pit", by="MV", on=t.date(), told="letter", at=t.time()
    ),
    "test": lambda b, i, t: paper(b, i, t, ""),
    "failed": lambda b, i, t: paper(b, i, t, "leak"),
    "condemn": lambda b, i, t: condemn(
        b, i, why="crack", by="T123", on=PartialDate.of(t.date()), marked="X"
    ),
    "pass": lambda b, i, t: look(b, i, t, answers=False),
    "answer": lambda b, i, t: look(b, i, t, answers=True),
    "gouge": lambda b, i, t: look(b, i, t, GOUGE, answers=False),
    "line": lambda b, i, t: look(b, i, t, LINE, answers=False),
    "bulge": lambda b, i, t: look(b, i, t, OUT_OF_ROUND, answers=False),
    "lost": lambda b, i, t: counted(b, i, t, here=False),
    "found": lambda b, i, t: counted(b, i, t, here=True),
    "rent": lambda b, i, t: rent(b, [Going(i)], to="B-1", until=None, by="MV", at=t),
    "return": lambda b, i, t: return_(
        b, [Back(i, (psi(600),), ValvePosition.CLOSED)], by="MV", at=t
    ),
    "damaged": lambda b, i, t: return_(
        b, [Back(i, (psi(0),), ValvePosition.OPEN, "boot torn")], by="MV", at=t
    ),
    "take in": lambda b, i, t: open_job(
        b, [i], News(work=(Work.VISUAL,), reference="C-1"), by="MV", on=t.date()
    ),
    "parts": lambda b, i, t: update(
        b, [i], News(state=JobState.AWAITING_PARTS), by="MV", on=t.date()
    ),
    "done": lambda b, i, t: done(b, [i], by="MV", on=t.date(), told_how="telephone"),
    "collect": lambda b, i, t: collect(b, [i], by="MV", on=t.date(), note="travels"),
    "refuse": lambda b, i, t: refuse(b, [i], by="MV", on=t.date(), reasons=["dent"]),
    **{f"strike {name}": struck(name) for name in LISTS},
}
"""Acts whose records are all the day's own: they leave no fault behind."""

LOGGED: dict[str, Plan] = {
    "fill": lambda b, i, t: fill(b, [Wanted(i, psi(2900))], LOOKED, at=t),
    "bled": lambda b, i, t: fill(b, [Wanted(i, psi(3040), bled=psi(2950))], LOOKED, at=t),
    "happened": lambda b, i, t: fill(
        b, [Wanted(i, psi(3200))], Filling(by="MV", source="B1", happened="crept"), at=t
    ),
    "read": lambda b, i, t: read_gauges(b, [Shown(i, psi(1000))], by="MV", at=t),
    "drain": lambda b, i, t: drain(b, [Shown(i, psi(0))], by="MV", at=t),
    "strike line": lambda b, i, t: correct(
        b, i, Wrong("log", last_line(b, i), "misread"), by="MV", on=t.date(), now=t
    ),
    "banks": lambda b, i, t: read_banks(b, {"B1": psi(4000)}, by="MV", on=t.date()),
}
"""Acts of the log and the station: what they bring to light is told."""


def last_line(book: Book, id_: str) -> str:
    lines = [n.at.isoformat() for n in book.log if n.cylinder == id_ and n.act != "void"]
    return lines[-1] if lines else "none"


IDS = ["RB-014", "RB-015"]
BEGIN = dt.datetime.fromisoformat("2026-04-01T09:00:00+00:00")
STATION = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
air_tests:
  - {on: 2026-03-12, by: Example Air Lab, standard: cga-grade-e, result: pass}
regulator_set: 3000 psi
"""


FILLED = "2026-03-30T09:30:00+00:00,{},fill,,2900 psi,70 degF,air,,,MV,,B1,,,,\n"
CARD = books.GOOD.replace("disc: 5000 psi", "disc: 5000 psi, dip_tube: yes")
"""A card that lacks nothing an inspection would write on it: such facts tell no day."""


def opening() -> Shelf:
    cards = {f"RB_01{n}": CARD.replace("K118204", f"K11820{n}") for n in (4, 5, 6)}
    shelf = acting.shelf(station=STATION, **cards)
    lines = [FILLED.format(each) for each in ("RB-014", "RB-015")]
    shelf.texts["fills/2026.csv"] = "".join([",".join(columns(LogLine)) + "\n", *lines])
    del shelf.texts["sets/DB-02.yaml"]
    return shelf


def walks(plans: dict[str, Plan]) -> Any:
    return st.lists(
        st.tuples(st.sampled_from(sorted(plans)), st.sampled_from(IDS), st.integers(0, 9)),
        min_size=1,
        max_size=14,
    )


def record(shelf: Shelf, act: Act) -> None:
    read = {path: text.encode() for path, text in shelf.texts.items()}
    for change in changes_of(read.get, act):
        shelf.texts[change.path] = change.new.decode()


def faults(book: Book, day: dt.date) -> list[Any]:
    return [f for f in check(book, day) if f.severity == "fault"]


OF_FILLS = {"filled-while", "out-of-date"}
"""What an act may bring to light of the fills before it; it is told."""


@settings(max_examples=tries(40, 400), deadline=None)
@given(walks(PLANS))
def test_acts_in_any_order_keep_the_ledger_sound(steps: list[tuple[str, str, int]]) -> None:
    shelf, at, told = opening(), BEGIN, ""
    for name, id_, days in steps:
        at += dt.timedelta(days=days, minutes=7)
        before = dict(shelf.texts)
        got = PLANS[name](replace(shelf.book, clock=at.date()), id_, at)
        if isinstance(got, Refusal):
            assert got.reasons
            continue
        record(shelf, got)
        book = shelf.book
        told += "\n".join(got.notes)
        wrong = [f for f in faults(book, at.date()) if f.text not in told]
        assert [str(f) for f in wrong] == []
        assert {f.code for f in faults(book, at.date())} <= OF_FILLS
        cylinder = book.cylinders[id_]
        assert cylinder.status is status_of(book, cylinder)
        assert status_from_entries(cylinder) in {cylinder.status, None}
        kept = [line for line in before[f"cylinders/{id_}.yaml"].splitlines() if "- {" in line]
        after = shelf.texts[f"cylinders/{id_}.yaml"]
        assert all(_beginning(line) in after for line in kept), "an entry is gone"


def _beginning(line: str) -> str:
    """What of an entry's line never changes: all but its end, and its sticker, which is voided."""
    return line.rstrip("}]").partition(", sticker")[0]


@settings(max_examples=tries(25, 200), deadline=None)
@given(walks({**PLANS, **LOGGED}))
def test_what_an_act_brings_to_light_is_told_with_it(steps: list[tuple[str, str, int]]) -> None:
    shelf, at = opening(), BEGIN
    for name, id_, days in steps:
        at += dt.timedelta(days=days, minutes=7)
        book = replace(shelf.book, clock=at.date())
        got = {**PLANS, **LOGGED}[name](book, id_, at)
        if isinstance(got, Refusal):
            continue
        known = {f.text for f in faults(book, at.date())}
        record(shelf, got)
        new = {f.text for f in faults(shelf.book, at.date())} - known
        told = "\n".join(got.notes)
        assert [text for text in sorted(new) if text not in told] == []


# --- what was known on a day ---------------------------------------------------------------------

UNDATED = {
    "status": "worked out from the entries",
    "sticker": "a sticker that was voided has no day of its own",
    "note": "a note that was lengthened",
}
"""Keys of a card that tell no day, so that a past day may show what they became later, and why.
`docs/upkeep.md` has the whole list."""


def answers(book: Book, day: dt.date) -> dict[str, Any]:
    """What the commands answer of a day, but for where in the files it stands."""
    all_due = due(book, day)
    found: dict[str, Any] = {
        "due": due_output.data(all_due),
        "jobs": workshop_output.data(workshop_board(book, day), {}),
        "rentals": rentals_output.data(rental_board(book, day), {}),
        "board": board_output.data(board(book, day), board_output.OfGit()),
        "list": listing_output.data([listed(book, i, day) for i in book.cylinders]),
    }
    for id_ in (*book.cylinders, *book.sets):
        found[f"may-fill {id_}"] = may_fill_output.data([may_fill(book, id_, day)])
        found[f"show {id_}"] = card_output.data(shown(book, id_, day))
    return {name: without_undated(as_json.plain(each)) for name, each in found.items()}


def listed(book: Book, id_: str, day: dt.date) -> listing_output.Listed:
    cylinder, gas = book.cylinders[id_], contents_of(book, id_).gas
    fillable = may_fill(book, id_, day, gas, station=False).fillable
    status = status_of(book, cylinder).value
    return listing_output.Listed(
        cylinder, "", str(gas or ""), status, fillable, bool(is_ready(book, id_, day))
    )


def shown(book: Book, id_: str, day: dt.date) -> card_output.Card:
    cylinder, held = book.cylinders.get(id_), contents_of(book, id_)
    return card_output.Card(
        id=id_,
        record=cylinder or book.sets[id_],
        answer=may_fill(book, id_, day, held.gas),
        contents=held,
        dues=tuple(d for d in due(book, day) if d.id == id_),
        standing=status_of(book, cylinder).value if cylinder else "",
    )


PLACE = re.compile(r"^(?:cylinders|fills|sets|station)\S*:\d+:\d+(?:: |$)")


def without_undated(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: without_undated(v) for k, v in value.items() if k not in {*UNDATED, "where"}}
    if isinstance(value, list):
        return [without_undated(v) for v in value]
    return PLACE.sub("", value) if isinstance(value, str) else value


@settings(max_examples=tries(16, 200), deadline=None)
@given(walks({**PLANS, **LOGGED}))
def test_what_was_known_on_a_day_is_what_was_written_by_then(
    steps: list[tuple[str, str, int]],
) -> None:
    shelf, at = opening(), BEGIN
    written: dict[dt.date, dict[str, str]] = {}
    for name, id_, days in steps:
        at += dt.timedelta(days=days, minutes=7)
        got = {**PLANS, **LOGGED}[name](replace(shelf.book, clock=at.date()), id_, at)
        if isinstance(got, Act):
            record(shelf, got)
        written[at.date()] = dict(shelf.texts)
    last = replace(shelf.book, clock=at.date())
    for day, texts in written.items():
        then = replace(Shelf(texts).book, clock=day).as_known_on(day)
        assert answers(last.as_known_on(day), day) == answers(then, day)


BEFORE = {
    "release": ["hold"],
    "back": ["send"],
    "refitted": ["send"],
    "refit": ["send", "back"],
    "answer": ["gouge"],
    "found": ["lost"],
    "return": ["rent"],
    "damaged": ["rent"],
    "parts": ["take in"],
    "done": ["take in"],
    "collect": ["take in"],
    "strike held": ["hold"],
    "strike sent": ["send"],
    "strike rejected": ["reject"],
    "strike condemned": ["condemn"],
    "strike rented": ["rent"],
    "strike lost": ["lost"],
    "strike line": ["read"],
}
"""The plans that must come before one."""


@pytest.mark.parametrize("name", sorted({**PLANS, **LOGGED}))
def test_every_plan_can_be_done_from_somewhere(name: str) -> None:
    """The walk above is no walk past closed doors."""
    shelf, at = opening(), BEGIN
    for each in [*BEFORE.get(name, []), name]:
        at += dt.timedelta(days=1)
        got = {**PLANS, **LOGGED}[each](replace(shelf.book, clock=at.date()), "RB-014", at)
        assert isinstance(got, Act), got
        record(shelf, got)


def test_the_pages_name_every_key_that_tells_no_day() -> None:
    page = (DOCS / "upkeep.md").read_text(encoding="utf-8")
    section = page.split("## A past day\n")[1].split("\n## ")[0]
    assert all(f"`{key}`" in section for key in UNDATED)
