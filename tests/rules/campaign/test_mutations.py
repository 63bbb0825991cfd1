"""The campaign: no change to a seeded ledger turns its NO into a YES but where that is right."""

from __future__ import annotations

from pathlib import Path

import pytest
from campaign import CASES, Subject, case, of_hazard, of_sound, play, shown
from hazards import BY_KEY
from quay import ASKED
from runs import Bench

KEYS = [*BY_KEY, *(f"sound-{c}" for c in ASKED)]


def subject_of(key: str) -> Subject:
    return of_hazard(BY_KEY[key]) if key in BY_KEY else of_sound(key.removeprefix("sound-"))


@pytest.mark.parametrize("key", KEYS)
def test_no_change_makes_a_wrong_yes(
    key: str, tmp_path: Path, request: pytest.FixtureRequest, record_property: object
) -> None:
    subject = subject_of(key)
    seed = request.config.getoption("campaign_seed", 1)
    only = request.config.getoption("campaign_case", "")
    if only and only.rpartition(":")[0] != key:
        pytest.skip("another case was asked for")
    numbers = (
        [int(only.rpartition(":")[2])]
        if only
        else range(-(-request.config.getoption("campaign", CASES) // len(KEYS)))
    )
    sound = Bench(tmp_path / "sound")
    sound.lay(subject.sound)
    before = sound.quick(subject.cylinder, *subject.asked)
    assert before.yes, f"{key}: the sound ledger is refused"
    assert not subject.warns or subject.warns not in before.warned, f"{key}: it warns before"
    unchanged = Bench(tmp_path / "unchanged")
    unchanged.commit(subject.past)
    unchanged.lay(subject.ledger.files)
    answer = unchanged.asked(subject.cylinder, *subject.asked)
    assert answer.yes is (not subject.hazard or bool(subject.warns)), f"{key}: {answer.why}"
    assert not subject.is_flip(answer.said), f"{key}: the seed is answered {answer.said}"

    found = play(subject, Bench(tmp_path / "ledger"), seed, numbers)
    record_property("campaign", {key: found.told})  # type: ignore[operator]
    detail = f"\n{shown(subject, case(subject, seed, numbers[0]))}" if only else ""
    again = f"python -m pytest tests/rules/campaign/test_mutations.py --campaign-seed {seed} --campaign-case "
    assert not found.wrong, (
        f"{len(found.wrong)} wrong of {found.cases}; `{again}KEY:NUMBER` shows one\n"
        + "\n".join(found.wrong[:20])
        + detail
    )
