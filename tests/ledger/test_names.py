"""Ids and paths come from outside: only harmless ones pass."""

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.names import LONGEST_RANGE, is_safe_id, resolve_among, spread_range, within


@pytest.mark.parametrize("text", ["RB-014", "14", "a", "DB_02", "v1.2", "x" * 64, "CONVOY", "c0m1"])
def test_safe_ids(text: str) -> None:
    assert is_safe_id(text)


@pytest.mark.parametrize(
    "text",
    [
        *("", "x" * 65, ".a", "-a", "_a", "~a", "$x", "a.", "a..b", "..", "a/b", "a\\b", "a:b"),
        *("a b", "é", "a\n", "a\0", "a*", "a?", "a'", "CON", "con", "Nul.txt", "com1", "LPT9.x"),
    ],
)
def test_unsafe_ids(text: str) -> None:
    assert not is_safe_id(text)


@given(st.text())
def test_a_safe_id_is_one_plain_name(text: str) -> None:
    assert not is_safe_id(text) or (text.isascii() and Path(text).name == text)


def test_a_path_within_the_ledger(tmp_path: Path) -> None:
    assert within(tmp_path, "cylinders/RB-014.yaml") == tmp_path / "cylinders" / "RB-014.yaml"
    assert within(tmp_path, "tankbook.yaml") == tmp_path / "tankbook.yaml"


@pytest.mark.parametrize(
    "path",
    [
        *("", "/etc/x", "../x", "a/../../x", "a//b", "./a", "a/.", "a/", "a\\b", "C:x", "a\0"),
        *("a\nb", ".git/config", ".GIT/hooks/x", "a/.git/x", ".tankbook/journal"),
    ],
)
def test_paths_that_are_refused(tmp_path: Path, path: str) -> None:
    with pytest.raises(LedgerError) as refusal:
        within(tmp_path, path)
    assert str(refusal.value).isprintable()


def test_links_are_followed_only_inside_the_ledger(tmp_path: Path) -> None:
    root = tmp_path / "ledger"
    (root / "cylinders").mkdir(parents=True)
    (root / ".git").mkdir()
    (root / "cylinders" / "A.yaml").symlink_to("B.yaml")
    (root / "cylinders" / "C.yaml").symlink_to(tmp_path / "elsewhere.yaml")
    (root / "cylinders" / "D.yaml").symlink_to("../.git/config")
    (root / "cylinders" / "loop").symlink_to("loop")
    (root / "sets").symlink_to(tmp_path)
    (tmp_path / "same").symlink_to(root)
    assert within(root, "cylinders/A.yaml") == root / "cylinders" / "B.yaml"
    assert within(tmp_path / "same", "cylinders/A.yaml") == root / "cylinders" / "B.yaml"
    for path in ("cylinders/C.yaml", "sets/X.yaml"):
        with pytest.raises(LedgerError, match="leads out of the ledger"):
            within(root, path)
    with pytest.raises(LedgerError, match=r"\.git holds no records"):
        within(root, "cylinders/D.yaml")


KNOWN = ("RB-001", "RB-002", "RB-004", "RB-014", "SF-004", "SF-005", "SF-006", "DB-02", "BANK.7")


@pytest.mark.parametrize(
    ("text", "id_"),
    [
        ("RB-004", "RB-004"),
        ("RB4", "RB-004"),
        ("rb4", "RB-004"),
        ("rb-4", "RB-004"),
        ("rb 4", "RB-004"),
        ("rb004", "RB-004"),
        ("RB_04", "RB-004"),
        ("sf4", "SF-004"),
        ("db2", "DB-02"),
        ("bank7", "BANK.7"),
        ("5", "SF-005"),
        ("014", "RB-014"),
        ("K100", "SF-006"),
    ],
)
def test_an_id_by_its_letters_and_its_number(text: str, id_: str) -> None:
    assert resolve_among(KNOWN, text, [("SF-006", "k100")]) == id_


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("4", "3 ids end so: RB-004, RB-014, SF-004; write more of it"),
        ("004", "2 ids end so: RB-004, SF-004; write more of it"),
        ("RB-003,RB-004", "no id has a comma; leave a blank between two: `RB-003 RB-004`"),
        ("RB3", "no cylinder or set of this ledger ends so; `tankbook list` shows them all"),
        ("DB4", "no cylinder or set of this ledger ends so; `tankbook list` shows them all"),
        ("SF14", "no cylinder or set of this ledger ends so; `tankbook list` shows them all"),
        ("R4", "no cylinder or set of this ledger ends so"),
        ("RB-", "no cylinder or set of this ledger ends so"),
        ("RB-1..RB-2", "this is a range, and one is asked for; name one of them"),
    ],
)
def test_what_names_none_or_more_than_one(text: str, said: str) -> None:
    with pytest.raises(LedgerError, match=re.escape(said)):
        resolve_among(KNOWN, text)


