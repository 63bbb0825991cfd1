"""What the gate alone can judge is missed too when it goes: it is asked with the entry put back."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from repos import Repo

Run = Callable[..., Any]
ON = "2026-11-27"
EXAMPLE = Path(__file__).resolve().parents[2] / "example_ledger"
CARD = "cylinders/RB-014.yaml"
NOTE = 'result: note, note: "groove nicked'
REACHED = "stamp: 11 Z418 21, test_pressure: 5000 psi"
TESTED = "2026-10-20, by: Harbor Air Lab, standard: cga-grade-e, result: pass, source: C1,\n     oxygen: 20.9 %, co: 1 ppm"

NEW_LOOK = "on: 2026-03-02\n    by: JW\n    checklist: annual\n"

ADVERSE = {
    "an air test over its limits, typed as passed": (
        "station.yaml", TESTED, TESTED.replace("co: 1 ppm", "co: 24 ppm"), "air test 2026-10-20",
    ),
    "a gouge too deep, passed": (
        CARD, NOTE, NOTE.replace("note, note", "note, what: gouge, depth: 3 mm, note"), "inspected 2026-03-02",
    ),
    "a bulge, passed": (
        CARD, NOTE, NOTE.replace("note, note", "note, what: bulge, note"), "inspected 2026-03-02",
    ),
    "a test that did not reach its pressure": (
        CARD, REACHED, REACHED.replace("5000", "4000"), "requalified 2021-11",
    ),
    "a test whose finding says that it was not passed": (
        CARD, REACHED, REACHED + ", finding: did not pass", "requalified 2021-11",
    ),
    "a look that has lapsed": (
        CARD, "on: 2026-03-02\n", "on: 2025-03-02\n", "inspected 2025-03-02",
    ),
    "a look that has lapsed, and another in most of its keys": (
        CARD, NEW_LOOK, "on: 2025-03-04\n    by: KD\n    checklist: full-visual\n", "inspected 2025-03-04",
    ),
    "a bank's test that has lapsed": (
        "station.yaml", "2023-04, method: hydrostatic, by: Weir Street Hydro, stamp: 04 Z418 23",
        "2018-04, method: hydrostatic, by: Weir Street Hydro, stamp: 04 Z418 18",
        "B3 requalified 2018-04",
    ),
}  # fmt: skip
"""A file, what it says, what makes it tell against the cylinder, and what is then missed."""


@pytest.fixture(name="cove")
def _cove(tmp_path: Path) -> Path:
    root = tmp_path / "cove"
    shutil.copytree(EXAMPLE, root)
    return root


def begun(root: Path, path: str, then: str, now: str) -> None:
    """Commit the ledger with one text of a file, and leave it with another."""
    (root / path).write_text(then)
    repo = Repo.begin(root)
    repo.git("add", "-A")
    repo.git("commit", "-q", "-m", "as found", at=f"{ON}T09:00:00-05:00")
    (root / path).write_text(now)


def commit(root: Path, path: str, old: str, new: str) -> None:
    """Commit the ledger with a text in the place of another, and put the other back."""
    text = (root / path).read_text()
    assert text.count(old) == 1, text
    begun(root, path, text.replace(old, new), text)


def ask(tb: Run, root: Path) -> Any:
    return tb("--ledger", root, "--on", ON, "may-fill", "RB-014")


@pytest.mark.parametrize("case", ADVERSE)
def test_what_only_the_gate_hears_is_missed(tb: Run, cove: Path, case: str) -> None:
    path, old, new, gone = ADVERSE[case]
    commit(cove, path, old, new)
    said = ask(tb, cove)
    assert said.code == 1
    assert f"{gone} stood in {path}:" in said.out.replace("\n", " "), said.out
    assert "RECORD VANISHED" in said.first
    explain = CARD if path == CARD else "tankbook.yaml"
    why = f"removed:\n  - {{on: {ON}, by: KD, what: '{gone}', why: typed wrong}}\n"
    (cove / explain).write_text((cove / explain).read_text() + why)
    assert ask(tb, cove).code == 0, ask(tb, cove).out


def test_two_looks_that_both_were_made_anew_are_missed_together(tb: Run, cove: Path) -> None:
    text = (cove / CARD).read_text()
    old = text.replace("on: 2026-03-02", "on: 2025-03-05")
    begun(cove, CARD, old, text.replace("{on: 2025-03-03", "{on: 2026-03-01"))
    said = ask(tb, cove).out.replace("\n", " ")
    assert "inspected 2025-03-03 stood in" in said
    assert "inspected 2025-03-05 stood in" in said


def test_what_a_renamed_card_said_is_missed(tb: Run, cove: Path) -> None:
    text = (cove / CARD).read_text()
    begun(cove, CARD, text.replace("on: 2026-03-02", "on: 2025-03-02"), text)
    now = (cove / CARD).with_stem("NEW-99")
    (cove / CARD).rename(now)
    now.write_text(f"{text}formerly: [RB-014]\n")
    said = tb("--ledger", cove, "--on", ON, "may-fill", "NEW-99")
    assert f"inspected 2025-03-02 stood in {CARD}:" in said.out.replace("\n", " "), said.out
    why = (
        f"removed: [{{on: {ON}, by: KD, what: inspected 2025-03-02, why: typed a year too old}}]\n"
    )
    now.write_text(now.read_text() + why)
    assert tb("--ledger", cove, "--on", ON, "may-fill", "NEW-99").code == 0


@pytest.mark.parametrize(
    ("by", "why", "said"),
    [
        ("KD", "typed a year too old", ""),
        ("ZZ", "typed a year too old", "inspected 2025-03-02 was taken out, and ZZ"),
        ("KD", "-", "inspected 2025-03-02 was taken out for `-`, which is no reason"),
        ("KD", "tbd", "which is no reason"),
    ],
)
def test_whoever_takes_out_what_the_gate_hears_says_why(
    tb: Run, cove: Path, by: str, why: str, said: str
) -> None:
    commit(cove, CARD, "on: 2026-03-02\n", "on: 2025-03-02\n")
    what = f"removed: [{{on: {ON}, by: {by}, what: inspected 2025-03-02, why: '{why}'}}]\n"
    (cove / CARD).write_text((cove / CARD).read_text() + what)
    got = ask(tb, cove)
    assert (got.code == 0) is not bool(said), got.out
    assert said in " ".join(got.out.split())


def test_what_was_typed_wrong_is_struck_out_by_correct(tb: Run, cove: Path) -> None:
    text = (cove / CARD).read_text()
    old = text.replace("on: 2026-03-02", "on: 2025-03-02")
    begun(cove, CARD, old, old)
    args = ("correct", "RB-014", "inspected", "2025-03-02", "--why", "typed a year too old")
    done = tb("--ledger", cove, *args, "--set", "on=2026-03-02", "--by", "KD", "--on", ON)
    assert done.code == 0, done.out + done.err
    assert ask(tb, cove).code == 0, ask(tb, cove).out


def test_a_look_put_right_where_others_keep_it_in_date_is_not_missed(tb: Run, cove: Path) -> None:
    text = (cove / CARD).read_text()
    late = "  - {on: 2026-10-01, by: KD, checklist: annual, result: pass, sticker: issued}\nrented:"
    text = text.replace("rented:", late, 1)
    begun(cove, CARD, text.replace("on: 2026-03-02", "on: 2025-03-02"), text)
    assert ask(tb, cove).code == 0, ask(tb, cove).out


def test_a_card_that_cannot_be_read_is_left_to_that(tb: Run, cove: Path) -> None:
    text = (cove / CARD).read_text()
    begun(cove, CARD, text.replace("on: 2026-03-02", "on: 2025-03-02"), f"{text}colour: red\n")
    said = ask(tb, cove)
    assert (said.code, "its file cannot be read" in said.out) == (1, True), said.err


HONEST = {
    "a date mended": (CARD, "{on: 2025-03-03, by: JW", "{on: 2025-03-04, by: JW"),
    "a stamp that was typed wrong": (CARD, "stamp: 11 Z418 21", "stamp: 10 Z418 21"),
    "a test pressure not copied": (CARD, REACHED, "stamp: 11 Z418 21"),
    "a return pressure mended": (CARD, "pressure: 900 psi, valve", "pressure: 800 psi, valve"),
    "a note on a finding": (CARD, "groove nicked;", "groove nicked:"),
    "an air test of another carbon monoxide": ("station.yaml", TESTED, TESTED.replace("co: 1", "co: 2")),
}  # fmt: skip


@pytest.mark.parametrize("case", HONEST)
def test_what_is_put_right_and_told_nothing_is_not_missed(tb: Run, cove: Path, case: str) -> None:
    commit(cove, *HONEST[case])
    said = ask(tb, cove)
    assert said.code == 0, said.out
    assert "VANISHED" not in said.out


def test_a_checklist_that_looks_at_more_by_a_word(tb: Run, cove: Path) -> None:
    path = "checklists/before-hand-over.yaml"
    text = (cove / path).read_text()
    assert "full: yes" not in text
    Repo.begin(cove).git("add", "-A")
    Repo(cove).git("commit", "-q", "-m", "begin", at=f"{ON}T09:00:00-05:00")
    full = text.replace("full: no", "full: yes") if "full: no" in text else f"full: yes\n{text}"
    (cove / path).write_text(full)
    said = ask(tb, cove)
    assert said.code == 1
    assert f"{path} full stood in" in said.out.replace("\n", " "), said.out


def test_a_status_without_its_entry_is_not_changed_in_silence(tb: Run, cove: Path) -> None:
    commit(cove, CARD, "status: in-service", "status: condemned")
    said = ask(tb, cove)
    assert said.code == 1
    assert f"status condemned stood in {CARD}:" in said.out.replace("\n", " ")


def test_a_ledger_whose_settings_are_not_committed_is_compared_with_nothing_and_says_so(
    tb: Run, cove: Path
) -> None:
    repo = Repo.begin(cove)
    repo.git("add", "-A")
    repo.git("rm", "-q", "--cached", "tankbook.yaml")
    repo.git("commit", "-q", "-m", "begin", at=f"{ON}T09:00:00-05:00")
    assert "the latest commit has no `tankbook.yaml`" in " ".join(ask(tb, cove).out.split())
    board = " ".join(tb("--ledger", cove, "--on", ON).out.split())
    assert "What vanishes is not missed: the latest commit has no" in board


@pytest.mark.parametrize("file", ["cylinders/RB-014.yaml", "sets/DB-01.yaml"])
def test_a_new_id_takes_the_lines_of_the_old_one_along(tb: Run, cove: Path, file: str) -> None:
    old = Path(file).stem
    log = cove / "fills/2026.csv"
    over = f"2026-11-25T11:02:50-05:00,{old},fill,1450 psi,4690 psi,55 degF,air,,,TO,TO,C1,P3,,,\n"
    log.write_text(log.read_text() + over)
    repo = Repo.begin(cove)
    repo.git("add", "-A")
    repo.git("commit", "-q", "-m", "begin", at=f"{ON}T09:00:00-05:00")
    now = cove / file.replace(old, "NEW-99")
    (cove / file).rename(now)
    said = tb("--ledger", cove, "--on", ON, "may-fill", "NEW-99")
    assert said.code == 1
    assert f"{old} is NEW-99 now, and the log has " in said.out.replace("\n", " ")
    now.write_text(now.read_text() + f"formerly: [{old}]\n")
    said = tb("--ledger", cove, "--on", ON, "may-fill", "NEW-99")
    assert "filled to 4690 psi, above the" in " ".join(said.out.split())
    assert old not in tb("--ledger", cove, "--on", ON, "validate").out
    lines = tb("--ledger", cove, "history", "NEW-99", "--fills").out
    assert "4690 psi" in lines


def test_an_id_in_use_is_nobodys_former_one(tb: Run, cove: Path) -> None:
    card = cove / CARD
    card.write_text(card.read_text() + "formerly: [RB-011, RB-004]\n")
    said = ask(tb, cove)
    assert "RB-014 was RB-011 before, it says, and RB-011 is in the ledger" in " ".join(
        said.out.split()
    )
    assert "RB-004" not in said.out
