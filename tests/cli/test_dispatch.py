"""`tankbook dispatch`, and what `send` records for it."""

from __future__ import annotations

import shlex
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pdf
import pytest

Run = Callable[..., Any]
ON = ("--on", "2026-11-25")
SEND = (
    "send RB-014 --to Northside --ask hydro,eddy-current --valve off --bled heard --by MV".split()
)


def test_sent_noted_back_and_ticked_off(tb: Run, ledger: Path, tmp_path: Path) -> None:
    where = (*ON, "--ledger", ledger)
    sent = tb(*SEND, *where)
    assert sent.code == 0, sent.out + sent.err
    assert "tankbook dispatch 2026-11-25 --pdf note.pdf" in " ".join(sent.out.split())
    card = (ledger / "cylinders/RB-014.yaml").read_text()
    assert "asked: [hydro, eddy-current]" in card
    assert "with_valve: off" in card
    told = tb("dispatch", "2026-11-25", *where, "--pdf", "n.pdf", "--html", "n.html")
    assert told.out.splitlines()[-1] == "Written to n.html and n.pdf."
    said = " ".join(pdf.text_of((tmp_path / "n.pdf").read_bytes()).split())
    assert "[x] hydro [ ] visual [x] eddy-current [ ] o2-clean" in said
    assert "[ ] fitted [x] off" in said
    page = (tmp_path / "n.html").read_text()
    assert '<th scope="row">last test</th><td>hydrostatic pass' in page
    data = tb("dispatch", "2026-11-25", *where, "--json").json
    assert data["items"][0]["result"] == "still away"
    assert data["counted"] is None
    assert tb("back", "RB-014", "--by", "MV", *where).code == 0
    back = tb("dispatch", "2026-11-25", "--back", *where)
    assert back.first == "NOTE BACK 2026-11-25 from Northside: 1 of 1 back"
    stranger = tb("dispatch", "2026-11-25", "--counted", "RB-014", "--counted", "X9", *where)
    assert stranger.code == 1
    assert "X9" in stranger.out
    assert "NOT ON THE NOTE" in stranger.first


def test_an_empty_ledger_has_no_note(tb: Run, write: Callable[..., Path]) -> None:
    root = write({})
    ran = tb("dispatch", *ON, "--ledger", root)
    assert (ran.code, ran.out) == (0, "No cylinder is on record as sent away\n")
    ran = tb("dispatch", "2026-11-25", *ON, "--ledger", root)
    assert ran.code == 2
    assert "no note '2026-11-25' is on record" in ran.err


@pytest.mark.parametrize("asked", ["", "2026-11-17", "2026-11-17 --back"])
def test_a_card_that_cannot_be_read_is_told_on_the_paper(
    asked: str, tb: Run, example_ledger: Path, tmp_path: Path
) -> None:
    root = tmp_path / "cove"
    shutil.copytree(example_ledger, root)
    (root / "cylinders/ST-083.yaml").write_text("serial: [\n")
    ran = tb("dispatch", *asked.split(), *ON, "--ledger", root)
    assert ran.code == 1
    first = ran.out.split("\n\n")[0]
    assert first.count("ST-083") == 1
    if asked:
        tb("dispatch", *asked.split(), *ON, "--ledger", root, "--pdf", "n.pdf")
        said = pdf.text_of((tmp_path / "n.pdf").read_bytes())
        assert "NOT WHOLE: 1 FILE NOT READ" in said


def test_a_name_that_cannot_be_printed_blocks_nothing(tb: Run, ledger: Path) -> None:
    where = (*ON, "--ledger", ledger)
    assert tb("send", "RB-014", "--to", "检测 House", "--by", "MV", *where).code == 0
    ran = tb("dispatch", "2026-11-25", *where, "--pdf", "n.pdf")
    assert ran.code == 0, ran.err
    assert "cannot be printed" in ran.out
    assert "RB-014.yaml" in ran.out


PLACES = ["Northside", "Weir Street Hydro", "Weir Street", "检测 House", "--", "weir street"]


def test_a_note_is_known_by_its_day_and_place_whatever_else_is_of_that_day(
    tb: Run, ledger: Path
) -> None:
    """No name that was printed ever leads to another note, in whatever order they are entered."""
    where = (*ON, "--ledger", ledger)
    card = (ledger / "cylinders/RB-014.yaml").read_text()
    printed: dict[str, str] = {}
    for number, place in enumerate(PLACES, 20):
        path = ledger / f"cylinders/RB-0{number}.yaml"
        path.write_text(card.replace("K118204", f"K1{number}"))
        sent = tb("send", f"RB-0{number}", "--to", place, "--by", "MV", *where)
        assert sent.code == 0
        told = " ".join(sent.out.split())
        words = shlex.split(told.split("to go with them: `tankbook ")[1].split("`")[0])
        assert tb(*words[:2], *where, "--json").json["to"] == place  # as it is told to be typed
        notes = tb("dispatch", *where, "--json").json
        for note in notes:
            printed.setdefault(note["note"], note["to"])
        for name, to in printed.items():
            ran = tb("dispatch", name, *where, "--json")
            if ran.code == 0:
                assert ran.json["to"] == to
            else:
                assert "say which: " in ran.err
        for note in notes:  # as it is written it is always found
            assert tb("dispatch", note["note"], *where, "--json").json["to"] == note["to"]
            exact = tb("dispatch", f"2026-11-25#{note['to']}", *where, "--json")
            assert (exact.code, exact.json["to"]) == (0, note["to"])


def test_a_note_of_a_card_that_cannot_be_read_is_not_said_to_be_none(tb: Run, ledger: Path) -> None:
    where = (*ON, "--ledger", ledger)
    assert tb(*SEND, *where).code == 0
    path = ledger / "cylinders/RB-014.yaml"
    path.write_text(path.read_text() + "serial: [\n")
    ran = tb("dispatch", "2026-11-25", *where)
    assert ran.code == 2
    assert "of what cannot be read nobody knows: RB-014" in " ".join(ran.err.split())
