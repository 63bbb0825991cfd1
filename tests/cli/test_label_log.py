"""Each label that is printed is entered on the card of what it is for, with what it said."""

from __future__ import annotations

import datetime as dt
import shlex
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pdf as seen
import pytest
import repos

from tankbook.cli import open_ledger
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import Labelled

Run = Callable[..., Any]
DAY = ("--on", "2026-11-25")
ANALYSED = (
    "2026-11-24T09:30:00+01:00,RB-014,fill,500 psi,3000 psi,70 degF,air,20.9 %,,MV,MV,B1,,,,\n"
)
NOW = dt.datetime.fromisoformat("2026-11-25T12:05:40+01:00")


@pytest.fixture(name="at")
def _at(tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.chdir(ledger)
    monkeypatch.setattr(open_ledger, "moment_asked", lambda asked: NOW)
    monkeypatch.setattr(open_ledger, "clock", NOW.date)
    settings = ledger / "tankbook.yaml"
    settings.write_text(settings.read_text() + "oxygen_pressure: 1.4 ata\n")
    log = ledger / "fills/2026.csv"
    log.write_text(log.read_text() + ANALYSED)
    return lambda *words: tb(*words, *DAY)


def labelled(ledger: Path, id_: str) -> tuple[Labelled, ...]:
    folder, record = ("sets", Doubles) if id_.startswith("DB") else ("cylinders", Cylinder)
    path = ledger / folder / f"{id_}.yaml"
    found: tuple[Labelled, ...] = books.typed(record, path.read_text(), str(path)).labelled
    return found


def content(ledger: Path) -> dict[str, bytes]:
    """Every file but the lock's and the PDF."""
    kept = (p for p in ledger.rglob("*") if p.is_file() and p.suffix != ".pdf")
    return {str(p): p.read_bytes() for p in kept if ".tankbook" not in p.parts}


def test_a_tag_of_a_past_day_says_what_came_since_against_filling(
    at: Run, tb: Run, ledger: Path
) -> None:
    assert tb("hold", "RB-014", "--why", "dent in the shoulder", "--by", "MV", *DAY).code == 0
    ran = tb("tags", "RB-014", "RB-015", "--pdf", "out.pdf", "--on", "2026-11-20")
    told = "RB-014: as of today, not of 2026-11-20, since it must not be filled today\n"
    assert (ran.code, told in ran.out) == (0, True)
    printed = seen.text_of((ledger / "out.pdf").read_bytes())
    assert "DO NOT FILL OR USE\nRB-014" in printed
    assert "fill to" not in printed
    assert "25 Nov 2026" in printed


@pytest.mark.parametrize("kind", ["analysis", "strip", "rental", "slip"])
def test_no_label_of_a_past_day_hangs_on_what_was_closed_since(
    kind: str, at: Run, tb: Run, ledger: Path
) -> None:
    """What says its gas, or goes out with it, is read today."""
    asked = ("--kind", kind, "--pdf", "out.pdf", "--on", "2026-11-24", "--unlogged")
    assert tb("tags", "RB-014", *asked).code == 0
    (ledger / "out.pdf").unlink()
    assert tb("hold", "RB-014", "--why", "dent in the shoulder", "--by", "MV", *DAY).code == 0
    ran = tb("tags", "RB-014", *asked)
    assert ran.code == 1
    said = " ".join(ran.out.split())
    assert "it is held: dent in the shoulder, as of today, not of 2026-11-24" in said
    assert not (ledger / "out.pdf").exists()


AGAIN = (
    "2026-11-25T{hour}:00:00+01:00,RB-014,{act},{from_},{to},70 degF,{gas},{o2},,MV,{by},B1,,,,\n"
)
SINCE = {
    "filled again": ("fill", "2500 psi", "3000 psi", "air", "20.9 %", "filled again on 2026-11-25"),
    "filled, not analysed": ("fill", "2500 psi", "3000 psi", "air", "", "filled again on"),
    "drained": ("drain", "", "0 psi", "", "", "on record as empty since 2026-11-25"),
    "analysed anew": ("reading", "", "3000 psi", "", "20.7 %", "is another on record now"),
    "breathed from": ("reading", "", "1500 psi", "", "", ""),
}


@pytest.mark.parametrize("kind", ["analysis", "strip", "rental"])
@pytest.mark.parametrize("since", SINCE)
def test_no_label_of_a_past_day_tells_of_gas_that_is_another_now(
    since: str, kind: str, at: Run, tb: Run, ledger: Path
) -> None:
    """All papers that tell of a gas are judged alike; of what was breathed from a strip alone, which
    is of one pressure, is refused, and the others give what was read last."""
    act, from_, to, gas, o2, why = SINCE[since]
    if kind == "strip" and not why:
        why = "it was read at 1500 psi on 2026-11-25, lower than the 3000 psi of its analysis"
    by = "MV" if o2 else ""
    log = ledger / "fills/2026.csv"
    told = AGAIN.format(hour=11, act=act, from_=from_, to=to, gas=gas, o2=o2, by=by)
    log.write_text(log.read_text() + told)
    asked = ("--kind", kind, "--pdf", "out.pdf", "--unlogged")
    past = tb("tags", "RB-014", *asked, "--on", "2026-11-24")
    assert (past.code, (ledger / "out.pdf").exists()) == ((1, False) if why else (0, True))
    assert why in " ".join(past.out.split())
    if not why:
        for day in ("2026-11-24", "2026-11-25"):
            assert tb("tags", "RB-014", *asked, "--on", day).code == 0
            printed = seen.text_of((ledger / "out.pdf").read_bytes())
            assert "1500 psi" in printed
            assert "3000 psi" not in printed
    elif since == "breathed from":
        assert at("tags", "RB-014", *asked).code == 1


def test_a_tag_of_an_older_state_has_the_limit_of_today(
    tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(open_ledger, "clock", NOW.date)
    repo = repos.ledger(tmp_path / "repo")
    monkeypatch.chdir(repo.root)
    card = repo.root / "cylinders/RB-014.yaml"
    other = card.read_text().replace("3000 psi", "2400 psi").replace("5000 psi", "4000 psi")
    card.write_text(other)
    ran = tb("tags", "RB-014", "--pdf", "out.pdf", "--as-of", "HEAD")
    assert "since it has another limit today" in ran.out, ran
    printed = seen.text_of((repo.root / "out.pdf").read_bytes())
    assert "2400 psi" in printed
    assert "3000 psi" not in printed


def test_an_identity_of_a_past_day_gives_no_limit_to_what_was_closed_since(
    at: Run, tb: Run, ledger: Path
) -> None:
    asked = ("--kind", "identity", "--pdf", "out.pdf", "--on", "2026-11-24", "--by", "MV")
    assert tb("tags", "RB-014", *asked).code == 0
    assert labelled(ledger, "RB-014")[-1].limit is not None
    assert tb("hold", "RB-014", "--why", "dent in the shoulder", "--by", "MV", *DAY).code == 0
    ran = tb("tags", "RB-014", *asked)
    assert "since it must not be filled today" in " ".join(ran.out.split())
    assert labelled(ledger, "RB-014")[-1].limit is None


SAYS = {
    "tag": ("RB-014", "identity", {"limit": "3000 psi"}),
    "identity": ("RB-014", "identity", {"limit": "3000 psi"}),
    "analysis": ("RB-014", "analysis", {
        "gas": "air", "oxygen": "20.9 %", "analysed": "2026-11-24", "pressure": "3000 psi",
    }),
    "strip": ("RB-014", "strip", {
        "gas": "air", "oxygen": "20.9 %", "analysed": "2026-11-24", "pressure": "3000 psi",
    }),
    "do-not-fill": ("RB-016", "do-not-fill", {}),
}  # fmt: skip


@pytest.mark.parametrize("kind", SAYS)
def test_the_entry_says_what_the_label_said(kind: str, at: Run, ledger: Path) -> None:
    id_, printed, says = SAYS[kind]
    ran = at("tags", id_, "--kind", kind, "--pdf", "x.pdf", "--by", "MV")
    (entry,) = labelled(ledger, id_)
    assert (str(entry.on), entry.by, entry.at) == ("2026-11-25", "MV", dt.time(12, 5))
    names = ("gas", "oxygen", "helium", "analysed", "pressure", "limit")
    values = ((name, getattr(entry, name)) for name in names)
    assert {name: str(value) for name, value in values if value is not None} == says
    assert entry.kind.value == printed
    assert f"Entered on {id_}, by MV" in ran.out
    assert at("validate").code == 0 or "labelled" not in at("validate").out


def test_a_set_has_its_own_entry(at: Run, ledger: Path) -> None:
    assert at("tags", "DB-02", "--pdf", "x.pdf").code == 0
    (entry,) = labelled(ledger, "DB-02")
    assert entry.by is None


@pytest.mark.parametrize(
    "words",
    [
        ("tags", "RB-014"),
        ("tags", "RB-014", "--pdf", "x.pdf", "--dry-run"),
        ("tags", "RB-014", "--pdf", "x.pdf", "--proof"),
        ("tags", "RB-014", "--pdf", "x.pdf", "--unlogged"),
        ("tags", "RB-016", "--pdf", "x.pdf", "--kind", "analysis"),  # it is held
        ("tags", "RB-014", "--pdf", "x.pdf", "--start", "99"),  # no such place
        ("tags", "RB-014", "--pdf", "nowhere/x.pdf"),
        ("tags", "RB-014", "--pdf", "mine.pdf"),  # not ours to replace
    ],
)
def test_what_is_not_printed_to_be_stuck_on_is_not_entered(
    words: tuple[str, ...], at: Run, ledger: Path
) -> None:
    (ledger / "mine.pdf").write_text("no PDF")
    before = content(ledger)
    at(*words)
    assert content(ledger) == before


def test_a_dry_run_shows_the_entry_and_prints_nothing(at: Run, ledger: Path) -> None:
    ran = at("tags", "RB-014", "--pdf", "x.pdf", "--dry-run", "--by", "MV")
    assert "kind: identity" in ran.out
    assert not (ledger / "x.pdf").exists()
    assert at("tags", "RB-014", "--pdf", "x.pdf", "--dry-run", "--json").json["dry_run"]
    assert not (ledger / "x.pdf").exists()


def test_where_the_entry_is_refused_nothing_is_printed_and_that_is_told(
    at: Run, ledger: Path
) -> None:
    before = content(ledger)
    ran = at("tags", "RB-014", "--pdf", "x.pdf", "--by", "XX")
    assert ran.code == 1
    assert "XX is not among the people" in " ".join(ran.out.split())
    assert "NOTHING WAS PRINTED" in ran.out
    assert not (ledger / "x.pdf").exists()
    assert content(ledger) == before


def test_where_the_file_cannot_be_written_in_the_end_the_entry_is_told(
    at: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk is full, say: it must not be taken for a label that hangs on the cylinder."""
    from tankbook.ledger import handed_out
    from tankbook.ledger.errors import LedgerError

    def full(path: Path, data: bytes, ending: str = ".pdf") -> None:
        raise LedgerError(str(path), "no space left")

    monkeypatch.setattr(handed_out, "write_out", full)
    ran = at("tags", "RB-014", "--pdf", "x.pdf", "--by", "MV")
    assert ran.code == 2
    assert "no space left" in ran.err
    way = 'tankbook correct RB-014 labelled 2026-11-25 --why "not printed"'
    assert f"`{way}`" in ran.err
    again = at("tags", "RB-014", "--pdf", "out.pdf")
    second = 'tankbook correct RB-014 labelled 2026-11-25#2 --why "not printed"'
    assert f"`{second}`" in again.err
    for each in (second, way):
        assert at(*shlex.split(each)[1:], "--by", "MV").code == 0
    assert [each.void is not None for each in labelled(ledger, "RB-014")] == [True, True]


@pytest.mark.parametrize("kind", ["analysis", "strip", "rental"])
@pytest.mark.parametrize("on", ["2026-11-23", "2026-11-25"])
def test_no_label_of_the_day_before_has_a_pressure_that_one_side_denies(
    on: str, kind: str, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The side was read today; asked as of the day of the fill or of today, nothing is printed."""
    folder = tmp_path / "cove"
    shutil.copytree(Path(__file__).parents[2] / "example_ledger", folder)
    monkeypatch.chdir(folder)
    monkeypatch.setattr(open_ledger, "moment_asked", lambda asked: NOW)
    monkeypatch.setattr(open_ledger, "clock", NOW.date)
    assert tb("reading", "RB-041=2400", "--at", "11:00").code == 0
    ran = tb("tags", "DB-01", "--kind", kind, "--pdf", "out.pdf", "--on", on)
    told = "RB-041 was read at 2400 psi on 2026-11-25, and DB-01 stood at 3290 psi: read DB-01"
    assert (ran.code, told in " ".join(ran.out.split())) == (1, True)
    assert not (folder / "out.pdf").exists()


def test_whoever_asks_to_fill_hears_of_a_label_that_is_no_longer_true(at: Run) -> None:
    assert at("tags", "RB-014", "--kind", "identity", "--pdf", "x.pdf").code == 0
    assert "no longer true" not in at("may-fill", "RB-014").out
    assert at("hold", "RB-014", "--why", "dent in the shoulder", "--by", "MV").code == 0
    said = "its identity label of 2026-11-25 12:05 is no longer true: it must not be filled now"
    ran = at("may-fill", "RB-014", "RB-016")
    assert f"WARNING: {said}" in " ".join(ran.out.split())
    told = at("may-fill", "RB-014", "RB-016", "--json").json
    assert [each["untrue_labels"] for each in told] == [[f"{said}; take it off"], []]


def test_a_reprint_is_known_until_it_says_something_else(at: Run, ledger: Path) -> None:
    first = at("tags", "RB-014", "--kind", "identity", "--pdf", "x.pdf")
    again = at("tags", "RB-014", "--kind", "identity", "--pdf", "x.pdf")
    assert "printed again" not in first.out
    assert "printed again, saying the same: RB-014" in again.out
    assert len(labelled(ledger, "RB-014")) == 2
    assert "printed again" not in at("tags", "RB-014", "--kind", "strip", "--pdf", "x.pdf").out
    log = ledger / "fills/2026.csv"
    log.write_text(log.read_text() + ANALYSED.replace("11-24T", "11-25T").replace("20.9", "21.0"))
    other = at("tags", "RB-014", "--kind", "strip", "--pdf", "x.pdf")
    assert (other.code, "printed again" in other.out) == (0, False)
    assert "printed again" in at("tags", "RB-014", "--kind", "strip", "--pdf", "x.pdf").out


def test_a_card_that_cannot_be_read_gets_its_tag_and_no_entry(at: Run, ledger: Path) -> None:
    broken = ledger / "cylinders/RB-015.yaml"
    broken.write_text(broken.read_text() + "bad: [\n")
    ran = at("tags", "RB-014", "15", "--pdf", "x.pdf")
    assert "RB-015: not entered, as its file cannot be read" in ran.out
    assert len(labelled(ledger, "RB-014")) == 1
    alone = at("tags", "15", "--pdf", "x.pdf")
    assert alone.first.startswith("1 label")
    assert at("tags", "15", "--pdf", "x.pdf", "--json").json["entered"] == []


def test_it_is_struck_out_like_any_entry_and_history_tells_it(at: Run, ledger: Path) -> None:
    at("tags", "RB-014", "--pdf", "x.pdf", "--by", "MV")
    told = " ".join(at("history", "RB-014").out.split())
    assert "labelled: kind identity, at 12:05, limit 3000 psi" in told
    jam = ("--why", "jammed in the printer", "--by", "MV")
    assert at("correct", "RB-014", "labelled", "2026-11-25", *jam).code == 0
    assert labelled(ledger, "RB-014")[0].void is not None
    assert "printed again" not in at("tags", "RB-014", "--pdf", "x.pdf").out


@pytest.mark.parametrize("id_", ["RB-014", "RB-015", "RB-016", "RB-021", "DB-02"])
def test_a_label_changes_no_answer(id_: str, at: Run) -> None:
    """What a DO NOT FILL said is nobody's finding, and feeds no refusal."""
    before = at("may-fill", id_, "--json").json, at("due", id_, "--json").json
    for kind in ("tag", "identity", "do-not-fill", "analysis"):
        at("tags", id_, "--kind", kind, "--pdf", "x.pdf", "--by", "MV")
    assert (at("may-fill", id_, "--json").json, at("due", id_, "--json").json) == before
