"""`tankbook explain`, and that what messages end with can be asked of it."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
Write = Callable[..., Path]


def test_it_needs_no_ledger(tb: Run) -> None:
    ran = tb("explain", "thread-differ")
    assert ran.code == 0
    assert ran.first.startswith("thread-differ: The thread of the neck")
    assert [w for w in ("Why", "Mend", "Source") if w not in ran.out] == []


def test_several_are_told_one_after_another(tb: Run) -> None:
    ran = tb("explain", "us.visual", "visual-overdue", "bursting disc", "--json")
    assert [e["sort"] for e in ran.json] == ["rule-row", "code", "word"]
    assert ran.json[0]["says"]
    assert ran.json[0]["note"]


def test_one_that_is_not_known_names_near_ones_and_nothing_is_told(tb: Run) -> None:
    ran = tb("explain", "yoke", "thred-differ")
    assert (ran.code, ran.out) == (2, "")
    assert "did you mean `thread-differ`" in ran.err
    mended = re.search(r"did you mean `([^`]+)`", ran.err)
    assert mended
    assert tb("explain", mended[1]).code == 0


@pytest.mark.parametrize(
    "name", ["", " ", "\x1b[31m", "$(id)", "../../etc/passwd", "x" * 5000, "ü\u202e"]
)
def test_no_name_is_too_strange(name: str, tb: Run) -> None:
    ran = tb("explain", name)
    assert ran.code == 2
    assert len(ran.err.splitlines()) == 1
    assert len(ran.err) < 400
    assert "\x1b" not in ran.err


def test_without_a_name_all_are_listed_and_each_can_be_asked(tb: Run) -> None:
    ran = tb("explain")
    assert ran.code == 0
    names: list[str] = []
    for part in ran.out.split("\n\n")[1:]:
        listed = " ".join(line.strip() for line in part.splitlines() if line.startswith("  "))
        names += listed.split(", ")
    assert len(names) > 600
    assert tb("explain", *names).code == 0


def test_rows_of_the_ledgers_own_are_told(tb: Run, write: Write) -> None:
    own = """\
heading: Ours
stands_alone: no
rows:
  - {id: ours.visual, obligation: visual, period: 6 months, gate: refuse, basis: practice,
     citation: our own list, verified: read, note: every half year}
"""
    root = write({"rules/ours.yaml": own})
    settings = root / "tankbook.yaml"
    settings.write_text(re.sub(r"rules: .*", "rules: [us-dot, ours]", settings.read_text()))
    ran = tb("explain", "ours.visual", "--ledger", root)
    assert ran.code == 0, ran.err
    assert "every 6 months" in " ".join(ran.out.split())
    assert "every half year" in ran.out
    assert tb("explain", "ours.visual").code == 2
    missing = tb("explain", "yoke", "--ledger", root / "none")
    assert missing.code == 0
    assert "the ledger here was not asked" in missing.err


def test_a_broken_ledger_keeps_nothing_from_being_explained(tb: Run, write: Write) -> None:
    root = write({"tankbook.yaml": "ledger: [\n"})
    ran = tb("explain", "yaml-syntax", "--ledger", root)
    assert ran.code == 0
    assert ran.first.startswith("yaml-syntax: ")


def test_validate_ends_with_a_line_that_works(tb: Run, write: Write) -> None:
    root = write({"cylinders/RB-014.yaml": "serial: [\n"})
    last = tb("validate", "--ledger", root).out.splitlines()[-1]
    code = re.search(r"`tankbook explain ([a-z-]+)`", last)
    assert code
    assert tb("explain", code[1]).code == 0


def test_every_code_of_every_broken_ledger_is_explained(tb: Run) -> None:
    broken = Path(__file__).parents[1] / "broken"
    ledgers = [each.parent for each in broken.glob("*/tankbook.yaml")]
    codes = {f["code"] for each in ledgers for f in tb("validate", "--json", "--ledger", each).json}
    assert len(codes) > 10
    assert tb("explain", *sorted(codes)).code == 0


def test_other_answers_do_not_read_the_texts() -> None:
    code = (
        "from tankbook.__main__ import main; main(['marks', 'DOT-3AL 3000 K118204 09A21']);"
        "import sys; print('tankbook.output.explained' in sys.modules, file=sys.stderr)"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stderr.strip().endswith("False")


def test_what_is_said_of_an_empty_cylinder_is_said_of_every_way_it_is_found_so(tb: Run) -> None:
    """It came back empty, was read empty, or was found so: the finding has each of these words."""
    text = " ".join(tb("explain", "returned-empty").out.split())
    assert all(word in text for word in ("came back empty", "was read", "found"))
