"""An hour that is set right past a hold, or a hold set right before it: it left while held."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

Run = Callable[..., Any]
DAY = "2026-11-25"
HELD = f'held: [{{on: {DAY}, by: MV, at: "14:00", why: sticker illegible}}]\n'
LEFT = {
    "rented": (f'rented: [{{on: {DAY}, by: MV, to: B-1, until: {DAY}, at: "10:00"}}]', "at"),
    "handed_over": (f'handed_over: [{{on: {DAY}, by: MV, to: C-1, at: "10:00"}}]', "at"),
    "jobs": (
        f"jobs: [{{on: 2026-11-20, by: MV, work: [fill], reference: C-9, ready: 2026-11-24, "
        f'collected: {DAY}, collected_by: MV, collected_at: "10:00"}}]',
        "collected_at",
    ),
}
STATUS = {"rented": "out", "handed_over": "sold", "jobs": "held"}


def asked(tb: Run, root: Path, *line: str) -> str:
    said = tb(*line, "--ledger", root)
    if line[0] == "correct":
        assert said.code == 0, said.out + said.err
    return " ".join((said.out + said.err).split())


def root_of(write: Callable[..., Path], name: str) -> Path:
    text = books.with_lines(books.GOOD, status=STATUS[name])
    use = {"jobs": {"use": "customer", "owner": "C-9"}, "handed_over": {"use": "sale"}}
    text = books.with_lines(text, **use.get(name, {}))
    return write({"cylinders/RB-014.yaml": books.stamped(f"{text}{LEFT[name][0]}\n{HELD}")})


@pytest.mark.parametrize("name", LEFT)
@pytest.mark.parametrize(
    ("hour", "told"), [("13:59", False), ("14:00", False), ("18:00", True), ("", False)]
)
def test_what_left_at_an_hour_by_which_it_was_held_is_told(
    tb: Run, write: Callable[..., Path], name: str, hour: str, told: bool
) -> None:
    root = root_of(write, name)
    assert "went-out-while" not in asked(tb, root, "validate")
    day = "2026-11-20" if name == "jobs" else DAY
    change = f"{LEFT[name][1]}={hour}"
    said = asked(
        tb, root, "correct", "RB-014", name, day, "--set", change, "--why", "mistyped", "--by", "MV"
    )
    text = f"at {hour}, and was held since 14:00"
    assert (text in said) is told, said
    assert ("went-out-while" in asked(tb, root, "validate")) is told


@pytest.mark.parametrize("name", LEFT)
def test_a_hold_set_right_before_it_left_is_told(
    tb: Run, write: Callable[..., Path], name: str
) -> None:
    root = root_of(write, name)
    line = ("correct", "RB-014", "held", DAY, "--set", "at=09:00", "--why", "mistyped")
    assert "at 10:00, and was held since 09:00" in asked(tb, root, *line, "--by", "MV")
    assert "went-out-while" in asked(tb, root, "validate")
