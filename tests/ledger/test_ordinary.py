"""What may lie where a record is wanted: told, never followed, never waited for."""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from pathlib import Path

import books
import pytest
from read_whole import read_ledger

from tankbook.ledger.contacts import read_contacts
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import Folder, OnDisk
from tankbook.ledger.gitwalk import _readable
from tankbook.ledger.handed_out import check_out
from tankbook.ledger.journal import acting
from tankbook.ledger.keyed import read_found, read_queue, read_sheet
from tankbook.ledger.load import load
from tankbook.ledger.names import within
from tankbook.ledger.plan_file import read_plan
from tankbook.ledger.tidy import tidy
from tankbook.records.log import LogLine, columns
from tankbook.rules.gate import may_fill

pytestmark = pytest.mark.skipif(os.name == "nt", reason="pipes and links of POSIX systems")

HEADER = ",".join(columns(LogLine)) + "\n"
CARD, SET, RULES, LIST, LOG = (
    "cylinders/RB-014.yaml",
    "sets/DB-02.yaml",
    "rules/shop.yaml",
    "checklists/annual.yaml",
    "fills/2026.csv",
)


def pipe(path: Path) -> None:
    os.mkfifo(path)


def unix_socket(path: Path) -> None:
    here = Path.cwd()
    os.chdir(path.parent)  # the name of a socket is short
    try:
        socket.socket(socket.AF_UNIX).bind(path.name)
    finally:
        os.chdir(here)


def loop(path: Path) -> None:
    path.symlink_to(path.name)


def nowhere(path: Path) -> None:
    path.symlink_to("not-there")


def endless(path: Path) -> None:
    path.symlink_to("/dev/zero")


def outside(path: Path) -> None:
    """A link to a good file, or to a folder, beside the ledger."""
    there = ROOTS[-1].parent / path.name
    if "." in path.name:
        there.write_bytes(KEPT.get(path, b"serial: K1\n"))
    else:
        there.mkdir()
    path.symlink_to(there)


def folder(path: Path) -> None:
    path.mkdir()


def large(path: Path) -> None:
    """More than is ever read; no disk holds that much of it."""
    with path.open("wb") as file:
        file.truncate(1 << 40)


ODD = (pipe, unix_socket, loop, nowhere, endless, outside, folder, large)
ROOTS: list[Path] = []
KEPT: dict[Path, bytes] = {}


@pytest.fixture(name="root")
def _root(tmp_path: Path) -> Path:
    root = tmp_path / "quay"
    texts = {
        "tankbook.yaml": books.SETTINGS.lstrip(),
        "station.yaml": "banks: []\n",
        CARD: books.GOOD.lstrip(),
        LOG: HEADER,
    }
    for path, text in texts.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text, encoding="utf-8")
    for each in ("sets", "rules", "checklists"):
        (root / each).mkdir()
    ROOTS[:] = [root]
    KEPT.clear()
    return root


def put(root: Path, path: str, odd: Callable[[Path], None]) -> Path:
    """Put something odd in the place of what is there."""
    place = root / path
    if place.is_dir():
        for each in place.iterdir():
            each.unlink()
        place.rmdir()
    elif place.exists():
        KEPT[place] = place.read_bytes()
        place.unlink()
    odd(place)
    return place


def told(root: Path) -> dict[str, str]:
    """The first fault of each path."""
    found: dict[str, str] = {}
    for each in read_ledger(root).findings:
        found.setdefault(each.where.path, each.text)
    return found


@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("path", [CARD, SET, RULES, LIST, LOG, "station.yaml", "bookings.csv"])
def test_in_place_of_a_file_it_is_a_fault_and_no_yes(
    root: Path, path: str, odd: Callable[[Path], None]
) -> None:
    put(root, path, odd)
    assert path in told(root), told(root)
    book = load(root, today=books.TODAY)
    if path in (CARD, SET, RULES, LOG, "station.yaml"):
        answer = may_fill(book, "RB-014", books.TODAY)
        assert not answer.fillable
    if path in (CARD, SET):
        assert path.partition("/")[2].removesuffix(".yaml") in book.broken
    assert path != LIST or "annual" not in book.checklists


