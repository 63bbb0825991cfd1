"""One writer at a time, and no lock outlives its holder."""

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.lock import LOCK, hold, is_here, mark_here
from tankbook.ledger.names import PRIVATE_FOLDER

HOLDER = """
import sys, time
from pathlib import Path
from tankbook.ledger.lock import hold
with hold(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


@pytest.fixture(name="holder")
def _holder(root: Path) -> "subprocess.Popen[str]":
    command = [sys.executable, "-c", HOLDER, str(root)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        yield process
        process.kill()


def test_a_lock_is_held_and_let_go(root: Path) -> None:
    with hold(root) as held:
        assert held.active
        assert held.root == root
    assert not held.active
    with hold(root, patience=0):
        pass


def test_the_refusal_says_who_holds_it(root: Path, holder: "subprocess.Popen[str]") -> None:
    with pytest.raises(LedgerError) as refusal, hold(root, patience=0.1):
        pass
    assert re.fullmatch(
        rf"\.tankbook/lock: the ledger is being written by process {holder.pid} on [\w.-]+ "
        r"since \d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d; "
        "wait until it is done, or end it, and try again",
        str(refusal.value),
    )


def test_who_waits_touches_nothing(root: Path, holder: "subprocess.Popen[str]") -> None:
    """The holder sweeps away what is not whole: on the first day both would make the folder."""
    (root / PRIVATE_FOLDER / ".gitignore").unlink()
    before = sorted((root / PRIVATE_FOLDER).iterdir())
    with pytest.raises(LedgerError), hold(root, patience=0):
        pass
    assert sorted((root / PRIVATE_FOLDER).iterdir()) == before


def test_who_waited_ignores_the_folder_too(root: Path, holder: "subprocess.Popen[str]") -> None:
    (root / PRIVATE_FOLDER / ".gitignore").unlink()
    holder.send_signal(signal.SIGKILL)
    holder.wait()
    with hold(root, patience=1):
        assert (root / PRIVATE_FOLDER / ".gitignore").read_text() == "*\n"


def test_a_killed_holder_holds_nothing(root: Path, holder: "subprocess.Popen[str]") -> None:
    holder.send_signal(signal.SIGKILL)
    holder.wait()
    with hold(root, patience=1):
        assert str(os.getpid()) in (root / LOCK).read_text()


def test_waiting_is_rewarded(root: Path, holder: "subprocess.Popen[str]") -> None:
    subprocess.Popen(["/bin/sh", "-c", f"sleep 0.2; kill {holder.pid}"])
    with hold(root, patience=10):
        pass


@pytest.mark.parametrize("written", ["", "\x1b[2J", "1 " + "x" * 300 + " now\n", "\xff"])
def test_an_unreadable_signature_is_not_repeated(
    root: Path, holder: "subprocess.Popen[str]", written: str
) -> None:
    (root / LOCK).write_text(written)
    with pytest.raises(LedgerError, match="written by another process; "), hold(root, patience=0):
        pass


def test_the_folder_of_the_lock_is_ignored_by_git(root: Path) -> None:
    with hold(root):
        assert (root / ".tankbook/.gitignore").read_text() == "*\n"


def test_a_folder_that_is_a_link_is_refused(root: Path, tmp_path: Path) -> None:
    (root / ".tankbook").symlink_to(tmp_path)
    with pytest.raises(LedgerError, match="link to another folder"), hold(root):
        pass


def test_a_lock_that_is_a_link_is_refused(root: Path, tmp_path: Path) -> None:
    victim = tmp_path / "victim"
    victim.write_text("precious")
    (root / ".tankbook").mkdir()
    (root / LOCK).symlink_to(victim)
    with pytest.raises(LedgerError), hold(root):
        pass
    assert victim.read_text() == "precious"


def test_a_ledger_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(LedgerError, match="no such file or folder"), hold(tmp_path / "none"):
        pass


@pytest.mark.parametrize("left", [b"", b"\0\0"])
def test_what_a_power_cut_left_of_the_folder_is_made_whole(root: Path, left: bytes) -> None:
    (root / ".tankbook").mkdir()
    (root / ".tankbook/.gitignore").write_bytes(left)
    (root / ".tankbook/here").write_bytes(left)
    with hold(root):
        mark_here(root)
    assert (root / ".tankbook/.gitignore").read_text() == "*\n"
    assert is_here(root)


def test_what_somebody_put_in_the_place_of_the_ignoring_stays(root: Path, tmp_path: Path) -> None:
    (root / ".tankbook").mkdir()
    (root / ".tankbook/.gitignore").symlink_to(tmp_path / "nowhere")
    with hold(root):
        pass
    assert (root / ".tankbook/.gitignore").is_symlink()
    (root / ".tankbook/.gitignore").unlink()
    (root / ".tankbook/.gitignore").write_text("# mine\n")
    with hold(root):
        pass
    assert (root / ".tankbook/.gitignore").read_text() == "# mine\n"
