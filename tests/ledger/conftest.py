"""A disk that gives way at a chosen call, and processes that die at one."""

import errno
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

CALLS = ("open", "write", "fsync", "fchmod", "close", "replace", "ftruncate", "unlink", "mkdir")
"""What of `os` changes a disk or settles what is on it; pathlib calls the same functions."""


def full() -> None:
    raise OSError(errno.ENOSPC, "No space left on device")


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


@dataclass
class FailingDisk(AbstractContextManager["FailingDisk"]):
    """Notes the calls that reach the disk, and gives way before the one numbered `fail_at`.

    With `halfway`, half of a write is done before it gives way.
    """

    fail_at: int = 0
    act: Callable[[], None] = full
    halfway: bool = True
    calls: list[str] = field(default_factory=list)
    patch: pytest.MonkeyPatch = field(default_factory=pytest.MonkeyPatch)

    def __enter__(self) -> "FailingDisk":
        for name in CALLS:
            self.patch.setattr(os, name, self._wrap(name, getattr(os, name)))
        return self

    def __exit__(self, *_: object) -> None:
        self.patch.undo()

    @property
    def cut_off(self) -> str:
        """The call that failed, or nothing if there were not so many."""
        return self.calls[self.fail_at - 1] if 0 < self.fail_at <= len(self.calls) else ""

    def _wrap(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **keywords: Any) -> Any:
            self.calls.append(name)
            if len(self.calls) == self.fail_at:
                if name == "write" and self.halfway:
                    real(args[0], args[1][: len(args[1]) // 2])
                self.act()
            return real(*args, **keywords)

        return call


def killed_at_each_call(act: Callable[[], Any]) -> Iterator[None]:
    """Do an act in one child after another, each killed one call later than the one before.

    Then once more, each killed with half of its last write done. The last child of each round
    lives.
    """
    for halfway in (False, True):
        number = 1
        while _killed(act, number, halfway):
            yield
            number += 1
        yield


def _killed(act: Callable[[], Any], number: int, halfway: bool) -> bool:
    child = os.fork()
    if child == 0:
        status = 1
        try:
            with FailingDisk(number, die, halfway):
                act()
            status = 0
        finally:
            os._exit(status)
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        assert os.WTERMSIG(status) == signal.SIGKILL
        return True
    assert os.WEXITSTATUS(status) == 0
    return False


@pytest.fixture(name="failing_disk")
def _failing_disk() -> type[FailingDisk]:
    return FailingDisk


@pytest.fixture(name="killed_at_each_call")
def _killed_at_each_call() -> Callable[[Callable[[], Any]], Iterator[None]]:
    return killed_at_each_call


@pytest.fixture(name="root")
def _root(tmp_path: Path) -> Path:
    root = tmp_path / "ledger"
    root.mkdir()
    (root / "tankbook.yaml").write_text("ledger: Test Quay\n")
    return root