def test_two_ids_that_differ_in_their_zeros_are_both_named() -> None:
    with pytest.raises(LedgerError, match="2 ids end so: RB-004, RB-04"):
        resolve_among(("RB-004", "RB-04"), "rb4")
    assert resolve_among(("RB-004", "RB-04"), "rb-04") == "RB-04"


@pytest.mark.parametrize(
    ("text", "ids"),
    [
        ("SF-004..SF-006", ["SF-004", "SF-005", "SF-006"]),
        ("sf4..6", ["SF-004", "SF-005", "SF-006"]),
        ("4..SF6", ["SF-004", "SF-005", "SF-006"]),
        ("sf 5 .. sf 6", ["SF-005", "SF-006"]),
        ("1..2", None),
        ("rb1..2", ["RB-001", "RB-002"]),
        ("5..6", ["SF-005", "SF-006"]),
        ("5..5", ["SF-005"]),
        ("5..6=500/closed", ["SF-005=500/closed", "SF-006=500/closed"]),
        ("RB-014", ["RB-014"]),
        ("14=a..b", ["14=a..b"]),
        ("K1..K2", ["K1..K2"]),
    ],
)
def test_a_range_of_ids(text: str, ids: list[str] | None) -> None:
    if ids is None:
        with pytest.raises(LedgerError, match="it may be of 2 series"):
            spread_range(KNOWN, text)
        return
    assert list(spread_range(KNOWN, text, ["k1..k2"])) == ids


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("RB1..RB4", "RB-003 is not there; write RB-001..RB-002 RB-004"),
        ("rb-1..7", "RB-003, RB-005, RB-006, RB-007 are not there; write RB-001..RB-002 RB-004"),
        ("RB-1..RB-30", "and 18 more are not there"),
        ("RB4..RB1", "it runs backward; give the lower number first"),
        ("RB1..SF4", "its ends are of two series; give a range of each by itself"),
        (
            "4..6",
            "it may be of 2 series: RB-004; SF-004..SF-006; write the letters, as in RB-4..6",
        ),
        (f"1..{LONGEST_RANGE + 1}", "it is of more than 500 ids; give shorter ones"),
        ("1..999999999", "it is of more than 500 ids; give shorter ones"),
        ("1..99999999999999", "it is of more than 500 ids"),
        ("..", "both ends of a range end in a number"),
        ("RB..4", "both ends of a range end in a number"),
        ("1..", "both ends of a range end in a number; as in SF-001..SF-012"),
        ("XX1..XX3", "no cylinder or set of this ledger is in it"),
    ],
)
def test_a_range_that_is_refused(text: str, said: str) -> None:
    with pytest.raises(LedgerError, match=re.escape(said)):
        spread_range(KNOWN, text)


def test_two_ids_of_one_number_are_no_range() -> None:
    with pytest.raises(LedgerError, match="RB-004 and RB-04 have one number; name each by itself"):
        spread_range(("RB-004", "RB-04", "RB-005"), "RB4..RB5")


@given(st.sets(st.integers(1, 60), min_size=1), st.integers(1, 60), st.integers(0, 59))
def test_a_range_is_all_of_its_ids_or_refused_with_those_there_are(
    numbers: set[int], low: int, more: int
) -> None:
    known = [f"RB-{n:03}" for n in numbers]
    wanted = range(low, low + more + 1)
    if set(wanted) <= numbers:
        assert list(spread_range(known, f"{low}..{low + more}")) == [f"RB-{n:03}" for n in wanted]
        return
    with pytest.raises(LedgerError) as refusal:
        spread_range(known, f"{low}..{low + more}")
    if numbers & set(wanted) and "..." not in refusal.value.mend:
        typed = refusal.value.mend.removeprefix("write ").split()
        ids = [id_ for each in typed for id_ in spread_range(known, each)]
        assert ids == [f"RB-{n:03}" for n in sorted(numbers & set(wanted))]


def test_letters_and_the_end_of_a_number_name_the_ids_that_end_so() -> None:
    known = ("RB-014", "RB-024", "RB-240", "SF-004")
    said = "ends so; write more of it: RB-014, RB-024 end in 4"
    with pytest.raises(LedgerError, match=re.escape(said)):
        resolve_among(known, "RB4")
    assert resolve_among((*known, "RB-004"), "RB4") == "RB-004"
