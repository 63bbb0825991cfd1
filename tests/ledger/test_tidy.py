"""Tidying the log: the order of time, no exact duplicates, and nothing else."""

from __future__ import annotations

import random
from pathlib import Path

import books
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.load import load
from tankbook.ledger.tidy import tidied, tidy
from tankbook.records.log import LogLine, columns

PATH = "fills/2026.csv"
HEADER = ",".join(columns(LogLine)) + "\n"


def line(at: str, to: str = "3000 psi", note: str = "") -> str:
    return f"{at},RB-014,fill,,{to},,air,,,MV,,B1,,,,{note}\n"


ONE = line("2026-11-20T09:30:00+01:00")
TWO = line("2026-11-20T09:00:00+00:00", note='"a ""b"", c"')
THREE = line("2026-11-20T11:00:00+01:00")


def done(*lines: str, head: str = HEADER) -> str:
    return tidied((head + "".join(lines)).encode(), PATH).text


def test_lines_stand_in_the_order_of_their_moment_whatever_the_offset() -> None:
    assert done(THREE, TWO, ONE) == HEADER + ONE + TWO + THREE


def test_lines_of_one_moment_keep_their_order() -> None:
    drain = ONE.replace("fill", "drain")
    assert done(THREE, drain, ONE) == HEADER + drain + ONE + THREE


def test_only_exact_duplicates_are_dropped() -> None:
    other = line("2026-11-20T09:30:00+01:00", to="3001 psi")
    got = tidied((HEADER + ONE + other + ONE + TWO + ONE).encode(), PATH)
    assert got.text == HEADER + ONE + other + TWO
    assert got.twice == 2


@pytest.mark.parametrize(
    "text",
    [
        HEADER,
        HEADER + ONE + TWO,
        HEADER + ONE + TWO.rstrip("\n"),
        HEADER + ONE + "\n" + TWO,
        "\ufeff" + HEADER + ONE,
        (HEADER + ONE + TWO).replace("\n", "\r\n"),
    ],
)
def test_a_log_in_order_stays_byte_for_byte(text: str) -> None:
    assert tidied(text.encode(), PATH).text == text


def test_line_ends_and_byte_order_mark_stay() -> None:
    crlf = ("\ufeff" + HEADER + TWO + ONE).replace("\n", "\r\n")
    assert tidied(crlf.encode(), PATH).text == ("\ufeff" + HEADER + ONE + TWO).replace("\n", "\r\n")


def test_a_last_line_without_its_end_gets_one_when_it_moves() -> None:
    assert done(TWO, ONE.rstrip("\n")) == HEADER + ONE + TWO


def test_a_blank_line_stays_below_its_line() -> None:
    assert done(THREE, "\n", ONE, ONE, "\n") == HEADER + ONE + "\n" + THREE + "\n"


@given(st.lists(st.integers(0, 8), max_size=12), st.randoms(use_true_random=False))
def test_sorting_loses_and_adds_nothing(minutes: list[int], chance: random.Random) -> None:
    lines = [line(f"2026-11-20T09:0{m}:00+01:00", to=f"{m}00 psi") for m in minutes]
    got = done(*lines)
    assert sorted(set(got.splitlines())) == sorted({HEADER.strip(), *"".join(lines).splitlines()})
    assert got.splitlines()[1:] == sorted(set("".join(lines).splitlines()))
    assert tidied(got.encode(), PATH).text == got
    chance.shuffle(lines)
    assert done(*lines) == got


FAULTS = {
    "torn": (HEADER + TWO + "2026-11-20T0", "3:1: the last line is cut short"),
    "in conflict": (HEADER + "<<<<<<< ours\n" + TWO + ONE, "2:1: a merge conflict"),
    "an open quote": (HEADER + TWO.replace('c"', "c") + ONE, "2:"),
    "too few cells": (HEADER + "2026-11-20T09:30:00+01:00,RB-014\n" + TWO, "2:1: 2 cells"),
    "no time": (HEADER + TWO + ONE.replace("2026-11-20T09:30:00+01:00", "yesterday"), "3:1: "),
    "another header": ("at,cylinder\n" + ONE, "1:1: "),
    "no text": (b"\xff\xfe\x00", "not UTF-8"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_log_at_fault_is_refused(name: str, ledger: Path) -> None:
    text, where = FAULTS[name]
    data = text if isinstance(text, bytes) else text.encode()
    (ledger / PATH).write_bytes(data)
    with pytest.raises(LedgerError) as refused:
        tidy(ledger)
    assert where.removeprefix("not UTF-8") in str(refused.value)
    assert "nothing was written" in refused.value.mend
    assert (ledger / PATH).read_bytes() == data


@pytest.fixture(name="ledger")
def _ledger(tmp_path: Path) -> Path:
    (tmp_path / "fills").mkdir()
    (tmp_path / "cylinders").mkdir()
    (tmp_path / "tankbook.yaml").write_text(books.SETTINGS)
    (tmp_path / "cylinders/RB-014.yaml").write_text(books.GOOD)
    return tmp_path


def test_every_year_is_tidied_at_once_or_none(ledger: Path) -> None:
    old = ONE.replace("2026", "2025") + TWO.replace("2026", "2025")
    late = THREE.replace("2026", "2025")
    (ledger / "fills/2025.csv").write_text(HEADER + late + old)
    (ledger / PATH).write_text(HEADER + TWO + ONE + ONE)
    before = (ledger / PATH).read_text()
    dry = tidy(ledger, dry_run=True)
    assert (ledger / PATH).read_text() == before
    got = tidy(ledger)
    assert got.act.sentence == (
        "Tidied fills/2025.csv (1 late, 0 twice), fills/2026.csv (1 late, 1 twice)"
    )
    assert (dry.diff, dry.files) == (got.diff, got.files)
    assert (ledger / "fills/2025.csv").read_text() == HEADER + old + late
    assert [n.at.hour for n in load(ledger).log] == [9, 9, 11, 9, 9]
    assert tidy(ledger).act.sentence == "The log is in order"


def test_a_fault_in_one_year_keeps_the_others_as_they_are(ledger: Path) -> None:
    (ledger / "fills/2025.csv").write_text(HEADER + TWO + ONE)
    (ledger / PATH).write_text(HEADER + ONE[:20])
    with pytest.raises(LedgerError):
        tidy(ledger)
    assert (ledger / "fills/2025.csv").read_text() == HEADER + TWO + ONE


def test_without_a_log_there_is_nothing_to_do(ledger: Path) -> None:
    assert tidy(ledger).files == ()
