"""Names by reference: read where they are, refused where git knows them."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from tankbook.ledger.contacts import check_contacts, contacts
from tankbook.records.node import Severity

TEXT = 'reference,name,phone\nC-0192,A. Example,555 0100\nB-4471,"Example, Bo",\n'


@pytest.fixture(name="shop")
def _shop(tmp_path: Path) -> Path:
    (tmp_path / "contacts.csv").write_text(TEXT)
    (tmp_path / ".gitignore").write_text("contacts.csv\n")
    return tmp_path


def git(root: Path, *arguments: str) -> None:
    subprocess.run(["git", "-C", root, *arguments], check=True, capture_output=True)


def codes(root: Path) -> list[tuple[str, str]]:
    return [(f.code, f.severity.value) for f in check_contacts(root)]


def test_names_are_known_by_reference(shop: Path) -> None:
    found = contacts(shop)
    assert (found["C-0192"].name, found["C-0192"].phone) == ("A. Example", "555 0100")
    assert (found["B-4471"].name, found["B-4471"].phone) == ("Example, Bo", None)


def test_without_the_file_there_are_no_names_and_nothing_is_wrong(tmp_path: Path) -> None:
    assert contacts(tmp_path) == {}
    assert check_contacts(tmp_path) == []


def test_outside_git_and_ignored_by_git_nothing_is_wrong(shop: Path) -> None:
    assert codes(shop) == []
    git(shop, "init", "-q")
    assert codes(shop) == []


def test_a_tracked_file_is_a_fault(shop: Path) -> None:
    git(shop, "init", "-q")
    git(shop, "add", "-f", "contacts.csv")
    assert codes(shop) == [("contacts-tracked", "fault")]
    (shop / "contacts.csv").unlink()
    assert codes(shop) == [("contacts-tracked", "fault")]
    git(shop, "rm", "-q", "--cached", "contacts.csv")
    assert codes(shop) == []


def test_a_file_that_git_would_take_in_is_advice(shop: Path) -> None:
    git(shop, "init", "-q")
    (shop / ".gitignore").unlink()
    assert codes(shop) == [("contacts-not-ignored", "advice")]


@pytest.mark.parametrize(
    ("text", "code", "severity"),
    [
        ("reference,name\nC-1,A\n", "missing-column", Severity.FAULT),
        ("reference,name,phone\nC-1,,555\n", "missing-cell", Severity.FAULT),
        ("reference,name,phone\nC-1,A,1\nC-1,B,2\n", "reference-twice", Severity.FAULT),
        ("reference,name,phone\nC-1,A\n", "cell-count", Severity.FAULT),
        ("", "no-header", Severity.FAULT),
    ],
)
def test_what_is_written_wrongly_is_told(
    tmp_path: Path, text: str, code: str, severity: Severity
) -> None:
    (tmp_path / "contacts.csv").write_text(text)
    assert (code, severity.value) in codes(tmp_path)


def test_a_file_that_is_no_text_is_told(tmp_path: Path) -> None:
    (tmp_path / "contacts.csv").write_bytes(b"\xff\xfe\x00")
    assert contacts(tmp_path) == {}
    assert codes(tmp_path) == [("not-utf-8", "fault")]
