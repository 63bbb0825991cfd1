"""A cylinder cleaned for a service: what is recorded, until when it holds, what ends it."""

from __future__ import annotations

import datetime as dt

import acting
import books
import pytest
from acting import TODAY, Shelf

from tankbook.acts.clean import clean
from tankbook.acts.jobs import News, done, open_job
from tankbook.gas import Gas
from tankbook.records.words import Bled, Service, Status, Work
from tankbook.rules.answers import State
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.schedule import due
from tankbook.units import GaugePressure, PartialDate, Period

PSI = GaugePressure.parse
BY = {"by": "MV", "on": TODAY}
NITROX = Gas.parse("nitrox32")
FULL = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n2026-11-20T09:30:00+01:00,RB-014,fill,,2900 psi,,air,,,MV,,C1,,,,\n"


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    return acting.shelf(**{"RB-014": books.GOOD.replace("service: air", "service: nitrox")})


def refusals(shelf: Shelf, gas: Gas | None = NITROX, on: dt.date = TODAY) -> set[str]:
    book = shelf.book.as_known_on(on)
    return {r.code for r in may_fill(book, "RB-014", on, gas, station=False).refusals}


def test_it_is_clean_and_empty_until_its_end(shelf: Shelf) -> None:
    shelf.texts["fills/2026.csv"] = FULL
    assert "oxygen-clean-never" in refusals(shelf)
    act = shelf.do(
        clean, ["RB-014"], to=Service.NITROX, method="detergent, dried", for_=Period.parse("30 days"),
        bled=Bled.HEARD, **BY,
    )  # fmt: skip
    assert act.sentence == "Cleaned RB-014 for nitrox, until 2026-12-25, by MV"
    entry = shelf["RB-014"].cleaned[-1]
    assert (entry.method, str(entry.until)) == ("detergent, dried", "2026-12-25")
    assert contents_of(shelf.book, "RB-014").pressure == PSI("0 psi")
    assert refusals(shelf) == set()
    for day, says in (
        (dt.date(2026, 12, 25), set()),
        (dt.date(2026, 12, 26), {"oxygen-clean-lapsed"}),
    ):
        assert {c for c in refusals(shelf, on=day) if "clean" in c} == says
        assert not {c for c in refusals(shelf, None, on=day) if "clean" in c}  # air goes in


@pytest.mark.parametrize(
    ("day", "state"),
    [("2026-11-25", State.SOON), ("2026-10-01", State.OK), ("2026-12-01", State.OVERDUE)],
)
def test_due_lists_it_before_it_lapses(day: str, state: State) -> None:
    card = books.GOOD.replace("service: air", "service: nitrox") + (
        "cleaned: [{on: 2026-01-05, by: MV, to: nitrox, until: 2026-11}]\n"
    )
    on = dt.date.fromisoformat(day)
    book = acting.shelf(**{"RB-014": card}).book
    [item] = [d for d in due(book, on) if d.obligation == "oxygen-cleaning"]
    assert (item.id, item.state, item.next) == ("RB-014", state, dt.date(2026, 11, 30))
    warned = {r.code for r in may_fill(book, "RB-014", on, station=False).warnings}
    assert ("oxygen-cleaning-overdue" in warned) is (state is State.OVERDUE)


@pytest.mark.parametrize(
    ("entries", "ends"),
    [
        ("{on: 2026-01-05, by: MV, to: nitrox, until: 2026-06}", True),
        # a later one begins anew; one that may be of the same day ends with the first of both
        ("{on: 2026-01-05, by: MV, to: nitrox, until: 2026-06}, {on: 2026-07-01, by: MV, to: nitrox}", False),
        ("{on: 2026-07-01, by: MV, to: nitrox}, {on: 2026-01-05, by: MV, to: nitrox, until: 2026-06}", False),
        ("{on: 2026-01, by: MV, to: nitrox}, {on: 2026-01-05, by: MV, to: nitrox, until: 2026-06}", True),
        ("{on: 2026-01-05, by: MV, to: nitrox, until: 2026-06}, {on: 2026-01-05, by: MV, to: nitrox, until: 2099-06}", True),
        ("{on: 2026-01-05, by: MV, to: nitrox}, {on: 2026-07-01, by: MV, to: air, until: 2026-08}", False),
        ("{on: 2026-01-05, by: MV, to: nitrox, until: 2025-06}", True),
        ("{on: 2026-01-05, by: MV, to: nitrox, until: 2026-11-25}", False),
    ],
)  # fmt: skip
def test_which_end_counts(entries: str, ends: bool) -> None:
    card = books.GOOD.replace("service: air", "service: nitrox") + f"cleaned: [{entries}]\n"
    shelf = acting.shelf(**{"RB-014": card})
    assert ("oxygen-clean-lapsed" in refusals(shelf)) is ends


def test_a_cleaning_that_does_not_count_is_told(shelf: Shelf) -> None:
    shelf.texts["cylinders/RB-014.yaml"] = shelf.texts["cylinders/RB-014.yaml"].replace(
        "disc: 5000 psi}", "disc: 5000 psi, lubricant: silicone grease}"
    )
    act = shelf.do(clean, ["RB-014"], to=Service.OXYGEN, **BY)
    assert any("its lubricant is silicone grease" in n for n in act.notes)
    assert any("labelled for nitrox: `service: oxygen`" in n for n in act.notes)
    assert any("no time ends it" in n for n in act.notes)
    assert "oxygen-clean-lost" in refusals(shelf)


def test_a_firm_that_cleaned_it(shelf: Shelf) -> None:
    act = shelf.do(clean, ["RB-014"], to=Service.NITROX, by="Northside Oxygen Service", on=TODAY)
    assert act.sentence.endswith("by Northside Oxygen Service")
    assert refusals(shelf) == set()


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"until": PartialDate.parse("2026-10")}, "--until 2026-10 is before 2026-11-25"),
        ({"until": PartialDate.parse("2027-10"), "for_": Period.parse("1 years")}, "twice"),
        ({"for_": Period.parse("0 days")}, "--for 0 days is no time"),
        ({"by": "the owner"}, "the owner is nobody's name"),
        ({"by": "QQ"}, "QQ is not among the people"),
        ({"method": "\x1b[2J"}, "--method"),
        ({"on": dt.date(2020, 1, 1)}, "before it was made"),
    ],
)
def test_what_is_refused(shelf: Shelf, more: dict[str, object], told: str) -> None:
    assert told in shelf.refuse(clean, ["RB-014"], **{"to": Service.NITROX, **BY, **more})


def test_no_flow_heard_it_is_held_and_not_cleaned(shelf: Shelf) -> None:
    shelf.do(clean, ["RB-014"], to=Service.NITROX, bled=Bled.NO_FLOW, **BY)
    assert shelf["RB-014"].cleaned == ()
    assert shelf["RB-014"].status is Status.HELD


def test_a_job_is_shown_by_it(shelf: Shelf) -> None:
    shelf.do(open_job, ["RB-014"], News(work=(Work.O2_CLEAN,), reference="C-1"), **BY)
    assert any("is on record since" in n for n in done(shelf.book, ["RB-014"], **BY).notes)
    shelf.do(clean, ["RB-014"], to=Service.NITROX, **BY)
    assert not any("is on record since" in n for n in done(shelf.book, ["RB-014"], **BY).notes)
