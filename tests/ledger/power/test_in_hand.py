"""Whoever has a cylinder in hand, by whatever act, is told that its serial is recorded as stolen."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from deeds import KINDS, ago, begin, run

ABOUT_NONE = {
    "init", "import", "book-in", "inspect kept", "pending --finish", "pending --drop", "audit", "tidy",
    "count",  # what is missing is in nobody's hands
    "correct",  # on paper
    "stolen",  # it is told by the act itself
    "refuse stranger", "fill walk-in",  # another serial
}  # fmt: skip
"""What is not about a cylinder of the ledger that somebody has in hand."""


@pytest.mark.parametrize(
    "kind", sorted(k for k in KINDS.keys() - ABOUT_NONE if not k.startswith("station "))
)
def test_every_act_on_a_stolen_one_says_so(kind: str, tmp_path: Path) -> None:
    """What is refused for it says so too, and records it with `--happened` all the same."""
    deed, root = KINDS[kind], tmp_path / "ledger"
    begin(root, deed.cards)
    (deed.ready or (lambda _: None))(root)
    line = [word.replace("ROOT", str(root)) for word in shlex.split(deed.line)]
    cards = [card for card in deed.cards if (root / f"cylinders/{card}.yaml").exists()]
    for card in cards:
        entry = ("stolen", card, "--why", "police notice of 20 Nov", "--on", str(ago(0)))
        assert run(root, *entry)[0] == 0
    code, out, err = run(root, *line)
    told = " ".join((out + err).split())
    if code:
        assert "recorded as stolen" in told, told
        code, out, err = run(root, *line, "--happened", "it was done before anybody looked")
        told = " ".join((out + err).split())
    assert code == 0, told
    said = [card for card in cards if told.count(f"{card}: WARNING: its serial") == 1]
    assert said == cards, told
