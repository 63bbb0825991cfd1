"""The other direction: ordinary honest ledgers stay YES, and the judge has nothing against them."""

from __future__ import annotations

from pathlib import Path

import pytest
from honest import HONEST, Honest
from judge import Judge
from quay import ON
from runs import Bench, encoded


@pytest.mark.parametrize("honest", HONEST, ids=lambda h: h.key)
def test_an_honest_ledger_stays_yes(honest: Honest, tmp_path: Path) -> None:
    bench = Bench(tmp_path / "ledger")
    bench.commit([encoded(p) for p in honest.past])
    bench.lay(encoded(honest.ledger))
    answer = bench.asked(honest.cylinder, honest.gas, honest.upto)
    assert answer.yes, f"{honest.key} ({honest.why}): {answer.why}"


@pytest.mark.parametrize("honest", HONEST, ids=lambda h: h.key)
def test_the_judge_has_nothing_against_it(honest: Honest) -> None:
    past = [encoded(p) for p in honest.past]
    judge = Judge(encoded(honest.ledger), ON, past)
    assert judge.why_not(honest.cylinder, honest.gas, honest.upto) == []
