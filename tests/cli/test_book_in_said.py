"""A new cylinder with the sticker that is on it, from one command to a YES; its dates in any form that
can be read in one way alone."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
ON = ("--on", "2026-11-25")
MARKS = "DOT-3AL 3000 K200001 09A26"
SEEN = ("--marks", MARKS, "--maker", "Example Cylinder Co", "--outlet", "yoke")
NEW = (
    *SEEN, "--set", "size=al80", "--set", "material=aluminium", "--set", "alloy=6061", "--neck-thread",
    "3/4-14 NPSM", "--valve-thread", "3/4-14 NPSM", "--valve-rating", "3000psi", "--set", "valve.disc=5000psi",
)  # fmt: skip
WRITTEN = {
    "25 Nov 2026": "2026-11-25", "11/25/2026": "2026-11-25", "Nov 2026": "2026-11", "11/2026": "2026-11",
    "2026-11-25": "2026-11-25", "2026-11": "2026-11",
}  # fmt: skip


@pytest.fixture(name="quay", autouse=True)
def _quay(tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    assert tb("init", "quay", "--by", "MV", "--no-station").code == 0
    monkeypatch.chdir(tmp_path / "quay")
    return tmp_path / "quay"


@pytest.mark.parametrize("said", [*WRITTEN, "today"])
def test_a_new_cylinder_with_its_sticker_is_a_yes_after_one_command(
    said: str, tb: Run, quay: Path
) -> None:
    on = () if said == "today" else ON
    ran = tb("book-in", *NEW, "--use", "rental", "--sticker", said, *on)
    assert (ran.code, ran.err) == (0, "")
    assert tb("may-fill", "1", *on).first.startswith("YES RB-001 air: 3000 psi")
    card = (quay / "cylinders/RB-001.yaml").read_text()
    if said != "today":
        assert f"{{on: {WRITTEN[said]}, checklist: sticker-seen" in card


@pytest.mark.parametrize("option", ["--hydro", "--sticker", "--first-test"])
@pytest.mark.parametrize(
    ("said", "told"),
    [("3/4/2026", "may be 2026-03-04 or 2026-04-03"), ("never", "is not a date"), ("13/2026", "")],
)
def test_a_date_that_can_be_two_is_asked_back(option: str, said: str, told: str, tb: Run) -> None:
    ran = tb("book-in", "--serial", "K9", "--use", "rental", option, said, *ON)
    assert (ran.code, ran.out) == (2, "")
    assert f"tankbook: {option}: {said!r} {told}" in ran.err


def test_other_ways_in_read_a_sticker_alike(tb: Run) -> None:
    for line in (("may-fill", *SEEN), ("fill", *SEEN, "--from", "500", "--to", "2900")):
        said = tb(*line, "--sticker", "Nov 2026", *ON)
        assert "is not a date" not in said.out + said.err
        assert said.out == tb(*line, "--sticker", "2026-11", *ON).out
        assert "may be 2026-03-04" in tb(*line, "--sticker", "3/4/2026", *ON).err


def test_a_mapping_prints_the_line_that_spares_its_question(tb: Run) -> None:
    """`use:` is asked of new rows alone where cards are completed: the mapping says so itself."""
    Path("t.csv").write_text("serial,maker,use\nK1,Example Cylinder Co,rental\n")
    assert tb("import", "t.csv", "--map", "m.yaml").code == 0
    told = Path("m.yaml").read_text()
    assert "\n# on_file: complete  # adds to cards that are there what they lack" in told
    assert "of new rows alone" not in told
    tb("book-in", "--serial", "K1", "--use", "rental", "--service-pressure", "3000psi", *ON)
    Path("t.csv").write_text("serial,maker\nK1,Example Cylinder Co\n")
    Path("m.yaml").unlink()
    assert tb("import", "t.csv", "--map", "m.yaml").code == 0
    told = Path("m.yaml").read_text()
    assert (
        "\n# With it `use:` is asked of new rows alone: where none is, take its line out." in told
    )
    lines = [n.removeprefix("# ") if "on_file:" in n else n for n in told.splitlines()]
    Path("m.yaml").write_text("\n".join(n for n in lines if not n.startswith("use: ?")))
    done = tb("import", "t.csv", "--map", "m.yaml", "--all", *ON)
    assert done.code == 0, done.out
    assert "maker: Example Cylinder Co" in Path("cylinders/RB-001.yaml").read_text()


@pytest.mark.parametrize(
    ("marks", "told"),
    [
        ("DOT-?AL 30?0 K118 03A24", "of the marks could not be read: `DOT-?AL`, `30?0`, `K118`"), ("illegible", "the marks could not be read (`illegible`)"),
        ("n/a", "the marks could not be read (`n/a`)"), ("???", "could not be read"), ("unleserlich", "the marks could not be read"), ("DOT-3AL 3000", "none of the marks"),
    ],
)  # fmt: skip
def test_marks_that_could_not_be_read_are_said_to_be_that(marks: str, told: str, tb: Run) -> None:
    """What an example of the docs is called never is a mend; the one that is named works."""
    ran = tb("book-in", "--marks", marks, "--use", "rental", *ON, "--json")
    said = json.dumps(ran.json, ensure_ascii=False)
    assert ran.code == 1
    assert told in said
    assert "serial is missing" not in said
    assert "K118204" not in said
    assert "`--serial unread`" in said
    assert tb("book-in", "--marks", marks, "--use", "rental", "--serial", "unread", *ON).code == 0
    answer = tb("may-fill", "1", *ON)
    assert answer.code == 1
    assert "its serial number was not read" in " ".join(answer.out.split())


def test_a_serial_that_is_missing_without_marks_is_missing(tb: Run) -> None:
    said = tb("book-in", "--maker", "Example Cylinder Co", "--use", "rental", *ON)
    assert "could not be read" not in said.out + said.err
