"""Progress: only on a terminal, only when it takes a while, and gone when it is done."""

from __future__ import annotations

import io

from tankbook.cli.progress import Progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def shown(stream: io.StringIO, seconds_each: float) -> str:
    now = [0.0]
    progress = Progress("tags", stream, lambda: now[0])
    for done in range(1, 5):
        now[0] += seconds_each
        progress(done, 4)
    return stream.getvalue()


def test_quick_work_shows_nothing() -> None:
    assert shown(Terminal(), 0.2) == ""


def test_slow_work_is_shown_and_wiped_out() -> None:
    half, most = "#" * 10 + "." * 10, "#" * 15 + "." * 5
    wiped = " " * len(f"tags: [{most}] 3 of 4")
    assert shown(Terminal(), 0.6) == f"\rtags: [{half}] 2 of 4\rtags: [{most}] 3 of 4\r{wiped}\r"


def test_a_file_gets_nothing() -> None:
    assert shown(io.StringIO(), 2.0) == ""
