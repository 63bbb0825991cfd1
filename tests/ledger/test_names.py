"""Ids and paths come from outside: only harmless ones pass."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.names import is_safe_id, within


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