@pytest.mark.parametrize("odd", [pipe, unix_socket, loop, nowhere, endless, outside])
@pytest.mark.parametrize("path", ["cylinders", "sets", "rules", "checklists", "fills"])
def test_in_place_of_a_folder_it_is_a_fault_and_no_yes(
    root: Path, path: str, odd: Callable[[Path], None]
) -> None:
    put(root, path, odd)
    assert f"{path}/" in told(root), told(root)
    book = load(root, today=books.TODAY)
    if path in ("sets", "rules", "fills"):
        assert not may_fill(book, "RB-014", books.TODAY).fillable
    assert path != "checklists" or not book.checklists
    assert path in Folder.of(root).broken


@pytest.mark.parametrize("odd", ODD)
def test_in_place_of_the_settings_nothing_is_answered(
    root: Path, odd: Callable[[Path], None]
) -> None:
    put(root, "tankbook.yaml", odd)
    with pytest.raises(LedgerError, match=r"tankbook\.yaml"):
        load(root)


@pytest.mark.parametrize("odd", ODD)
def test_in_place_of_the_contacts_it_is_a_finding(root: Path, odd: Callable[[Path], None]) -> None:
    put(root, "contacts.csv", odd)
    names, findings = read_contacts(root)
    assert names == {}
    assert [f.code for f in findings] == ["unreadable"]


@pytest.mark.parametrize("odd", ODD)
def test_git_is_held_against_no_such_file(root: Path, odd: Callable[[Path], None]) -> None:
    """A folder in place of a card is none: the card has gone, and is missed as such."""
    put(root, CARD, odd)
    seen = Folder.of(root)
    assert CARD not in seen.data
    assert (CARD in seen.broken) == (odd is not folder)
    assert _readable(OnDisk(root), CARD) is None


@pytest.mark.parametrize("odd", [pipe, unix_socket, endless, folder, large, loop])
@pytest.mark.parametrize("read", [read_queue, read_sheet, read_found, read_plan])
def test_a_file_that_is_named_is_an_ordinary_one(
    root: Path, read: Callable[..., object], odd: Callable[[Path], None]
) -> None:
    place = put(root, "named.csv", odd)
    with pytest.raises(LedgerError, match=r"named\.csv"):
        read(place, *(["C1"] if read is read_plan else []))


@pytest.mark.parametrize("odd", [pipe, unix_socket, endless, loop])
def test_what_is_not_ordinary_is_not_written_over(root: Path, odd: Callable[[Path], None]) -> None:
    with pytest.raises(LedgerError, match="no ordinary file"):
        check_out(put(root, "tags.pdf", odd))


@pytest.mark.parametrize(
    "folder", ["cylinders", "fills", "rules", ".git/hooks", "sets/../cylinders"]
)
def test_nothing_made_of_records_is_put_among_them(root: Path, folder: str) -> None:
    (root / folder.split("/..")[0]).mkdir(parents=True, exist_ok=True)
    (root / folder).mkdir(parents=True, exist_ok=True)
    with pytest.raises(LedgerError, match="holds records"):
        check_out(root / folder / "year.svg", ".svg")
    check_out(root / "year.svg", ".svg")


@pytest.mark.parametrize("odd", [pipe, unix_socket, endless, outside])
def test_nothing_odd_is_read_to_be_written_anew(root: Path, odd: Callable[[Path], None]) -> None:
    put(root, LOG, odd)
    with pytest.raises(LedgerError, match=r"2026\.csv"):
        tidy(root)
    with pytest.raises(LedgerError, match=r"2026\.csv"):
        within(root, LOG)


def test_a_link_within_the_ledger_is_a_finding(root: Path) -> None:
    """Git keeps where it leads, not what is there: the past could not be told."""
    (root / "shelf").mkdir()
    (root / "cylinders/RB-015.yaml").symlink_to("../shelf/card.yaml")
    (root / "shelf/card.yaml").write_text(books.GOOD.replace("K118204", "K118205"))
    (root / "shelf/sets").mkdir()
    (root / "sets").rmdir()
    (root / "sets").symlink_to("shelf/sets")
    assert told(root) == {
        "cylinders/RB-015.yaml": "it is a symbolic link",
        "sets/": "it is a symbolic link",
    }
    assert sorted(load(root).cylinders) == ["RB-014"]


def test_a_ledger_that_is_itself_reached_by_a_link_is_read(root: Path) -> None:
    (root.parent / "link").symlink_to(root)
    assert told(root.parent / "link") == {}


def test_nothing_is_written_where_a_link_of_our_own_folder_leads(root: Path) -> None:
    (root / ".tankbook").mkdir()
    (root / ".tankbook/.gitignore").symlink_to(root.parent / "planted")
    with acting(root):
        pass
    assert not (root.parent / "planted").exists()
