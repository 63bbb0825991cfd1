"""Serials recorded as stolen, and refusals of cylinders that have no card here."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from repos import Repo

Run = Callable[..., Any]
ON = "2026-11-25"
MARKS = "DOT-3AL 3000 {} 09A21 10 T123 26"
SEEN = ("--maker", "Example Cylinder Co", "--outlet", "yoke", "--sticker", "2026-05")
BY = ("--by", "MV", "--on", ON)
PROOF = ("--proof", "N-4471, letter of 24 Nov")
PROVEN = ", found_proof: 'N-4471, letter of 24 Nov'"
NOTICE = ("--why", "police notice of 20 Nov", "--ref", "N-4471")


def asked(tb: Run, ledger: Path, serial: str, *more: str) -> Any:
    """Whether a stranger may be filled."""
    return tb(
        "may-fill", "--marks", MARKS.format(serial), *SEEN, *more, "--on", ON, "--ledger", ledger
    )


def do(tb: Run, ledger: Path, *line: str, on: str = ON) -> Any:
    return tb(*line, "--by", "MV", "--on", on, "--ledger", ledger)


# --- stolen


@pytest.mark.parametrize("read", ["Z990204", "z-990204", "Z99O2O4", "Z 990204"])
def test_a_stolen_serial_is_told_however_it_is_read(tb: Run, ledger: Path, read: str) -> None:
    assert asked(tb, ledger, "Z990204").code == 0
    assert do(tb, ledger, "stolen", read, *NOTICE).code == 0
    got = asked(tb, ledger, "Z990204")
    assert got.code == 1
    assert "recorded as stolen since 2026-11-25" in " ".join(got.out.split())
    assert "nobody is to take it by force" in " ".join(got.out.split())
    marks = tb("marks", MARKS.format("Z990204"), "--on", ON, "--ledger", ledger, "--json")
    assert any("recorded as stolen" in each for each in marks.json["on_record"])


@pytest.mark.parametrize(
    ("serial", "more"),
    [("Z990205", ()), ("Y990204", ()), ("Z990204", ("--maker", "Another Works of the North"))],
)
def test_another_serial_or_maker_is_let_be(
    tb: Run, ledger: Path, serial: str, more: tuple[str, ...]
) -> None:
    do(tb, ledger, "stolen", "Z990204", *NOTICE, "--maker", "Example Cylinder Co")
    assert "stolen" not in asked(tb, ledger, serial, *more).out


def as_kd(tb: Run, ledger: Path, *line: str) -> Any:
    return tb(*line, "--by", "KD", "--on", ON, "--ledger", ledger)


@pytest.mark.parametrize(
    ("stolen", "act"),
    [
        ("RB-016", ("return", "RB-016=900", "--valve", "closed", "--at", "16:00")),
        ("RB-014", ("drain", "RB-014", "--at", "16:00")),
        ("RB-014", ("reading", "RB-014=900", "--at", "16:00")),
        ("RB-041", ("drain", "DB-01", "--at", "16:00")),
        ("RB-041", ("reading", "DB-01=900", "--at", "16:00")),
        ("RB-041", ("isolator", "DB-01", "shut")),
        ("RB-014", ("hold", "RB-014", "--why", "dent")),
        ("RB-014", ("valve", "RB-014", "--did", "read", "--outlet", "yoke")),
    ],
)
def test_whoever_has_a_stolen_one_in_hand_is_told(
    tb: Run, tmp_path: Path, example_ledger: Path, stolen: str, act: tuple[str, ...]
) -> None:
    example = shutil.copytree(example_ledger, tmp_path / "shop")
    said = f"{stolen}: WARNING: its serial"
    before = as_kd(tb, example, *act, "--dry-run")
    assert (before.code, said in before.out) == (0, False), before.out
    assert as_kd(tb, example, "stolen", stolen, *NOTICE).code == 0
    got = as_kd(tb, example, *act)
    assert (got.code, " ".join(got.out.split()).count(said)) == (0, 1), got.out
    assert "nobody is to take it by force" in " ".join(got.out.split())


def test_it_says_where_it_stands_also_out_in_its_set(
    tb: Run, tmp_path: Path, example_ledger: Path
) -> None:
    example = shutil.copytree(example_ledger, tmp_path / "shop")
    rented = as_kd(tb, example, "rent", "DB-01", "--to", "B-9", "--until", "2026-11-27",
                "--happened", "went at noon")  # fmt: skip
    assert rented.code == 0, rented.out + rented.err
    assert "RB-041 (out) has that serial" in as_kd(tb, example, "stolen", "RB-041", *NOTICE).out


def test_a_stolen_one_of_the_ledger_is_neither_filled_nor_handed_out(tb: Run, ledger: Path) -> None:
    got = do(tb, ledger, "stolen", "rb-014", *NOTICE)
    assert "serial K118204" in got.first
    assert "RB-014 (in-service) has that serial, or may have it" in got.out
    line = ("--to", "2900", "--source", "B1", "--looked", "--at", "12:00")
    for act in (("fill", "RB-014", *line), ("rent", "RB-014", "--to", "B-1")):
        ran = do(tb, ledger, *act)
        assert (ran.code, "recorded as stolen" in " ".join(ran.out.split())) == (1, True), act
    over = ("--override", "owner is a friend", "--approved-by", "MV")
    assert do(tb, ledger, "fill", "RB-014", *line, *over).code == 1
    found = tb("validate", "--on", ON, "--ledger", ledger).out
    assert "[serial-stolen]" in found
    assert "stolen: K118204, police notice" in tb("history", "RB-014", "--ledger", ledger).out
    had = ("--found", "the owner had it all along", *PROOF)
    assert "; held RB-014" in " ".join(do(tb, ledger, "stolen", "K118204", *had).out.split())
    # nobody knows who had it, nor what is in it: as what was lost, it is looked at first
    asked_for = tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger)
    assert asked_for.code == 1
    assert "nobody knows who had it" in " ".join(asked_for.out.split())
    assert do(tb, ledger, "rent", "RB-014", "--to", "B-1").code == 1
    freed = do(tb, ledger, "release", "RB-014", "--why", "it never left the rack")
    assert freed.code == 0, freed.out
    assert tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).code == 0


def test_its_owner_is_not_handed_it_but_what_happened_is_recorded(tb: Run, ledger: Path) -> None:
    card = ledger / "cylinders/RB-014.yaml"
    card.write_text(card.read_text().replace("use: rental", "use: customer\nowner: C-1"))
    for line in (("open", "RB-014", "--work", "fill"), ("done", "RB-014")):
        ran = do(tb, ledger, "jobs", *line)
        assert ran.code == 0, ran.out + ran.err
    do(tb, ledger, "stolen", "K118204", *NOTICE)
    refused = do(tb, ledger, "jobs", "collect", "RB-014")
    assert (refused.code, "--happened" in refused.out) == (1, True), refused.out
    done = do(tb, ledger, "jobs", "collect", "RB-014", "--happened", "he took it along")
    assert (done.code, done.first[:28]) == (0, "Logged as a fact: collected:")
    assert "happened: he took it along; against it: its serial K118204" in card.read_text()


def test_a_look_alike_is_told_apart_and_only_by_somebody(tb: Run, ledger: Path) -> None:
    do(tb, ledger, "stolen", "K1182O4", *NOTICE)
    assert tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).code == 1
    no = do(tb, ledger, "stolen", "K1182O4", "--not-same", "RB-014", "--why", "-")
    assert (no.code, "does not say how the two differ" in no.out) == (1, True)
    yes = do(tb, ledger, "stolen", "K1182O4", "--not-same", "14", "--why", "0, as stamped")
    assert yes.code == 0
    assert tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).code == 0
    assert asked(tb, ledger, "K1182O4").code == 1  # what it was recorded for


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (("stolen", "Z1"), "--why is empty"),
        (("stolen", "Z1", "--why", "-"), "says nothing"),
        (("stolen", "--why", "x y"), "SERIAL"),
        (("stolen", "???", *NOTICE), "is no serial"),
        (("stolen", "RB-014", "--not-same", "RB-014", "--why", "x y"), "is not recorded"),
        (("stolen", "Z\x1b[2J1", *NOTICE), "not one line of plain text"),
        (("stolen", "Z" * 600, *NOTICE), "longer than"),
        (("stolen", "Z1", "--why", "a notice", "--ref", "Ann Example"), "reads like a name"),
        (("stolen", "Z1", "--found", "at the lake"), "is not recorded as stolen"),
        (("stolen", "Z1", "--found", "at the lake", "--why", "a notice"), "nothing else goes"),
        (("stolen", "Z1", "--found", "x y", "--not-same", "RB-014"), "do not go together"),
        (("stolen", "Z990204", *NOTICE), "is recorded as stolen since 2026-11-25 already"),
        (("stolen", "Z990204", "--found", "-", *PROOF), "does not say who found it, and how"),
        (("stolen", "Z990204", "--found", "ok", *PROOF), "does not say who found it, and how"),
        (("stolen", "Z990204", "--found", "It was found again!", *PROOF), "who found it, and how"),
        (("stolen", "Z990204", "--found", "at the lake"), "what proves it is not said"),
        (
            ("stolen", "Z990204", "--found", "at the lake", "--proof", "the police"),
            "what proves it",
        ),
        (("stolen", "Z990204", *PROOF, *NOTICE), "says what proves --found"),
        (("stolen", "Z990204", "--not-same", "RB-014", "--why", "ok"), "how the two differ"),
        (("stolen", "Z990204", "--not-same", "RB-99", "--why", "looked"), "is no card here"),
        (("stolen", "Z990204", "--not-same", "RB-014", "--why", "looked"), "is not taken for"),
    ],
)
def test_what_is_refused_writes_nothing(
    tb: Run, ledger: Path, line: tuple[str, ...], said: str
) -> None:
    do(tb, ledger, "stolen", "Z990204", *NOTICE)
    before = (ledger / "counter.yaml").read_bytes()
    got = do(tb, ledger, *line)
    assert got.code in (1, 2)
    assert said in " ".join((got.out + got.err).split())
    assert (ledger / "counter.yaml").read_bytes() == before
    assert "\x1b" not in got.out + got.err


def test_what_was_recorded_later_is_not_settled_before(tb: Run, ledger: Path) -> None:
    do(tb, ledger, "stolen", "Z990204", *NOTICE)
    early = do(tb, ledger, "stolen", "Z990204", "--found", "at the lake", on="2026-11-20")
    assert (early.code, "after 2026-11-20" in early.out) == (1, True)


ENTRY = "{on: 2026-11-20, by: MV, serial: K118204, why: a notice%s}"


@pytest.mark.parametrize(
    ("more", "fillable"),
    [
        ("", False),
        (f", found: 2026-11-21, found_by: MV, found_why: at the lake{PROVEN}", True),
        (", found: 2026-11-21, found_by: MV, found_why: at the lake", False),
        (", found: 2026-11-21, found_by: MV, found_why: at the lake, found_proof: ok", False),
        (f", found: 2026-11-21, found_by: MV, found_why: found again{PROVEN}", False),
        (f", found: 2026-11-19, found_by: MV, found_why: at the lake{PROVEN}", False),
        (f", found: 2026-11-21, found_by: XX, found_why: at the lake{PROVEN}", False),
        (f", found: 2018-11-21, found_by: MV, found_why: at the lake{PROVEN}", False),
        (", found: 2026-11-21", False),
        (f", found: 2026-11-21, found_by: MV, found_why: '-'{PROVEN}", False),
        (f", found: 2031-11-21, found_by: MV, found_why: at the lake{PROVEN}", False),
        (", void: {on: 2026-11-21, by: MV, why: wrong serial}", True),
        (", void: {on: 2026-11-21, by: XX, why: wrong serial}", False),
        (", void: {on: 2026-11-19, by: MV, why: wrong serial}", False),
        (", not_same: {id: RB-014, by: XX, why: O and 0 as stamped}", False),
        (", not_same: {id: RB-014, by: MV, why: O and 0 as stamped}", True),
        (", not_same: {id: RB-015, by: MV, why: O and 0 as stamped}", False),
    ],
)
def test_an_entry_typed_by_hand(tb: Run, ledger: Path, more: str, fillable: bool) -> None:
    (ledger / "counter.yaml").write_text(f"stolen:\n  - {ENTRY % more}\n")
    got = tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger)
    assert (got.code == 0) is fillable, got.out


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (f", found: 2026-11-21, found_by: XX, found_why: at the lake{PROVEN}", "taken for stolen"),
        (f", found: 2026-11-21, found_by: MV, found_why: ok{PROVEN}", "and how is not said"),
        (", found: 2026-11-21, found_by: MV, found_why: at the lake", "what proves it is not said"),
        (", void: {on: 2026-11-21, by: XX, why: wrong serial}", "XX is not among the people"),
    ],
)
def test_what_a_stranger_signed_is_told(tb: Run, ledger: Path, more: str, said: str) -> None:
    (ledger / "counter.yaml").write_text(f"stolen:\n  - {ENTRY % more}\n")
    got = tb("validate", "--on", ON, "--ledger", ledger)
    assert ("[not-settled]" in got.out, said in " ".join(got.out.split())) == (True, True), got.out


@pytest.mark.parametrize("day", ["2026-11-25", "2031-01-01"])
def test_a_day_to_come_hides_nothing(tb: Run, ledger: Path, day: str) -> None:
    (ledger / "counter.yaml").write_text(f"stolen: [{(ENTRY % '').replace('2026-11-20', day)}]\n")
    assert tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).code == 1


@pytest.mark.parametrize("text", ["stolen: [{on: x}]\n", "stolen: {\n", "stohlen: []\n"])
def test_a_file_that_cannot_be_read_refuses(tb: Run, ledger: Path, text: str) -> None:
    (ledger / "counter.yaml").write_text(text)
    got = tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger)
    assert (got.code == 0, "counter.yaml" in got.out) == (False, True)
    assert do(tb, ledger, "stolen", "Z1", *NOTICE).code == 1
    assert (ledger / "counter.yaml").read_text() == text


@pytest.mark.parametrize(
    ("name", "reads"), [("counter.csv", True), ("counter.yml", False), ("Counter.yaml", False)]
)
def test_a_file_that_is_called_alike(tb: Run, ledger: Path, name: str, reads: bool) -> None:
    (ledger / name).write_text("stolen: []\n" if name != "counter.csv" else "till,sum\n1,2\n")
    got = tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger)
    assert (got.code == 0, name in got.out) == (reads, not reads)


def test_what_vanished_is_told_and_a_strike_is_signed(tb: Run, ledger: Path) -> None:
    do(tb, ledger, "stolen", "Z990204", *NOTICE)
    repo = Repo.begin(ledger)
    repo.commit()
    file = ledger / "counter.yaml"
    text = file.read_text()
    for gone in ("", "stolen: []\n", text.replace("Z990204", "Z990214")):
        file.write_text(gone) if gone else file.unlink()
        got = tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger)
        assert (got.code, "VANISHED: counter.yaml" in got.out) == (1, True), gone
    file.write_text(text)
    line = ("correct", "counter", "stolen", ON, "--why", "typed wrongly")
    assert do(tb, ledger, *line).code == 0
    assert asked(tb, ledger, "Z990204").code == 0
    assert tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).code == 0


@pytest.mark.parametrize(
    ("read", "told"), [("Z99?2?4", True), ("Z991?0?", False), ("Z????", False)]
)
def test_a_notice_in_part_torn(tb: Run, ledger: Path, read: str, told: bool) -> None:
    got = do(tb, ledger, "stolen", read, *NOTICE)
    assert ("too little of it can be read" in got.out) is (read == "Z????")
    assert (asked(tb, ledger, "Z990204").code == 1) is told


def test_a_serial_that_cannot_be_read_in_part_may_be_the_stolen_one(tb: Run, ledger: Path) -> None:
    do(tb, ledger, "stolen", "Z990204", *NOTICE)
    got = asked(tb, ledger, "Z990204", "--set", "serial=Z99020?")
    assert got.code == 1


# --- refused without a card


def test_a_refusal_without_a_card_is_told_when_the_serial_comes_back(tb: Run, ledger: Path) -> None:
    old = ("refuse", "--marks", "DOT-3AL 3000 Z990204 09A20", "--maker", "Example Cylinder Co")
    got = do(tb, ledger, *old, "--told", "in person", on="2026-11-20")
    assert got.first.startswith("Refused at the counter: serial Z990204, which has no card here")
    text = (ledger / "counter.yaml").read_text()
    assert "hydro lapsed Sep 2025" in text
    assert "told: {on: 2026-11-20, by: MV, how: in person}" in text
    assert "Z990204" not in tb("due", "--on", ON, "--ledger", ledger).out
    young = ("--marks", "DOT-3AL 3000 z-990204 09A23")
    back = tb("may-fill", *young, *SEEN, "--on", ON, "--ledger", ledger)
    assert back.code == 0
    assert "it was refused here on 2026-11-20 by MV: hydro lapsed" in " ".join(back.out.split())
    booked = do(tb, ledger, "book-in", *young, "--maker", "Example Cylinder Co", "--ref", "C-1")
    assert "WARNING: it was refused here on 2026-11-20" in " ".join(booked.out.split())


def test_a_test_after_the_refusal_answers_it(tb: Run, ledger: Path) -> None:
    do(tb, ledger, "refuse", "--serial", "Z990204", "--reason", "hydro lapsed", on="2026-05-20")
    assert "refused here" not in asked(tb, ledger, "Z990204").out  # its hydro is of October
    do(tb, ledger, "refuse", "--serial", "Z990204", "--reason", "a dent", on="2026-11-20")
    assert "a dent" in asked(tb, ledger, "Z990204").out


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (("refuse",), "name what is refused"),
        (("refuse", "RB-014", "--serial", "Z1", "--reason", "dent"), "name what is refused"),
        (("refuse", "--serial", "Z1"), "its marks are not said: give the reason"),
        (("refuse", "--serial", "--", "--reason", "dent"), ""),
        (("refuse", "--serial", "???", "--reason", "dent"), "is no serial"),
        (("refuse", "--serial", "Z1", "--reason", "\x1b[2Jdent"), "not one line of plain text"),
        (("refuse", "--serial", "Z1", "--told", "letter", "--earlier"), "no refusal is on record"),
        (
            ("refuse", "--marks", "DOT-3AL 3000 09A23", "--reason", "dent"),
            "none of the marks can be told to be the serial",
        ),
    ],
)
def test_a_refusal_that_is_refused(tb: Run, ledger: Path, line: tuple[str, ...], said: str) -> None:
    got = do(tb, ledger, *line)
    assert got.code in (1, 2)
    assert said in " ".join((got.out + got.err).split())
    assert not (ledger / "counter.yaml").exists()
    assert "\x1b" not in got.out + got.err


def test_the_owner_is_told_later(tb: Run, ledger: Path) -> None:
    got = do(tb, ledger, "refuse", "--serial", "Z1", "--reason", "dent", on="2026-11-20")
    assert "the owner is not told yet" in got.out
    told = do(tb, ledger, "refuse", "--serial", "z-1", "--told", "telephone", "--earlier")
    assert told.code == 0
    assert "told: {on: 2026-11-25, by: MV, how: telephone}" in (ledger / "counter.yaml").read_text()
    again = do(tb, ledger, "refuse", "--serial", "Z1", "--told", "telephone", "--earlier")
    assert again.code == 1


def test_a_stranger_that_may_be_on_file_is_told_of(tb: Run, ledger: Path) -> None:
    got = do(tb, ledger, "refuse", "--serial", "K118204", "--reason", "dent")
    assert got.code == 0
    text = " ".join(got.out.split())
    assert "WARNING: its serial K118204 is RB-014's as well" in text
    assert "if it is RB-014, refuse that as well: `tankbook refuse RB-014`" in text
    assert "has no card here" not in text


@pytest.mark.parametrize(
    "line",
    [
        ("send", "RB-014", "--to", "Northside Test House", "--for", "requalification"),
        ("jobs", "open", "RB-014", "--work", "visual", "--reference", "C-0192"),
    ],
)
def test_who_sends_it_away_or_takes_it_in_is_told(
    tb: Run, ledger: Path, line: tuple[str, ...]
) -> None:
    do(tb, ledger, "stolen", "RB-014", *NOTICE)
    got = do(tb, ledger, *line)
    assert "recorded as stolen since 2026-11-25" in " ".join(got.out.split())


# --- a refusal, whichever way it was kept


LATER = {
    "": True,
    "inspected": "{on: 2026-11-22, by: MV, checklist: annual, result: %s}",
    "requalified": "{on: 2026-11-22, method: hydrostatic, by: T123, result: %s}",
}


@pytest.mark.parametrize("with_card", [True, False])
@pytest.mark.parametrize("later", ["", "inspected", "requalified"])
@pytest.mark.parametrize("result", ["pass", "fail"])
def test_it_is_told_until_something_passed_since(
    tb: Run, ledger: Path, with_card: bool, later: str, result: str
) -> None:
    which = ("RB-014",) if with_card else ("--serial", "k-118204")
    got = do(tb, ledger, "refuse", *which, "--reason", "smelt of oil", on="2026-11-20")
    assert got.code == 0, got.out
    card = ledger / "cylinders/RB-014.yaml"
    if later:
        said = result if later == "requalified" else {"fail": "reject"}.get(result, result)
        line = f"{later}:\n  - {LATER[later] % said}\n"
        card.write_text(card.read_text().replace(f"{later}:\n", line, 1))
    told = not (later and result == "pass")
    out = " ".join(tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).out.split())
    assert ("it was refused here on 2026-11-20 by MV: smelt of oil; owner not told" in out) is told


@pytest.mark.parametrize("with_card", [True, False])
@pytest.mark.parametrize(
    ("reason", "later", "code"),
    [
        ("a crack in the neck", "", 1),
        ("bulge at the shoulder", "", 1),
        ("was in a fire", "", 1),
        ("no crack, but no sticker", "", 0),
        # of a crack a requalifier decides, and says so: tests/rules/test_refused_grave.py
        ("a crack in the neck", "inspected: annual", 1),
        ("a crack in the neck", "inspected: outside", 1),
        ("a crack in the neck", "requalified: hydrostatic", 1),
    ],
)
def test_what_was_refused_for_what_none_of_is_accepted_is_not_filled(
    tb: Run, ledger: Path, with_card: bool, reason: str, later: str, code: int
) -> None:
    which = ("RB-014",) if with_card else ("--serial", "k-118204")
    got = do(tb, ledger, "refuse", *which, "--reason", reason, on="2026-11-20")
    assert got.code == 0, got.out
    name, _, kind = later.partition(": ")
    card = ledger / "cylinders/RB-014.yaml"
    if later:
        entry = LATER[name] % "pass"  # type: ignore[operator]
        line = f"{name}:\n  - {str(entry).replace('annual', kind)}\n"
        card.write_text(card.read_text().replace(f"{name}:\n", line, 1))
    asked_of = tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger)
    assert asked_of.code == code, asked_of.out
    assert (f"by MV: {reason}" in " ".join(asked_of.out.split())) is not (later and not code)
    rented = do(tb, ledger, "rent", "RB-014", "--to", "B-1", "--dry-run")
    assert (f"by MV: {reason}" in " ".join(rented.out.split())) is not (later and not code)


def test_what_is_refused_again_quotes_no_crack_of_another_day_or_side(
    tb: Run, tmp_path: Path, example_ledger: Path
) -> None:
    """Struck out or answered where it was written, it is so at all."""
    shop = shutil.copytree(example_ledger, tmp_path / "shop")
    more = ("--by", "KD", "--on", ON, "--ledger", shop)
    assert tb("refuse", "RB-042", "--reason", "a crack in the neck", *more).code == 0
    for again in ("RB-042", "RB-041", "DB-01"):
        assert tb("refuse", again, "--gas", "nitrox32", *more).code == 0
    for side in ("RB-041", "RB-042"):
        text = (shop / f"cylinders/{side}.yaml").read_text()
        assert text.count("a crack in the neck") == (side == "RB-042"), text
        assert "RB-042 may not be filled" in text or side == "RB-042"
    asked = ("may-fill", "DB-01", "--gas", "nitrox32", "--on", ON, "--ledger", shop)
    assert tb(*asked).code == 1
    struck = tb("correct", "RB-042", "refused", "#1", "--why", "it was of RB-043", *more)
    assert struck.code == 0, struck.out + struck.err
    assert tb(*asked).code == 0


def test_a_refusal_of_another_one_of_its_serial_stays_on_record(tb: Run, ledger: Path) -> None:
    reason = ("--reason", "a crack in the neck")
    assert do(tb, ledger, "refuse", "--serial", "k-118204", *reason, on="2026-11-20").code == 0
    asked_of = tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger)
    assert "correct counter refused 2026-11-20 --set maker=NAME" in " ".join(asked_of.out.split())
    line = ("counter", "refused", "2026-11-20", "--set", "maker=Another Works", "--why", "read it")
    assert do(tb, ledger, "correct", *line).code == 0
    counter = (ledger / "counter.yaml").read_text()
    assert counter.count("a crack in the neck") == 2
    card = ledger / "cylinders/RB-014.yaml"
    text = "\n".join(n for n in card.read_text().splitlines() if not n.startswith("maker:"))
    for maker, code in (("", 1), ("maker: Example Cylinder Co\n", 0)):
        card.write_text(f"{maker}{text}\n")
        assert tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).code == code


@pytest.mark.parametrize(
    ("note", "code"), [("a crack in the neck", 1), ("no crack, no sticker", 0)]
)
def test_the_note_of_a_refusal_says_what_it_was_for_as_well(
    tb: Run, ledger: Path, note: str, code: int
) -> None:
    line = ("refuse", "RB-014", "--reason", "see the note", "--note", note)
    assert do(tb, ledger, *line, on="2026-11-20").code == 0
    assert tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).code == code


@pytest.mark.parametrize("with_card", [True, False])
def test_every_way_in_and_out_tells_it(tb: Run, ledger: Path, with_card: bool) -> None:
    which = ("RB-014",) if with_card else ("--serial", "k-118204")
    do(tb, ledger, "refuse", *which, "--reason", "no sticker", "--told", "in person")
    line = ("--to", "2900", "--from", "2800", "--source", "B1", "--looked", "--at", "12:00")
    for act in (
        ("rent", "RB-014", "--to", "B-1", "--dry-run"),
        ("jobs", "open", "RB-014", "--work", "fill", "--reference", "C-1", "--dry-run"),
        ("send", "RB-014", "--to", "Test House", "--dry-run"),
        ("fill", "RB-014", *line, "--dry-run"),
        ("refuse", "RB-014", "--reason", "again", "--dry-run"),
    ):
        got = do(tb, ledger, *act)
        text = " ".join((got.out + got.err).split())
        assert (got.code, "no sticker; owner told, in person" in text) == (0, True), (act, text)


@pytest.mark.parametrize("by", ["MV", "XX"])
def test_a_refusal_is_struck_out_by_somebody_who_may(tb: Run, ledger: Path, by: str) -> None:
    void = f"void: {{on: 2026-11-21, by: {by}, why: another cylinder}}"
    entry = f"{{on: 2026-11-20, by: MV, serial: K118204, reasons: [smelt of oil], {void}}}"
    (ledger / "counter.yaml").write_text(f"refused:\n  - {entry}\n")
    out = tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).out
    assert ("smelt of oil" in " ".join(out.split())) is (by == "XX")
    found = tb("validate", "--on", ON, "--ledger", ledger).out
    assert ("the refusal of serial K118204 is struck out" in found) is (by == "XX")


DAY_OF = "2026-11-20"


@pytest.mark.parametrize("with_card", [True, False])
@pytest.mark.parametrize(
    ("refused", "look", "by", "code", "said"),
    [
        ("09:10", "11:00", "MV", 0, ""),
        ("09:10", "09:10", "MV", 1, "a look inside that passes it later"),
        ("11:00", "09:10", "MV", 1, "a look inside that passes it later"),
        ("09:10", "", "MV", 1, "`tankbook correct RB-014 inspected 2026-11-20 --set at=HH:MM --why WHY`"),
        ("", "11:00", "MV", 1, "refused 2026-11-20 --set at=HH:MM --why WHY`"),
        ("", "", "MV", 1, "--set at=HH:MM --why WHY` and `tankbook correct RB-014 inspected 2026-11-20"),
        ("09:10", "11:00", "ZZ", 1, "a look inside that passes it later"),  # whom nobody certified
    ],
)  # fmt: skip
def test_a_look_later_that_day_answers_a_leak_by_the_hours(
    tb: Run, ledger: Path, with_card: bool, refused: str, look: str, by: str, code: int, said: str
) -> None:
    which = ("RB-014",) if with_card else ("--serial", "k-118204")
    hour = ("--at", refused) if refused else ()
    got = do(tb, ledger, "refuse", *which, "--reason", "leaks at the neck", *hour, on=DAY_OF)
    assert got.code == 0, got.out
    card = ledger / "cylinders/RB-014.yaml"
    at = f', at: "{look}"' if look else ""
    entry = f"{{on: {DAY_OF}, by: {by}, checklist: annual, result: pass{at}}}"
    card.write_text(card.read_text().replace("inspected:\n", f"inspected:\n  - {entry}\n", 1))
    asked_of = tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger)
    told = " ".join(asked_of.out.split())
    assert asked_of.code == code, asked_of.out
    assert said in told
    if said.startswith("`tankbook correct"):  # what it says to do is what lets it go
        done = do(tb, ledger, "correct", "RB-014", "inspected", DAY_OF, "--set", "at=10:30",
                  "--why", "its hour was left out")  # fmt: skip
        assert done.code == 0, done.out
        assert tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).code == 0


def test_a_look_inside_of_the_day_of_a_refusal_has_its_hour(tb: Run, ledger: Path) -> None:
    look = ("inspect", "RB-014", "--checklist", "annual", "--pass-all", "--same-valve", "--bled", "heard",
            "--neck-thread", "3/4-14 NPSM", "--valve-thread", "3/4-14 NPSM", "--at", "11:00")  # fmt: skip
    leak = ("refuse", "RB-014", "--reason", "leaks at the neck", "--at", "09:10")
    for line in (leak, look):
        got = do(tb, ledger, *line, on=DAY_OF)
        assert got.code == 0, got.out
    assert 'at: "11:00"' in (ledger / "cylinders/RB-014.yaml").read_text()
    assert tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).code == 0


# --- a refusal that only says again that it was refused


def refusals(tb: Run, ledger: Path) -> list[str]:
    """What an answer says that it was refused for, each once."""
    told = tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger, "--json").json
    return [r["text"] for each in told for r in each["reasons"] if r["code"].startswith("refused-")]


def test_what_is_refused_again_and_again_is_told_once(tb: Run, ledger: Path) -> None:
    do(tb, ledger, "refuse", "RB-014", "--reason", "a crack in the neck", on="2026-11-20")
    for day in ("2026-11-20", "2026-11-21", "2026-11-21", "2026-11-22"):
        again = do(tb, ledger, "refuse", "RB-014", on=day)
        assert "here on 2026-11-20 by MV: it was refused" not in " ".join(again.out.split())
    said = "it was refused here on 2026-11-20 by MV: a crack in the neck; owner not told"
    assert refusals(tb, ledger) == [said]
    do(tb, ledger, "refuse", "RB-014", "--told", "in person", on="2026-11-23")
    assert refusals(tb, ledger) == [said.replace("not told", "told, in person")]
    struck = do(
        tb, ledger, "correct", "RB-014", "refused", "2026-11-20#1", "--why", "it was of RB-043"
    )
    assert struck.code == 0, struck.out
    assert refusals(tb, ledger) == []


OLD = "it was refused here on 2026-11-20 by MV: a crack in the neck; owner not told"


@pytest.mark.parametrize(
    ("reasons", "told"),
    [
        ([OLD], []),
        ([OLD.partition("; owner")[0]], []),
        (
            [f"it was refused here on 2026-11-21 by MV: {OLD}; owner not told"],
            None,
        ),  # of none that is
        ([OLD, "boot off"], ["boot off"]),
        ([OLD.replace("a crack in the neck", "a bulge")], None),
        (["it was refused here on 2026-11-19 by MV"], None),
        (["it was refused here on 2026-11-20 by MV, and bulges now"], None),
    ],
)
def test_of_a_refusal_that_quotes_another_what_it_says_besides_is_told(
    tb: Run, ledger: Path, reasons: list[str], told: list[str] | None
) -> None:
    """What quotes none that is on record, or says more than it, stands as it is."""
    do(tb, ledger, "refuse", "RB-014", "--reason", "a crack in the neck", on="2026-11-20")
    more = [part for each in reasons for part in ("--reason", each)]
    do(tb, ledger, "refuse", "RB-014", *more, on="2026-11-22")
    kept = reasons if told is None else told
    second = f"it was refused here on 2026-11-22 by MV: {', '.join(kept)}; owner not told"
    assert refusals(tb, ledger) == [OLD, *([second] if kept else [])]


def test_what_the_note_of_a_quote_says_is_told(tb: Run, ledger: Path) -> None:
    do(tb, ledger, "refuse", "RB-014", "--reason", "hydro lapsed", on="2026-11-20")
    quote = (
        "--reason",
        "it was refused here on 2026-11-20 by MV",
        "--note",
        "bulges at the foot now",
    )
    do(tb, ledger, "refuse", "RB-014", *quote, on="2026-11-21")
    assert len(refusals(tb, ledger)) == 2
    assert tb("may-fill", "RB-014", "--on", ON, "--ledger", ledger).code == 1


def test_refusals_that_only_quote_each_other_are_told(tb: Run, ledger: Path) -> None:
    """Of one that is gone from the files nothing but they tell."""
    card = ledger / "cylinders/RB-014.yaml"
    quote = "{on: 2026-11-20, by: MV, reasons: [it was refused here on 2026-11-20 by MV]}"
    card.write_text(card.read_text() + f"refused:\n  - {quote}\n  - {quote}\n")
    assert len(refusals(tb, ledger)) == 1


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ((), ("--maker", "Example Cylinder Co"), "the entry of 2026-11-25 names no maker"),
        (("--maker", "Example Cylinder Co"), (), "the entry recorded now names no maker"),
        (("--maker", "Example Cylinder Co"), ("--maker", "Another Works of the North"), ""),
    ],
)
def test_a_serial_recorded_twice_is_told(
    tb: Run, ledger: Path, first: tuple[str, ...], second: tuple[str, ...], said: str
) -> None:
    assert do(tb, ledger, "stolen", "Z990204", *NOTICE, *first).code == 0
    got = do(tb, ledger, "stolen", "Z 990204", *NOTICE, *second)
    assert got.code == 0
    text = " ".join((got.out + got.err).split())
    assert ("recorded as stolen since 2026-11-25 already" in text) is bool(said)
    assert said in text
    if said:
        line = ("correct", "counter", "stolen", "2026-11-25#1" if "#1" in text else "2026-11-25")
        assert " ".join(("tankbook", *line)) in text
        strike = ("stolen", "2026-11-25#1", "--why", "it is the same one")
        assert do(tb, ledger, "correct", "counter", *strike).code == 0


@pytest.mark.parametrize("spelt", ["F77012", "F-77012", "f 77O12", "F77OI2"])
def test_who_was_told_of_a_refusal_is_found_however_its_serial_is_spelt(
    tb: Run, ledger: Path, spelt: str
) -> None:
    assert do(tb, ledger, "refuse", "--serial", "F77012", "--reason", "no paper").code == 0
    told = ("refuse", "--serial", spelt, "--earlier", "--told", "telephone")
    first = do(tb, ledger, *told)
    assert "Owner told of the refusal of serial F77012, telephone" in " ".join(first.out.split())
    assert "no refusal is on record whose owner is not told" in " ".join(
        do(tb, ledger, *told).out.split()
    )


def test_a_serial_that_may_be_two_refused_ones_is_asked_for_as_it_was_written(
    tb: Run, ledger: Path
) -> None:
    for serial in ("F77O12", "F770I2"):
        assert do(tb, ledger, "refuse", "--serial", serial, "--reason", "no paper").code == 0
    no = do(tb, ledger, "refuse", "--serial", "F77012", "--earlier", "--told", "telephone")
    said = " ".join(no.out.split())
    assert "serial F77012 may be F77O12 or F770I2: name it as it was refused" in said
    yes = do(tb, ledger, "refuse", "--serial", "F770I2", "--earlier", "--told", "telephone")
    assert yes.code == 0


@pytest.mark.parametrize("spelt", ["F-77012", "f77O12"])
def test_what_was_stolen_is_found_however_its_serial_is_spelt(
    tb: Run, ledger: Path, spelt: str
) -> None:
    assert do(tb, ledger, "stolen", "F77012", *NOTICE).code == 0
    found = do(tb, ledger, "stolen", spelt, "--found", "by police at the quay", *PROOF)
    assert found.code == 0, found.err
