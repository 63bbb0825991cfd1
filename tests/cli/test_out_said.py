"""What is out of use at the station, and what is out with it, is told by every screen and page."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

Run = Callable[..., Any]
Write = Callable[[dict[str, str]], Path]

TODAY = "2026-11-25"
AIR = "air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass, co: 1 ppm}]\n"
BAD = "checked: [{on: 2026-10-01, result: fail, note: cut}]"
GOOD = "checked: [{on: 2026-10-01, result: pass}]"
WHIPS = f"whips: [{{name: W1, {BAD}}}, {{name: W2, {GOOD}}}]\n"
FAILED = f"whips: [{{name: W1, {BAD}}}, {{name: W2, {BAD}}}, {{name: W3, {GOOD}}}]\n"
STATIONS = {
    "a whip with its position": (
        WHIPS
        + "positions: [{name: P1, kind: enclosed, whip: W2}, {name: P3, kind: enclosed, whip: W1}]\n",
        {"whip W1": {"position P3"}},
    ),
    "a whip that nobody wrote down where": (
        WHIPS + "positions: [{name: P1, kind: enclosed}, {name: P2, kind: enclosed}]\n",
        {"whip W1": {"position P2"}},
    ),
    "two whips, each with its own": (
        FAILED
        + "positions: [{name: P1, kind: enclosed, whip: W1}, {name: P2, kind: enclosed, whip: W2}, {name: P3, kind: enclosed, whip: W3}]\n",
        {"whip W1": {"position P1"}, "whip W2": {"position P2"}},
    ),
    "a bank that a booster takes from": (
        "banks: [{name: B1, water_volume: 48 L, gas: air}, {name: B2, water_volume: 48 L, gas: air, "
        "held: [{on: 2026-11-20, by: MV, why: recall of C1}]}]\n"
        "boosters: [{name: K1, from: [B2], max_pressure: 4400 psi}]\n",
        {"bank B2": {"booster K1"}},
    ),
    "a position alone": (
        f"positions: [{{name: P1, kind: enclosed}}, {{name: P2, kind: enclosed, {BAD}}}]\n",
        {"position P2": set[str]()},
    ),
}


@pytest.mark.parametrize("name", STATIONS)
def test_every_screen_and_page_names_every_part_that_is_out(
    name: str, tb: Run, write: Write, tmp_path: Path
) -> None:
    station, out = STATIONS[name]
    root = write(
        {"cylinders/RB-014.yaml": books.stamped(books.GOOD), "station.yaml": AIR + station}
    )
    where = ("--ledger", root, "--on", TODAY)
    assert tb("pages", tmp_path / "pages", *where).code == 0
    pages = {
        f"page {n}": re.sub(r"<[^>]*>", " ", (tmp_path / "pages" / n).read_text("utf-8"))
        for n in ("index.html", "station.html")
    }
    screens = {
        "board": tb(*where).out,
        "station": tb("station", *where).out,
        "may-fill": tb("may-fill", "14", *where).out,
    }
    for screen, text in {**screens, **pages}.items():
        said = " ".join(text.split())
        for part, others in out.items():
            assert part in said, (screen, said)
            assert not others - {o for o in others if o in said}, (screen, said)
            if others:
                with_it = f"(out with it: {', '.join(sorted(others))})"
                assert with_it in said or screen == "page index.html", (screen, said)
    every = ", ".join(sorted({*out, *(o for others in out.values() for o in others)}))
    board = " ".join(screens["board"].split())
    if "bank B2" in out:  # what nobody proved to be shut off closes the station
        assert "B2 OUT OF USE" in screens["station"]
        return
    assert f"Station open, OUT OF USE ({every})" in board
    assert board.index("- out of use: ") < board.index("Ready: ")
    assert f"OUT OF USE: {every}. Of the rest" in " ".join(pages["page station.html"].split())
