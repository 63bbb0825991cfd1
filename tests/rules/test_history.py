"""A cylinder's life put together from steps, its file and its lines. Nothing here touches git."""

from __future__ import annotations

import datetime as dt

import books
import pytest

from tankbook.ledger.events import parse
from tankbook.records.commits import Commit, CommitStep, FileStep, LineSeen
from tankbook.records.node import Node
from tankbook.rules.changes import LogChange
from tankbook.rules.history import LifeStory, life_story

PATH = "cylinders/RB-014.yaml"
HELD = "held:\n  - {on: 2026-03-01, by: MV, why: dent}\n"
LOG = """
at=2026-03-10T09:30:00+01:00; cylinder=RB-014; act=fill; to=3000 psi; gas=air; by=MV
at=2026-03-11T09:30:00+01:00; cylinder=RB-014; act=fill; to=3000 psi; gas=nitrox32; o2=32 %; analysed_by=MV; by=TO
at=2026-03-12T09:30:00+01:00; cylinder=RB-014; act=void; voids=2026-03-10T09:30:00+01:00 RB-014; note=wrong one; by=MV
at=2026-04-01T09:30:00+02:00; cylinder=RB-014; act=drain; to=0 psi; by=MV
"""


def node(text: str) -> Node:
    got, findings = parse(text, PATH)
    assert got is not None
    assert not findings
    return got


def commit(day: int, parents: tuple[str, ...] = ("p",)) -> Commit:
    at = dt.datetime(2026, 5, day, 12, tzinfo=dt.UTC)
    return Commit(f"{day:040}", parents, "MV", at, at, f"on the {day}")


def step(day: int, before: str | None, after: str | None, **more: object) -> CommitStep:
    old, new = (None if text is None else node(text) for text in (before, after))
    made = commit(day, **more)  # type: ignore[arg-type]
    return CommitStep(made, 0, (FileStep(PATH, old, new, before is not None, after is not None),))


def life(*steps: CommitStep, now: str | None = None, log: str = "", git: bool = True) -> LifeStory:
    unsaved = Commit("", (), "", commit(30).at, commit(30).at) if git else None
    lines = books.log_lines(log)
    return life_story("RB-014", PATH, steps, node(now) if now else None, lines, (), unsaved)


def told(found: LifeStory) -> list[tuple[str, str]]:
    return [(e.on, e.place) for e in found.events]


def test_entries_carry_the_commit_that_first_recorded_them() -> None:
    held = books.GOOD + HELD
    done = held.replace("why: dent", "why: dent, released: 2026-03-09")
    got = life(step(1, None, books.GOOD), step(2, books.GOOD, held), step(3, held, done), now=done)
    assert told(got) == [
        ("2024-03", "requalified"), ("2026-02-09", "inspected"), ("2026-03-01", "held"),
        ("2026-05-01", "booked_in"),
    ]  # fmt: skip
    assert [e.commit.subject for e in got.events if e.commit] == [
        "on the 1", "on the 1", "on the 2", "on the 1",
    ]  # fmt: skip
    assert got.events[2].values["released"] == "2026-03-09"
    assert got.changes == ()


def test_a_card_that_was_there_before_git_was_not_booked_in_then() -> None:
    got = life(step(1, None, books.GOOD, parents=()), now=books.GOOD)
    assert "first_committed" in [e.place for e in got.events]


def test_an_edit_of_a_past_entry_and_its_removal() -> None:
    held = books.GOOD + HELD
    sly = held.replace("why: dent", "why: nothing")
    got = life(step(1, None, held), step(2, held, sly), step(3, sly, books.GOOD), now=books.GOOD)
    assert [(f.sign.value, f.commit.subject, f.what) for f in got.changes] == [
        ("entry-altered", "on the 2", "held 2026-03-01"),
        ("entry-removed", "on the 3", "held 2026-03-01"),
    ]


def test_what_is_not_committed_is_told_as_such() -> None:
    now = (books.GOOD + HELD).replace("result: pass", "result: hold")
    got = life(step(1, None, books.GOOD), now=now)
    assert [(e.place, e.committed) for e in got.events if not e.committed] == [("held", False)]
    assert [(f.sign.value, f.commit.id) for f in got.changes] == [("entry-altered", "")]


