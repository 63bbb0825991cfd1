"""Nothing that changes the disk goes past the notes.

That they make the tree that is there is seen for each kind of act, in `verdict.World`.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from deeds import KINDS, begin
from disk import Bind, Cut, Disk, Sync, Write, contents, cuts, tree_of
from tracing import Tracer

_HEARD: list[Callable[[str, tuple[Any, ...]], None]] = []
"""Who listens to the interpreter; a hook of it cannot be taken away again."""
_EVENTS = {"os.rename": "rename", "os.remove": "unlink", "os.mkdir": "mkdir"}
_OTHERS = {"os.link", "os.symlink", "os.rmdir", "os.chown", "os.utime", "shutil.move"}
KNOWN = ("hold", "fill first", "inspect kept", "init", "pending --drop", "tidy")


def _hook(event: str, arguments: tuple[Any, ...]) -> None:
    for listener in _HEARD:
        listener(event, arguments)


sys.addaudithook(_hook)


def _ready(name: str, top: Path) -> Path:
    root = top / "quay"
    root.mkdir()
    begin(root, KINDS[name].cards)
    if (ready := KINDS[name].ready) is not None:
        ready(root)
    return root


@pytest.mark.parametrize("name", KNOWN)
def test_the_notes_hold_all_that_the_interpreter_tells(name: str, top: Path) -> None:
    root, heard = _ready(name, top), []

    def listen(event: str, arguments: tuple[Any, ...]) -> None:
        path = arguments[0] if arguments else None
        if not isinstance(path, str | Path) or not str(path).startswith(f"{top}/"):
            return
        assert event not in _OTHERS, (event, path)
        if event == "open" and arguments[2] & (os.O_WRONLY | os.O_RDWR):
            heard.append(("open", str(path)))
        elif event in _EVENTS:
            heard.append((_EVENTS[event], str(arguments[event == "os.rename"])))

    with Tracer(top, Disk.of(tree_of(top))) as trace:
        _HEARD.append(listen)
        try:
            assert KINDS[name].do(root)[0] == 0
        finally:
            _HEARD.clear()
    noted = [(what, f"{top}/{path}") for what, path in trace.noted if path]
    assert noted == heard


_LINE = re.compile(r"\d+ +(\w+)\((.*)\) += (\d+)")
_AS = {
    "openat": "open",
    "rename": "rename",
    "mkdir": "mkdir",
    "unlink": "unlink",
    "write": "write",
    "fsync": "fsync",
    "ftruncate": "ftruncate",
}


@pytest.mark.skipif(shutil.which("strace") is None, reason="strace is not here")
@pytest.mark.parametrize("name", ["hold", "fill first"])
def test_the_notes_are_the_calls_that_the_system_sees(name: str, top: Path) -> None:
    root, told = _ready(name, top), top.with_name(f"{top.name}.strace")
    line = ["--ledger", str(root), *shlex.split(KINDS[name].line)]
    strace = ["strace", "-f", "-y", "-o", str(told), "-e", "trace=%file,%desc"]
    done = subprocess.run([*strace, sys.executable, "-m", "tankbook", *line], check=False)
    text = told.read_text(errors="replace")
    told.unlink()
    if done.returncode or "exited with 0" not in text:
        pytest.skip("strace may not look on here")
    seen = []
    for what, arguments, _ in filter(None, map(_parts, text.splitlines())):
        if str(top) in arguments.replace(f'"{sys.executable}"', ""):
            writes = re.search(r"O_(WRONLY|RDWR|CREAT)", arguments)
            if what in _AS and (what != "openat" or writes):
                seen.append(_AS[what])
            assert not re.match(r"(p?write[v6]|link|symlink|truncate|rename\w+|sync)", what), what
    again = top / "again"
    again.mkdir()
    root = _ready(name, again)
    with Tracer(again, Disk.of(tree_of(again))) as trace:
        assert KINDS[name].do(root)[0] == 0
    assert seen == [what for what, _ in trace.noted]


def _parts(line: str) -> tuple[str, str, str] | None:
    found = _LINE.match(line)
    return (found[1], found[2], found[3]) if found else None


# --- the disk itself


def test_what_a_file_may_hold_when_it_was_not_synced() -> None:
    found = contents(b"old\n", [Write(1, 4, b"new line\n")])
    assert found[0] == b"old\n"
    assert found[-1] == b"old\nnew line\n"
    assert b"old\n" + bytes(9) in found
    assert b"old\nnew " in found
    assert b"old\nnew " + bytes(5) in found
    assert contents(b"old", [Cut(1, 0)]) == [b"old", b""]


def test_what_was_synced_is_there_and_each_of_the_rest_may_not_be() -> None:
    import random

    base = Disk.of({"f": None, "f/a": b"1"})
    f, a = base.find("f"), base.find("f/a")
    assert f is not None
    assert a is not None
    new = Bind(f, (("t", 9),))
    moved = Bind(f, (("t", None), ("a", 9)))
    calls = [new, Write(9, 0, b"22"), Sync(9), moved]

    def found(at: int) -> set[tuple[tuple[str, bytes | None], ...]]:
        states = cuts(base, calls, at, random.Random(1))
        return {tuple(sorted(s.tree.items())) for s in states}

    was, beside = ("f/a", b"1"), ("f/t", b"22")
    assert found(4) == {
        (("f", None), was),
        (("f", None), was, beside),
        (("f", None), ("f/a", b"22")),
    }
    calls += [Sync(f)]
    assert found(5) == {(("f", None), ("f/a", b"22"))}
    # without the sync of its data a name may lead to a file that has none
    calls[2:3] = []
    assert (("f", None), ("f/a", b"\0\0")) in found(4)
