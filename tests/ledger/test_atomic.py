"""One file at a time: whole or not at all, whatever gives way."""

import errno
import os
import stat
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tankbook.ledger import atomic
from tankbook.ledger.atomic import append, is_temporary, sweep, truncate, write_atomic
from tankbook.ledger.errors import LedgerError

OLD, NEW = b"status: held\n" * 500, b"status: out\n" * 700
RECORD = "cylinders/RB-014.yaml"
LOG = "fills/2026.csv"


@pytest.fixture(name="record")
def _record(root: Path) -> Path:
    file = root / RECORD
    file.parent.mkdir()
    file.write_bytes(OLD)
    return file


def test_a_file_is_replaced(root: Path, record: Path) -> None:
    write_atomic(root, RECORD, NEW)
    assert record.read_bytes() == NEW
    assert list(record.parent.iterdir()) == [record]


def test_a_file_and_its_folders_are_made(root: Path) -> None:
    write_atomic(root, "a/b/c.yaml", NEW)
    assert (root / "a/b/c.yaml").read_bytes() == NEW


def test_permissions_are_kept(root: Path, record: Path) -> None:
    record.chmod(0o640)
    write_atomic(root, RECORD, NEW)
    assert stat.S_IMODE(record.stat().st_mode) == 0o640


def test_a_new_file_has_the_permissions_of_any_other(root: Path) -> None:
    (root / "other").write_bytes(b"")
    write_atomic(root, "new.yaml", NEW)
    assert (root / "new.yaml").stat().st_mode == (root / "other").stat().st_mode


def test_a_link_inside_the_ledger_stays_a_link(root: Path, record: Path) -> None:
    (root / "cylinders/A.yaml").symlink_to("RB-014.yaml")
    write_atomic(root, "cylinders/A.yaml", NEW)
    assert (root / "cylinders/A.yaml").is_symlink()
    assert record.read_bytes() == NEW


def test_a_link_out_of_the_ledger_is_not_followed(root: Path, record: Path) -> None:
    outside = root.parent / "outside"
    outside.write_bytes(OLD)
    (root / "cylinders/A.yaml").symlink_to(outside)
    for change in (write_atomic, append):
        with pytest.raises(LedgerError, match="leads out of the ledger"):
            change(root, "cylinders/A.yaml", NEW)
    assert outside.read_bytes() == OLD


@pytest.mark.parametrize("change", [write_atomic, append])
def test_what_is_not_a_file_is_left_alone(
    root: Path, change: Callable[[Path, str, bytes], None]
) -> None:
    (root / "folder").mkdir()
    os.mkfifo(root / "pipe")
    for name in ("folder", "pipe"):
        with pytest.raises(LedgerError, match="ordinary file"):
            change(root, name, NEW)


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (errno.EACCES, "permission is denied; give yourself the right to write here"),
        (errno.EROFS, "the disk is read-only; keep the ledger where it can be written"),
        (errno.EDQUOT, "the disk quota is used up; free some space and try again"),
        (errno.ETXTBSY, "the system refuses: Text file busy"),
    ],
)
def test_refusals_in_plain_words(
    root: Path, record: Path, failing_disk: Any, number: int, text: str
) -> None:
    def refuse() -> None:
        raise OSError(number, os.strerror(number))

    with failing_disk(1, refuse), pytest.raises(LedgerError) as refusal:
        write_atomic(root, RECORD, NEW)
    assert str(refusal.value) == f"{RECORD}: {text}"


def test_data_is_on_the_disk_before_its_name_and_the_name_before_the_return(
    root: Path, record: Path, failing_disk: Any
) -> None:
    with failing_disk() as disk:
        write_atomic(root, RECORD, NEW)
    order = [call for call in disk.calls if call in ("write", "fsync", "replace")]
    assert order == ["write", "fsync", "replace", "fsync"]


def test_additions_are_one_write(root: Path, failing_disk: Any) -> None:
    write_atomic(root, LOG, OLD)
    with failing_disk() as disk:
        append(root, LOG, NEW)
    assert disk.calls == ["open", "write", "fsync", "close"]
    assert (root / LOG).read_bytes() == OLD + NEW


def test_nothing_is_added_to_a_file_that_is_not_there(root: Path) -> None:
    with pytest.raises(LedgerError, match="no such file"):
        append(root, LOG, NEW)


def test_truncate(root: Path, record: Path) -> None:
    truncate(root, RECORD, 13)
    assert record.read_bytes() == b"status: held\n"


