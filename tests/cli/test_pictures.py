"""Pictures asked for on the command line: the file, and its figures in the answer."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from tankbook.cli import heads
from tankbook.cli.app import command

Run = Callable[..., Any]
ON = ("--on", "2026-11-25")


@pytest.fixture(name="at")
def _at(tb: Run, example_ledger: Path) -> Run:
    """Run a line in the example ledger."""

    def run(line: str, *more: str) -> Any:
        return tb(*line.split(), *more, "--ledger", str(example_ledger), *ON)

    return run


def titles(path: Path) -> str:
    root = ElementTree.fromstring(path.read_text(encoding="utf-8"))
    found = root.find("{http://www.w3.org/2000/svg}title")
    assert found is not None
    return found.text or ""


@pytest.mark.parametrize(
    ("line", "title", "first"),
    [
        ("history 20", "RB-020: pressure over time", "RB-020: no past entry found changed"),
        ("history CU-062", "CU-062: pressure over time", "CU-062: no past entry found changed"),
        ("history DB-01", "DB-01: pressure over time", "DB-01: "),
        ("history CU-066", "CU-066: pressure over time", "CU-066: "),
        (
            "fleet",
            "Cylinders used and idle, month by month",
            "Used in Jun 2026 26 of 26, the busiest",
        ),
        ("fleet --months 1", "Cylinders used and idle, month by month", "Used in Nov 2026 16"),
        ("station", "C1: hours by month", "F1 is expected to be used up next, about 2027-06"),
    ],
)
def test_a_picture_is_drawn_and_its_figures_are_told(
    at: Run, tmp_path: Path, line: str, title: str, first: str
) -> None:
    ran = at(f"{line} --svg drawn.svg")
    assert ran.code == 0, ran.err
    assert ran.first.startswith(first)
    assert ran.out.endswith("Drawn into drawn.svg.\n")
    assert titles(tmp_path / "drawn.svg") == title
    assert max(map(len, ran.out.splitlines())) <= 80
    before = (tmp_path / "drawn.svg").read_bytes()
    assert at(f"{line} --svg drawn.svg").out == ran.out
    assert (tmp_path / "drawn.svg").read_bytes() == before


def test_the_figures_are_those_of_the_json(at: Run) -> None:
    told = at("history 20 --svg drawn.svg --since 2026-10-01 --json").json
    points = told["pressures"]["points"]
    said = at("history 20 --svg drawn.svg --since 2026-10-01").out
    assert len(points) == 14
    assert told["pressures"]["losing_gas"] is True
    for point in points:
        assert f"{point['read_psi']:.0f} psi" in said
    assert at("history CU-062 --svg drawn.svg --json").json["expansions"][1]["total_cc"] == 61.8


def test_the_months_are_alike_in_text_json_and_csv(at: Run) -> None:
    months = at("fleet --json").json["use"]["months"]
    rows = at("fleet --months 12 --csv").out.splitlines()[1:]
    assert [row.split(",")[1:3] for row in rows] == [
        [str(m["used"]), str(m["kept_back"])] for m in months
    ]
    assert len(months) == 12


def test_due_says_the_month_that_the_picture_says(at: Run) -> None:
    (item,) = [d for d in at("due --json").json if d["id"] == "F1"]
    parts = at("station --json").json["running"][0]["parts"]
    assert item["expected"] == next(p["expected"] for p in parts if p["name"] == "F1")
    assert f"about {item['expected'][:7]}" in at("due --all").out


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("history 20 --since 2026-10-01", "--since goes with --svg"),
        ("history 20 --svg a.svg --bundle out", "--svg and --bundle are two answers"),
        ("history 20 --svg a.png", "does not end in `.svg`"),
        ("history 20 --svg none/a.svg", "there is no folder"),
        ("history 20 --svg mine.svg", "a file is there that tankbook did not make"),
        ("fleet --months 0", "is not in the range"),
        ("fleet --months 121", "--months: 121 is too far back; at most 120"),
        ("fleet --svg mine.svg", "a file is there that tankbook did not make"),
        ("station --svg mine.svg", "a file is there that tankbook did not make"),
    ],
)
def test_what_is_refused_draws_nothing(at: Run, tmp_path: Path, line: str, said: str) -> None:
    (tmp_path / "mine.svg").write_text("<svg/>")
    ran = at(line)
    assert ran.code == 2
    assert said in ran.err
    assert (tmp_path / "mine.svg").read_text() == "<svg/>"
    assert sorted(p.name for p in tmp_path.glob("*.*")) == ["mine.svg"]


def test_a_card_that_cannot_be_read_is_not_drawn(
    tb: Run, write: Callable[[dict[str, str]], Path]
) -> None:
    root = write({"cylinders/RB-014.yaml": "serial: [\n"})
    ran = tb("history", "RB-014", "--svg", "a.svg", "--ledger", root, *ON)
    assert ran.code == 2
    assert "nothing is drawn" in ran.err
    assert not (root.parent / "a.svg").exists()


def test_a_picture_of_half_a_log_says_so(tb: Run, ledger: Path, tmp_path: Path) -> None:
    (ledger / "fills").mkdir(exist_ok=True)
    (ledger / "fills" / "2020.csv").write_text("at,cylinder\nnonsense\n")
    ran = tb("history", "RB-014", "--svg", "a.svg", "--ledger", ledger, *ON)
    assert ran.code != 0
    assert "INCOMPLETE: fills/2020.csv could not be read" in (tmp_path / "a.svg").read_text()
    ran = tb("fleet", "--svg", "b.svg", "--ledger", ledger, *ON)
    assert "INCOMPLETE" in titles(tmp_path / "b.svg")


def test_a_ledger_in_bar_is_drawn_in_bar(tb: Run, ledger: Path, tmp_path: Path) -> None:
    settings = ledger / "tankbook.yaml"
    settings.write_text(settings.read_text().replace("units: psi", "units: bar"))
    ran = tb("history", "RB-014", "--svg", "a.svg", "--ledger", ledger, *ON)
    text = (tmp_path / "a.svg").read_text()
    assert ">bar</text>" in text
    assert ">psi</text>" not in text
    assert " bar" in ran.out


def test_a_ledger_without_anything_says_so(tb: Run, write: Any, tmp_path: Path) -> None:
    root = write({})
    assert "the fill log is empty" in tb("fleet", "--svg", "a.svg", "--ledger", root, *ON).out
    ran = tb("station", "--svg", "b.svg", "--ledger", root, *ON)
    assert titles(tmp_path / "b.svg")
    assert ran.code in (0, 1)


def _every(built: Any, name: str = "") -> Any:
    """Every command under one, with its name."""
    yield name, built
    for each, below in getattr(built, "commands", {}).items():
        yield from _every(below, f"{name} {each}".strip())


def test_what_is_written_is_written_once_whatever_other_heads_there_are() -> None:
    """Other heads of a past day are asked the same, but nothing is written from them."""
    writes = {
        parameter.name
        for _, each in _every(command())
        for parameter in each.params
        if str(parameter.metavar) in {"FILE", "DIR"}
        and str(getattr(parameter, "help", "")).startswith(("Draw", "Print", "Write"))
    }
    assert {"pdf", "svg", "bundle", "ics", "html", "file"} <= writes
    assert writes <= heads._FILES
