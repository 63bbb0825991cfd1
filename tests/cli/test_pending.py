"""`tankbook pending`: what it shows, and the way out of every interrupted act."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

ON = "2026-11-25"


class Cut(BaseException):
    """The process ends."""


@pytest.fixture(name="half")
def _half(ledger: Path, tb: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> Path:
    """Of two cards to be held one is done."""
    from tankbook.ledger import atomic

    real = atomic.write_atomic

    def dying(root: Path, path: str, data: bytes) -> None:
        if path.endswith("SF-014.yaml"):
            raise Cut
        real(root, path, data)

    with monkeypatch.context() as patch:
        patch.setattr(atomic, "write_atomic", dying)
        with pytest.raises(Cut):
            tb("--ledger", ledger, "--on", ON, "hold", "RB-014", "SF-014", "--why", "dent",
               "--by", "MV")  # fmt: skip
    return ledger


def test_nothing_is_pending(ledger: Path, tb: Callable[..., Any]) -> None:
    ran = tb("--ledger", ledger, "pending")
    assert (ran.code, ran.out) == (0, "No act is pending\n")
    for option in ("--finish", "--drop"):
        ran = tb("--ledger", ledger, "pending", option)
        assert (ran.code, ran.out) == (0, "No act is pending\n")
    assert tb("--ledger", ledger, "pending", "--json").json["pending"] is False


def test_it_shows_the_act_and_touches_nothing(half: Path, tb: Callable[..., Any]) -> None:
    ran = tb("--ledger", half, "pending")
    assert ran.code == 1
    assert ran.first.startswith("PENDING: Held RB-014, SF-014: dent (MV, 20")
    assert "cylinders/RB-014.yaml: done\ncylinders/SF-014.yaml: to do\n" in ran.out
    assert ran.out.count("+  - {on: 2026-11-25, by: MV, why: dent}") == 2
    data = tb("--ledger", half, "pending", "--json").json
    assert (data["act"], data["ids"], data["by"]) == ("hold", ["RB-014", "SF-014"], "MV")
    assert [f["state"] for f in data["files"]] == ["done", "to do"]
    assert tb("--ledger", half, "pending").out == ran.out


def test_it_is_finished(half: Path, tb: Callable[..., Any]) -> None:
    ran = tb("--ledger", half, "pending", "--finish")
    assert ran.code == 0
    assert ran.first.startswith("Finished: Held RB-014, SF-014: dent (MV, 20")
    assert "status: held" in (half / "cylinders/SF-014.yaml").read_text()


def test_it_is_dropped(half: Path, tb: Callable[..., Any]) -> None:
    ran = tb("--ledger", half, "pending", "--drop", "--json")
    assert (ran.code, ran.json["done"], ran.json["pending"]) == (0, "dropped", False)
    assert "status: in-service" in (half / "cylinders/RB-014.yaml").read_text()
    assert "held" not in (half / "cylinders/RB-014.yaml").read_text()
    assert "not finished" not in tb("--ledger", half, "--on", ON, "may-fill", "RB-014").out


def test_both_at_once_are_not_understood(half: Path, tb: Callable[..., Any]) -> None:
    ran = tb("--ledger", half, "pending", "--finish", "--drop")
    assert ran.code == 2
    assert ran.err == "tankbook: --finish and --drop do not go together; give one of them\n"


def test_a_card_that_was_changed_by_hand_has_a_way_out(half: Path, tb: Callable[..., Any]) -> None:
    card = half / "cylinders/SF-014.yaml"
    card.write_text(card.read_text() + "note: by hand\n")
    ran = tb("--ledger", half, "--on", ON, "may-fill", "RB-014", "SF-014")
    assert ran.code == 1
    assert "this file was changed by hand before an interrupted act was finished" in ran.first
    assert "`tankbook pending --finish` adds it to the file as it is now" in ran.out
    ran = tb("--ledger", half, "--on", ON, "hold", "RB-021", "--why", "boot off", "--by", "MV")
    assert ran.code == 2
    line = ran.err.splitlines()[0]
    assert line.startswith("tankbook: cylinders/SF-014.yaml: this file was changed by hand")
    assert "Held RB-014, SF-014: dent" in line
    assert tb("--ledger", half, "pending", "--finish").code == 0
    assert "note: by hand" in card.read_text()
    assert "why: dent" in card.read_text()
    assert tb("--ledger", half, "--on", ON, "validate").code in (0, 1)
    assert "not finished" not in tb("--ledger", half, "--on", ON, "validate").out
