"""Clones that record apart and are merged by git: what joins by itself, and what people must see."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from books import GOOD, TODAY
from repos import ALONE, HEADER, Repo, ledger, line

from tankbook.ledger.load import load
from tankbook.records.book import Book
from tankbook.records.node import Severity
from tankbook.rules.checks import check

CARD, LOG = "cylinders/RB-014.yaml", "fills/2026.csv"
OTHER = GOOD.replace("K118204", "K2")
NIGHT = "2026-11-24T20:00:00+01:00"


def at(hour: int, day: int = 24) -> str:
    return f"2026-11-{day}T{hour:02}:00:00+01:00"


@pytest.fixture(autouse=True)
def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)


@pytest.fixture(name="clones")
def _clones(tmp_path: Path) -> tuple[Repo, Repo, Repo]:
    """Three working copies of one bare repository, all with one line in this year's log."""
    first = ledger(tmp_path / "counter", **{"RB-014": GOOD, "RB-015": OTHER})
    first.log(line(at(8)))
    first.commit(at=at(9))
    first.git("clone", "-q", "--bare", str(first.root), str(tmp_path / "shop.git"))
    first.git("remote", "add", "origin", str(tmp_path / "shop.git"))
    first.git("fetch", "-q", "origin")
    first.git("branch", "-q", "--set-upstream-to=origin/main")
    bare = Repo(tmp_path / "shop.git")
    return first, bare.clone(tmp_path / "bench"), bare.clone(tmp_path / "station")


def exchange(*clones: Repo) -> None:
    """Each pulls and pushes, twice round, so that all have everything."""
    for _ in range(2):
        for each in clones:
            each.git("pull", "-q", "--no-rebase", "--no-edit", at=NIGHT)
            each.git("push", "-q")


def faults(book: Book, day: dt.date = TODAY) -> list[str]:
    found = [*book.findings, *check(book, day)]
    return [f.code for f in found if f.severity is Severity.FAULT]


def test_different_acts_join_without_a_conflict(clones: tuple[Repo, Repo, Repo]) -> None:
    counter, bench, station = clones
    counter.put(
        CARD,
        counter.read(CARD) + "rented:\n  - {on: 2026-11-24, by: MV, to: B-1, back: 2026-11-24}\n",
    )
    counter.commit("Rented RB-014", at=at(10))
    bench.put(
        "cylinders/RB-015.yaml",
        OTHER.replace("status: in-service", "status: held")
        + "held:\n  - {on: 2026-11-24, by: MV, why: dent}\n",
    )
    bench.put("cylinders/SF-051.yaml", GOOD.replace("K118204", "K3"))
    bench.commit("Held RB-015, booked in SF-051", at=at(11))
    station.log(line(at(9)), line(at(10)))
    station.commit("Filled two", at=at(12))
    counter.log(line(at(11), "RB-015", act="reading", to="3000 psi", by="MV"))
    counter.commit("Read RB-015", at=at(13))
    exchange(*clones)
    books = [load(each.root) for each in clones]
    assert [len(b.log) for b in books] == [4, 4, 4]
    assert books[0].log == books[1].log == books[2].log
    assert [set(b.cylinders) for b in books] == [{"RB-014", "RB-015", "SF-051"}] * 3
    assert [faults(b) for b in books] == [[], [], []]
    assert (books[2].cylinders["RB-015"].held, books[1].cylinders["RB-014"].rented) != ((), ())


def test_a_new_years_log_begun_on_each_of_three_machines_is_one_log(
    clones: tuple[Repo, Repo, Repo],
) -> None:
    for n, each in enumerate(clones):
        each.log(line(f"2027-01-02T{9 + n:02}:00:00+01:00"), year="2027")
        each.commit(at=f"2027-01-02T{9 + n:02}:30:00+01:00")
    exchange(*clones)
    for each in clones:
        text = each.read("fills/2027.csv")
        assert text.count(HEADER) == 1
        assert text.startswith(HEADER)
        assert len(load(each.root).log) == 4
        assert faults(load(each.root), dt.date(2027, 1, 3)) == []


def test_both_ends_of_one_log_are_kept_whatever_the_order(clones: tuple[Repo, Repo, Repo]) -> None:
    counter, bench, _ = clones
    counter.log(*(line(at(10, day)) for day in range(10, 20)))
    counter.commit(at=at(10))
    bench.log(*(line(at(11, day)) for day in range(10, 20)))
    bench.commit(at=at(11))
    exchange(counter, bench)
    assert len(load(bench.root).log) == 21
    assert bench.read(LOG) == counter.read(LOG)


def test_the_same_line_on_both_sides_is_one_line(clones: tuple[Repo, Repo, Repo]) -> None:
    counter, bench, _ = clones
    for each in (counter, bench):
        each.log(line(at(10)))
        each.commit(at=at(10))
    exchange(counter, bench)
    assert len(load(counter.root).log) == 2
    assert faults(load(counter.root)) == []


def test_an_edited_line_that_survives_beside_its_original_is_found_and_named(
    clones: tuple[Repo, Repo, Repo],
) -> None:
    counter, bench, _ = clones
    counter.change(LOG, line(at(8)), line(at(8), to="2900 psi"))
    counter.log(line(at(10)))
    counter.commit("Edited", at=at(10))
    bench.log(line(at(11), "RB-015"))
    bench.commit("Filled", at=at(11))
    exchange(counter, bench)
    book = load(bench.root)
    assert bench.read(LOG).count(at(8)) == 2
    (found,) = [f for f in check(book, TODAY) if f.code == "edited-line"]
    assert found.severity is Severity.FAULT
    assert found.where.path == LOG
    assert found.text.endswith("tells of this fill otherwise (to)")


def test_a_line_edited_on_one_side_alone_is_for_the_audit(clones: tuple[Repo, Repo, Repo]) -> None:
    counter, bench, _ = clones
    counter.log(line(at(9)), line(at(10)))
    counter.commit(at=at(10))
    exchange(counter, bench)
    bench.change(LOG, line(at(8)), line(at(8), to="2900 psi"))
    bench.commit("Edited", at=at(11))
    exchange(counter, bench)
    assert faults(load(counter.root)) == []


def test_two_ends_of_one_entry_need_a_person(clones: tuple[Repo, Repo, Repo]) -> None:
    counter, bench, _ = clones
    counter.change(CARD, "status: in-service", "status: held")
    counter.commit(at=at(10))
    bench.change(CARD, "status: in-service", "status: out")
    bench.commit(at=at(11))
    counter.git("push", "-q")
    bench.git("pull", "-q", "--no-rebase", "--no-edit", ok=False)
    lines = bench.read(CARD).splitlines()
    marked = [n for n, text in enumerate(lines, 1) if text[:7] in ("<<<<<<<", "=======", ">>>>>>>")]
    book = load(bench.root)
    assert "RB-014" not in book.cylinders
    found = book.broken["RB-014"]
    assert [(f.code, f.where.line) for f in found] == [("merge-conflict", n) for n in marked]
    assert len(marked) == 3