@pytest.mark.parametrize("number", range(1, 12))
def test_a_full_disk_leaves_the_old_record(
    root: Path, record: Path, failing_disk: Any, number: int
) -> None:
    told = ""
    with failing_disk(number) as disk:
        try:
            write_atomic(root, RECORD, NEW)
        except LedgerError as error:
            told = str(error)
    replaced = "replace" in disk.calls[: number - 1]
    full = f"{RECORD}: the disk is full; free some space and try again"
    if replaced and disk.cut_off:
        full = full.replace("full;", "full; the file is written but may not outlive a power cut;")
    assert told == (full if disk.cut_off else "")
    assert record.read_bytes() == (NEW if replaced else OLD)
    assert list(record.parent.iterdir()) == [record]


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_full_disk_leaves_the_old_log(
    root: Path, record: Path, failing_disk: Any, number: int
) -> None:
    with failing_disk(number), pytest.raises(LedgerError, match="the disk is full"):
        append(root, RECORD, NEW)
    assert record.read_bytes() == OLD


def test_a_log_that_cannot_be_cut_back_is_told(
    root: Path, record: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> int:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", refuse)
    monkeypatch.setattr(os, "ftruncate", refuse)
    with pytest.raises(LedgerError, match="part of a line may be left at its end"):
        append(root, RECORD, NEW)


def test_an_interrupted_addition_is_taken_back(root: Path, record: Path, failing_disk: Any) -> None:
    def interrupt() -> None:
        raise KeyboardInterrupt

    with failing_disk(2, interrupt) as disk, pytest.raises(KeyboardInterrupt):
        append(root, RECORD, NEW)
    assert disk.cut_off == "write"
    assert record.read_bytes() == OLD


def test_a_killed_writer_leaves_the_old_or_the_new_record(
    root: Path, record: Path, killed_at_each_call: Callable[[Callable[[], Any]], Iterator[None]]
) -> None:
    seen = set()
    for _ in killed_at_each_call(lambda: write_atomic(root, RECORD, NEW)):
        seen.add(record.read_bytes())
        sweep(root)
        assert list(record.parent.iterdir()) == [record]
        record.write_bytes(OLD)
    assert seen == {OLD, NEW}


def test_a_killed_appender_tears_at_most_the_last_line(
    root: Path, record: Path, killed_at_each_call: Callable[[Callable[[], Any]], Iterator[None]]
) -> None:
    seen = set()
    for _ in killed_at_each_call(lambda: append(root, RECORD, NEW)):
        seen.add(record.read_bytes())
        record.write_bytes(OLD)
    assert seen == {OLD, OLD + NEW[: len(NEW) // 2], OLD + NEW}


def test_only_our_own_leftovers_are_swept(root: Path, record: Path) -> None:
    ours = record.parent / ".RB-014.yaml.0123abcd.tmp"
    outside = root.parent / "outside"
    outside.mkdir()
    (root / "link").symlink_to(outside)
    theirs = [root / name for name in (".hidden", "a.tmp", ".a.tmp", "notes.0123abcd.tmp")]
    theirs.append(outside / ours.name)
    for file in (ours, *theirs):
        file.write_bytes(b"")
    sweep(root)
    assert not ours.exists()
    assert all(file.exists() for file in theirs)
    assert is_temporary(ours.name)
    assert not any(is_temporary(file.name) for file in theirs[:-1])


@pytest.mark.parametrize("times", [1, 3])
def test_what_is_put_out_is_begun_again_when_swept_away(
    root: Path, monkeypatch: pytest.MonkeyPatch, times: int
) -> None:
    """A label sheet in a ledger's folder while an act begins, which sweeps what is not whole."""
    replace, left = os.replace, iter(range(times))

    def swept_first(*names: Any) -> None:
        if next(left, None) is not None:
            sweep(root)
        replace(*names)

    monkeypatch.setattr(os, "replace", swept_first)
    atomic.put_out(root / "tags.pdf", b"whole")
    assert (root / "tags.pdf").read_bytes() == b"whole"
    assert [each.name for each in root.iterdir() if is_temporary(each.name)] == []


def test_folders_are_synced_where_the_system_cannot(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def cannot(_: int) -> None:
        raise OSError(22, "Invalid argument")

    monkeypatch.setattr(os, "fsync", cannot)
    atomic.sync_folder(root)
