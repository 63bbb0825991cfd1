"""What is known of the gas in a bank is told where it stands, and where it is filled from."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
SAMPLE = (
    "station air-test --by LAB --standard cga-grade-e --oxygen 20.9 --co2 470ppm"
    " --hydrocarbons 4ppm --odour none --oil 0.1mg/m3 --source {} --co {} --on {}"
)
RAISED = 'station raise B2 --from 0 --to 4400 --source "{}" --happened done --by {} --on 2026-11-25 --at 15:00'
FILL = "fill SF-055 --from 0 --to 2800 --source B2 --looked --by KD --on 2026-11-28 --at 10:00"
TWO = """\
compressors:
  - {name: C1, hours: [{on: 2026-11-24, reads: 400 h}]}
  - {name: C2, hours: [{on: 2026-11-24, reads: 90 h}]}
"""


def do(tb: Run, root: Path, line: str) -> str:
    ran = tb(*shlex.split(line), "--ledger", root)
    assert ran.code == 0, f"{line}: {ran.err}{ran.out}"
    return " ".join(ran.out.split())


@pytest.fixture(name="root")
def _root(tmp_path: Path, example_ledger: Path) -> Path:
    return Path(shutil.copytree(example_ledger, tmp_path / "cove"))


@pytest.fixture(name="shut")
def _shut(tb: Run, root: Path) -> Path:
    """A ledger whose compressor failed on the 25th; bank B2 was emptied after that."""
    do(tb, root, SAMPLE.format("C1", "14ppm", "2026-11-25"))
    do(tb, root, "station read B2=0 --by KD --on 2026-11-25 --at 14:00")
    return root


@pytest.mark.parametrize(
    ("by", "source", "more", "asked"),
    [
        ("TO", "elsewhere: Harbor Dive", (), True),
        ("KD", "elsewhere: Harbor Dive", (), False),  # somebody certified
        ("TO", "elsewhere: Harbor Dive", (SAMPLE.format("B2", "1ppm", "2026-11-27"),), False),
        (
            "TO",
            "elsewhere: Harbor Dive",
            (
                "station read B2=0 --by KD --on 2026-11-27 --at 12:00",
                "station raise B2 --from 0 --to 4400 --source 'elsewhere: Weir' --by KD --on 2026-11-28 --at 08:00",
            ),
            False,
        ),
    ],
)
def test_a_bank_whose_gas_leaves_only_once_analysed_is_told(
    tb: Run, shut: Path, by: str, source: str, more: tuple[str, ...], asked: bool
) -> None:
    do(tb, shut, RAISED.format(source, by))
    do(tb, shut, SAMPLE.format("C1", "1ppm", "2026-11-26"))
    for line in more:
        do(tb, shut, line)
    day = ("--on", "2026-11-28", "--ledger", shut)
    told = "what it gives leaves only once analysed, or by somebody certified"
    for command in ("station",), ():
        shown = " ".join(tb(*day, *command).out.split())
        assert (told in shown) is asked, shown
        assert bool(re.search("B2( air 4400 psi.*?)? ANALYSE", shown)) is asked, shown
        data = json.loads(tb(*day, *command, "--json").out)
        banks = {b["name"]: b for b in (data if command else data["station"])["banks"]}
        assert bool(banks["B2"]["asked"]) is asked
        assert banks["B2"]["held"] is None
    filled = do(tb, shut, FILL)
    assert ("SF-055: it leaves only once it was analysed" in filled) is asked
    ran = tb(*shlex.split("rent SF-055 --to B-77 --by TO --on 2026-11-28 --dry-run"), *day[2:])
    assert ("while the station was CLOSED" in " ".join(f"{ran.out}{ran.err}".split())) is asked


def test_a_recall_names_no_raising_that_nobody_recorded_of_a_bank_sampled_well(
    tb: Run, root: Path
) -> None:
    raised = (
        "station raise B1 --from 2210 --to 4300 --hours 1661 --by TO --on 2026-11-24 --at 16:00"
    )
    do(tb, root, raised)
    do(tb, root, SAMPLE.format("C1", "14ppm", "2026-11-25"))
    do(tb, root, SAMPLE.format("C1", "1ppm", "2026-11-27"))
    asked = ("recall", "C1", "--json", "--on", "2026-11-28", "--ledger", root)
    before = {b["name"] for b in json.loads(tb(*asked).out)["banks"]}
    do(tb, root, SAMPLE.format("B1", "1ppm", "2026-11-27"))
    after = {b["name"] for b in json.loads(tb(*asked).out)["banks"]}
    assert (before - after, after - before) == ({"B1"}, set())


@pytest.mark.parametrize(
    ("more", "out"),
    [
        ((), {"B1", "B2", "N1"}),
        (("C1",), {"B1", "B2", "N1"}),  # another compressor's answers nothing of C2's
        (("B2",), {"B1", "N1"}),  # a bank's answers for that bank alone
        (("C1", "B2"), {"B1", "N1"}),
    ],
)
def test_a_bank_is_out_of_use_until_what_holds_it_is_answered(
    tb: Run, root: Path, more: tuple[str, ...], out: set[str]
) -> None:
    file = root / "station.yaml"
    text = file.read_text("utf-8")
    file.write_text(re.sub(r"^compressor:\n.*?(?=^\S)", TWO, text, flags=re.M | re.S), "utf-8")
    do(tb, root, SAMPLE.format("C2", "1ppm", "2026-11-24"))
    raised = "station raise B1 --from 2210 --to 4300 --hours 101 --source C2 --by TO --on 2026-11-24 --at 23:00"
    do(tb, root, raised)
    do(
        tb,
        root,
        raised.replace("B1 --from 2210", "B3 --from 4260")
        .replace("C2", "C1")
        .replace("101", "461"),
    )
    do(tb, root, SAMPLE.format("C2", "14ppm", "2026-11-26"))
    for source in more:
        do(tb, root, SAMPLE.format(source, "1ppm", "2026-11-28"))
    day = ("--on", "2026-11-28", "--ledger", root)
    assert {
        b["name"] for b in json.loads(tb("station", *day, "--json").out)["banks"] if b["held"]
    } == out
