"""What people see: each command on the example ledger, in 80 columns, without colour.

`pytest tests/cli --snapshot-update` takes new pictures; look at them before keeping them.
"""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion

Run = Callable[..., Any]

LINES = (
    "",
    "due",
    "due --within 90d",
    "due DB-02 66",
    "may-fill 11 --ambient 41",
    "may-fill 31",
    "may-fill 14 21 24 66 67 68 71 72",
    "may-fill DB-01 DB-02 --gas nitrox32",
    "may-fill 33 --fill-pressure 3442",
    "may-fill 11 33 --together",
    "capacity 11",
    "capacity 31 --at 2904 --temperature 41",
    "capacity 61 --free-gas 80",
    "capacity --water-volume '11.1 L' --at '3000 psi' --gas nitrox32",
    "show 31",
    "show 68",
    "show DB-02",
    "show 62",
    "list",
    "list --ready",
    "list --use customer --sort first-test",
    "list --where service_pressure>3000 --where material=steel --sort service_pressure",
    "tags 11 41 67 DB-02",
    "fleet",
    "rules --obligation visual",
    "rules --obligation alloy",
    "validate",
    "validate --format github",
    "marks 'DOT-3AA 2640 HP40182 06N10+ 07 Z418 15+ 07 Z418 20+'",
    "--json may-fill 11 20 --ambient 41",
    "--json capacity 11",
    "--json due 20 66",
    "--json tags 67",
)


_RAN: dict[str, Any] = {}
"""What was answered, by line: nothing here changes the example."""


@pytest.fixture(name="on_example")
def _on_example(
    tb: Run, example_ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[[str], Any]:
    def run(line: str) -> Any:
        if line in _RAN:
            return _RAN[line]
        monkeypatch.chdir(example_ledger)
        monkeypatch.setattr("tankbook.ledger.git.uncommitted", lambda _: [])
        # whether this repository has a copy elsewhere is no matter of the example's
        monkeypatch.setattr("tankbook.ledger.git.copies_of", lambda _: None)
        day = () if "--on " in line else ("--on", "2026-11-25")
        return _RAN.setdefault(line, tb(*day, *shlex.split(line)))

    return run


@pytest.mark.parametrize("line", LINES)
def test_what_people_see(
    line: str, on_example: Callable[[str], Any], snapshot: SnapshotAssertion
) -> None:
    ran = on_example(line)
    assert ran.err == ""
    assert f"exit {ran.code}\n{ran.out}" == snapshot


@pytest.mark.parametrize("line", [n for n in LINES if "validate" not in n and "--json" not in n])
def test_it_fits_80_columns(line: str, on_example: Callable[[str], Any]) -> None:
    assert max(map(len, on_example(line).out.splitlines())) <= 80


def test_the_example_is_in_order(on_example: Callable[[str], Any]) -> None:
    ran = on_example("validate")
    assert ran.code == 0
    assert ran.first.startswith("OK: no fault, ")


def test_every_cylinder_and_set_has_a_card_and_a_tag(
    on_example: Callable[[str], Any], example_ledger: Path
) -> None:
    paths = [*example_ledger.glob("cylinders/*.yaml"), *example_ledger.glob("sets/*.yaml")]
    assert len(paths) > 36
    ids = sorted(p.stem for p in paths)
    assert [tag["id"] for tag in on_example(f"--json tags {' '.join(ids)}").json] == ids
    for id_ in ids:
        assert on_example(f"show {id_}").first.startswith(id_)


def test_one_year_earlier_the_later_records_are_not_there(on_example: Callable[[str], Any]) -> None:
    now = on_example("--json list").json
    then = on_example("--on 2025-11-25 --json list").json
    assert {row["id"] for row in now if row["stands"] == "sold"}
    assert not {row["id"] for row in then if row["stands"] == "sold"}
