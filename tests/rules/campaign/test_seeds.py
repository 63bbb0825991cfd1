"""Every hazard by itself: the sound ledger says YES, the seeded one NO (or it warns), for that hazard's sake."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hazards import HAZARDS, Hazard
from judge import Judge
from quay import ON
from runs import Bench, encoded
from warned import told

_ANSWERED: dict[tuple[str, ...], str] = {}


def refused(hazard: Hazard, folder: Path) -> str:
    """Why the sound ledger is refused, or nothing; many hazards share it, and it is asked once."""
    question = (
        hazard.cylinder,
        *hazard.asked,
        *(f"{p}\n{t}" for p, t in sorted(hazard.base.items())),
    )
    if question not in _ANSWERED:
        bench = Bench(folder)
        bench.lay(encoded(hazard.base))
        answer = bench.asked(hazard.cylinder, *hazard.asked)
        _ANSWERED[question] = "" if answer.yes else answer.why or answer.err
    return _ANSWERED[question]


@pytest.mark.parametrize("hazard", HAZARDS, ids=lambda h: h.key)
def test_a_hazard_turns_yes_into_no(hazard: Hazard, tmp_path: Path) -> None:
    assert (why := refused(hazard, tmp_path / "sound")) == "", f"the sound ledger is refused: {why}"

    seeded = Bench(tmp_path / "seeded")
    seeded.commit([encoded(p) for p in hazard.past])
    seeded.lay(encoded(hazard.seeded))
    after = seeded.asked(hazard.cylinder, *hazard.asked)
    assert after.code == (0 if hazard.warns else 1), (
        f"{hazard.key} ({hazard.source}): exit {after.code}\n{after.out or after.err}"
    )
    assert not hazard.beside or "DANGER" in after.warnings.get(hazard.beside, ""), after.out
    said = after.warnings.get(hazard.warns, "") if hazard.warns else after.why
    assert re.search(hazard.says, said, re.IGNORECASE), (
        f"{hazard.key}: not told, or refused for another reason: {after.why}\n{after.out}"
    )


@pytest.mark.parametrize("hazard", HAZARDS, ids=lambda h: h.key)
def test_the_judge_knows_the_hazard(hazard: Hazard) -> None:
    before = Judge(encoded(hazard.base), ON)
    after = Judge(encoded(hazard.seeded), ON, [encoded(p) for p in hazard.past])
    assert before.why_not(hazard.cylinder, *hazard.asked) == []
    assert hazard.warns not in _warned(before, hazard.cylinder)
    if hazard.warns:
        assert after.why_not(hazard.cylinder, *hazard.asked) == []
        assert hazard.warns in _warned(after, hazard.cylinder)
    else:
        assert after.why_not(hazard.cylinder, *hazard.asked)


def _warned(judge: Judge, id_: str) -> set[str]:
    return {code for codes, _ in told(judge, id_) for code in codes.split()}
