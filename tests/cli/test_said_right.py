"""What is said beside an act says something, and a correction names what there is to set right."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

Run = Callable[..., Any]
OUT, DAY = "2026-11-24", "2026-11-25"
SENSELESS = ("x", "no", ".", "tbd")


def does(tb: Run, root: Path, line: str) -> Any:
    return tb(*shlex.split(line), "--ledger", root)


@pytest.fixture(name="quay")
def _quay(tb: Run, write: Callable[..., Path]) -> Path:
    root = write({
        "tankbook.yaml": f"{books.SETTINGS.rstrip()}\n  KD: {{}}\n",
        "cylinders/RB-014.yaml": books.stamped(books.GOOD),
        "cylinders/RB-015.yaml": books.stamped(books.GOOD.replace("K118204", "K118205")),
        "cylinders/SF-016.yaml": books.stamped(
            books.GOOD.replace("K118204", "K118206").replace("rental", "sale")
        ),
    })  # fmt: skip
    line = f"rent 14=2900 --to B-1 --until {DAY} --happened gone --by MV --on {OUT} --at 10:00"
    assert does(tb, root, line).code == 0
    return root


ASKED = {
    "reading": "reading 14=900 --by MV --note",
    "rent": "rent 15 --to B-2 --by MV --happened",
    "hand-over": "hand-over SF-016 --to C-1 --by MV --happened",
}


@pytest.mark.parametrize("word", SENSELESS)
@pytest.mark.parametrize("act", ASKED)
def test_what_says_nothing_says_neither_who_read_it_nor_how_it_came(
    tb: Run, quay: Path, act: str, word: str
) -> None:
    said = does(tb, quay, f"{ASKED[act]} '{word}'")
    assert said.code == 1
    assert f"`{word}` says nothing" in " ".join((said.out + said.err).split())
    assert does(tb, quay, f"{ASKED[act]} 'AB had it on the boat'").code == 0


@pytest.mark.parametrize(
    ("at", "code", "told"),
    [
        ("2026-11-24T11:00-05:00", 0, ""),
        ("2026-11-24T11:00:00-05:00", 0, ""),
        ("2026-11-24T11:00Z", 0, ""),
        ("2026-11-24T11:00", 2, "lacks its UTC offset"),
        ("2026-11-24T25:00-05:00", 2, "is not a time"),
        ("2026-11-24T11-05:00", 2, "is not a time"),
    ],
)
def test_a_time_of_a_day_needs_no_seconds(
    tb: Run, quay: Path, at: str, code: int, told: str
) -> None:
    said = does(tb, quay, f"reading 15=2900 --by MV --at {at}")
    assert said.code == code, said.out + said.err
    assert told in said.err


@pytest.mark.parametrize(
    ("key", "told"),
    [
        ("analysed.oxygen=36 %", "all of `analysed` is set at once"),
        ("presure=700", "such an entry has no such key"),
        ("void=no", "such an entry has no such key"),
    ],
)
def test_a_key_that_is_none_is_all_that_is_told(tb: Run, quay: Path, key: str, told: str) -> None:
    line = f"correct RB-014 rented {OUT} --set '{key}' --why 'typed wrong' --by"
    for by in ("MV", "KD"):
        said = does(tb, quay, f"{line} {by}")
        assert said.code == 1
        heard = " ".join((said.out + said.err).split())
        assert told in heard
        assert "tells against" not in heard


@pytest.mark.parametrize(
    "change", ["from=700", "source=B1", "position=P1", "override=because it was so"]
)
def test_a_reading_says_only_what_a_gauge_shows(tb: Run, quay: Path, change: str) -> None:
    line = f"correct RB-014 reading {OUT} --why 'typed wrong' --by MV --set"
    said = does(tb, quay, f"{line} '{change}'")
    assert said.code == 1
    assert "a reading has none" in " ".join((said.out + said.err).split())
    assert does(tb, quay, f"{line} to=2800").code == 0


def test_a_fill_is_made_no_reading_with_what_it_came_from(tb: Run, quay: Path) -> None:
    fill = f"fill 15 --from 500 --to 2500 --source B1 --looked --by MV --on {DAY} --at 10:00"
    assert does(tb, quay, fill).code == 0
    line = f"correct RB-015 fill {DAY} --why 'only read' --by MV --set act=reading"
    said = does(tb, quay, line)
    assert said.code == 1
    heard = " ".join((said.out + said.err).split())
    assert "a reading has no `from`" in heard
    assert "a reading has no `source`" in heard


@pytest.mark.parametrize(
    ("when", "hour"), [(f"--on {OUT} --at 14:00", 'at: "14:00"'), ("", "at: "), (f"--on {OUT}", "")]
)
def test_a_recall_holds_from_the_hour_that_it_says(
    tb: Run, quay: Path, when: str, hour: str
) -> None:
    said = does(tb, quay, f"recall --maker '{MAKER}' --hold --by MV {when}")
    assert said.code == 0, said.out + said.err
    held = (quay / "cylinders/RB-015.yaml").read_text().split("held:")[1]
    assert hour in held if hour else ("at: " not in held.split("\n\n")[0])


MAKER = books.GOOD.split("maker: ")[1].split("\n")[0]