def test_without_git_nothing_is_uncommitted() -> None:
    got = life(now=books.GOOD + HELD, git=False)
    assert told(got) == [
        ("2024-03", "requalified"),
        ("2026-02-09", "inspected"),
        ("2026-03-01", "held"),
    ]
    assert {(e.commit, e.committed) for e in got.events} == {(None, True)}


def test_a_fact_that_changed_is_an_event_and_the_status_is_not() -> None:
    one = books.GOOD + "place: rack 1\n"
    two = one.replace("rack 1", "rack 2").replace("in-service", "held")
    got = life(step(1, None, one), step(2, one, two), now=two)
    assert [(e.place, dict(e.values)) for e in got.events if e.on == "2026-05-02"] == [
        ("place", {"before": "rack 1", "after": "rack 2"})
    ]
    assert got.changes == ()


def test_a_file_that_is_gone_keeps_its_entries() -> None:
    got = life(step(1, None, books.GOOD), step(2, books.GOOD, None))
    assert told(got)[:2] == [("2024-03", "requalified"), ("2026-02-09", "inspected")]
    assert [f.sign.value for f in got.changes] == ["record-removed"]


def test_a_version_that_cannot_be_read_is_stepped_over() -> None:
    held = books.GOOD + HELD
    broken = CommitStep(commit(2), 0, (FileStep(PATH, node(held), None, True, True),))
    after = CommitStep(commit(3), 0, (FileStep(PATH, None, node(books.GOOD), True, True),))
    got = life(step(1, None, held), broken, after, now=books.GOOD)
    assert [f.sign.value for f in got.changes] == ["unreadable", "entry-removed"]


def test_of_a_merge_only_what_differs_from_both_parents_is_its_own() -> None:
    held, lost = books.GOOD + HELD, books.GOOD + "lost:\n  - {on: 2026-03-02, by: TO}\n"
    both = held + "lost:\n  - {on: 2026-03-02, by: TO}\n"
    made = commit(4, ("p", "q"))
    merge = [
        CommitStep(made, n, (FileStep(PATH, node(side), node(both), True, True),))
        for n, side in enumerate((held, lost))
    ]
    got = life(
        step(1, None, books.GOOD),
        step(2, books.GOOD, held),
        step(3, books.GOOD, lost),
        *merge,
        now=both,
    )
    assert got.changes == ()
    assert all(e.commit for e in got.events)


def test_an_entry_that_a_merge_dropped() -> None:
    held = books.GOOD + HELD
    got = life(step(1, None, books.GOOD), step(2, books.GOOD, held),
               CommitStep(commit(3, ("p", "q")), 1, (FileStep(PATH, node(held), node(books.GOOD), True, True),)),
               now=books.GOOD)  # fmt: skip
    assert [(f.sign.value, f.what) for f in got.changes] == [("lost-in-merge", "held 2026-03-01")]


def test_the_log_by_the_month() -> None:
    got = life(now=books.GOOD, log=LOG)
    assert [(m.month, m.fills, m.drains, m.struck_out, m.gases, m.by) for m in got.months] == [
        ("2026-03", 1, 0, 1, (("nitrox32", 1),), ("TO",)),
        ("2026-04", 0, 1, 0, (), ("MV",)),
    ]
    assert (got.fills, got.corrections, len(got.lines)) == (1, 1, 4)


@pytest.mark.parametrize(
    ("day", "events", "months"),
    [("2026-02-09", 2, 0), ("2026-02-08", 1, 0), ("2026-03-31", 3, 1), ("2026-04-01", 3, 2)],
)
def test_what_is_dated_later_is_left_out(day: str, events: int, months: int) -> None:
    got = life(now=books.GOOD + HELD, log=LOG, git=False).until(dt.date.fromisoformat(day))
    assert (len(got.events), len(got.months)) == (events, months)


def test_lines_that_are_gone_are_changes_too() -> None:
    line = LineSeen("fills/2026.csv", 3, ("2026-03-10T09:30:00+01:00", "RB-014", "fill"), "x")
    gone = [(commit(2), LogChange(line, None))]
    got = life_story("RB-014", PATH, (), node(books.GOOD), (), gone, commit(30))
    assert [(f.sign.value, f.what) for f in got.changes] == [
        ("line-removed", "fill 2026-03-10T09:30:00+01:00")
    ]
