"""The judge is its own: small, without the program, and it reads the text as it stands."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from allowed import ALLOWED
from hazards import HAZARDS
from judge import Judge
from mutate import OPERATORS
from quay import ASKED, BASE, ON, Files
from reading import day, quantity, stamped
from runs import encoded

HERE = Path(__file__).parent


@pytest.mark.parametrize("module", ["judge", "reading", "warned"])
def test_it_imports_nothing_of_the_program(module: str) -> None:
    tree = ast.parse((HERE / f"{module}.py").read_text())
    names = {a.name for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names}
    names |= {n.module or "" for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)}
    assert not {
        n
        for n in names
        if n.split(".")[0] in ("tankbook", "tests", "books", "quay", "hazards", "runs", "campaign")
    }


def test_its_law_is_short_enough_to_be_read() -> None:
    assert len((HERE / "judge.py").read_text().splitlines()) <= 400


def why_not(ledger: Files, cylinder: str = "RB-101") -> list[str]:
    return Judge(encoded(ledger), ON).why_not(cylinder, *ASKED[cylinder])


def test_what_cannot_be_read_is_refused() -> None:
    card = BASE["cylinders/RB-101.yaml"]
    for broken in (
        "",
        card.replace("serial:", "Serial:"),
        card + "place: again\n",
        card.replace("result: pass", "result: pas"),
        card.replace("3000 psi", "3000"),
    ):
        assert why_not({**BASE, "cylinders/RB-101.yaml": broken})
    assert why_not({p: t for p, t in BASE.items() if p != "cylinders/RB-101.yaml"})


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("3000 psi", 3000.0),
        ("207 bar", 207 * 14.5037738),
        ("5 years", 60.0),
        ("0.0551 L", 0.0551),
        ("3000", None),
        ("psi", None),
        (None, None),
    ],
)
def test_quantities(text: str | None, read: float | None) -> None:
    assert quantity(text) == (pytest.approx(read) if read is not None else None)


def test_dates_and_stamps() -> None:
    assert day("2026-02-30") is None
    found = day("2026-02")
    assert found is not None
    assert [str(d) for d in found] == ["2026-02-01", "2026-02-28"]
    assert stamped("DOT-3AL 3000 K118201 06A19 06 Z418 24 +") == [
        ("2019-06", False),
        ("2024-06", True),
    ]
    assert stamped("DOT-3AA 2400 LP30455 05A79 +") == [("1979-05", True)]


def test_every_pair_names_an_operator_and_a_hazard() -> None:
    operators, hazards = {o for o, _ in ALLOWED}, {h for _, h in ALLOWED}
    assert operators <= {*OPERATORS}
    assert hazards <= {h.key for h in HAZARDS}
