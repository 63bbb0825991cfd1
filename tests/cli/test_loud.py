"""What cannot be read is told by every command that answers: in its first line, in its data, and no."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from cove import EXAMPLE, small_cove
from hypothesis import given
from hypothesis import strategies as st

from tankbook.cli import loud, open_ledger
from tankbook.cli.answer import Answer
from tankbook.output.page import Page
from tankbook.records.words import Shore

Run = Callable[..., Any]
ON = "2026-11-25"

ANSWERS = [
    "", "show RB-014", "list", "rules", "due", "may-fill RB-014", "capacity RB-014", "fleet", "tags RB-014",
    "plan RB-014=500", "equalize RB-014 RB-021", "blend RB-014 --to nitrox32", "rentals", "stock", "recall B1",
    "leaks", "fills", "costs", "station", "station size", "jobs", "sheet RB-014", "committee", "dispatch",
]  # fmt: skip
"""Every command that answers from the whole ledger, as it is asked here."""

OWN = ["show RB-032", "may-fill RB-032", "capacity RB-032", "tags RB-032", "history RB-032", "plan RB-032=500"]  # fmt: skip
"""Those that may be asked of the one cylinder that is broken."""

BROKEN = {
    "another card": ("cylinders/RB-032.yaml", "serial: [\n"),
    "the station": ("station.yaml", "serial: [\n"),
    "the log": ("fills/2026.csv", "x,y\n1,2\n"),
    "rules": ("rules/shop.yaml", "heading: [\n"),
    "a checklist": ("checklists/own.yaml", "steps: [\n"),
    "the bookings": ("bookings.csv", "x,y\n1,2\n"),
}


@pytest.fixture(name="broken")
def _broken(tmp_path: Path, request: pytest.FixtureRequest) -> tuple[Path, str]:
    path, text = BROKEN[request.param]
    root = tmp_path / "cove"
    small_cove(root)
    (root / path).parent.mkdir(exist_ok=True)
    (root / path).write_text(text)
    return root, path


def is_told(tb: Run, root: Path, path: str, asked: str) -> None:
    where = ("--ledger", root, "--on", ON)
    text = tb(*where, *shlex.split(asked))
    assert text.code == 1, text.err
    assert path in text.first or path in text.out[:600], text.out[:600]
    data = tb(*where, "--json", *shlex.split(asked))
    assert data.code == 1, data.err
    found = data.json if isinstance(data.json, list) else data.json["faults"]
    assert path in {each.get("path") for each in found if each.get("kind") == "fault"}


def test_a_question_that_cannot_be_answered_is_not_about_the_fleet(tb: Run, tmp_path: Path) -> None:
    """Which records are at fault is told by `list`; a station that cannot be read says that alone."""
    root = tmp_path / "cove"
    small_cove(root)
    (root / "station.yaml").write_text("serial: [\n")
    where = ("--ledger", root, "--on", ON)
    assert "records at fault" in tb(*where, "list").out
    assert "at fault" not in tb(*where, "station").out
    paths = {each["path"] for each in tb(*where, "--json", "station").json["faults"]}
    assert paths == {"station.yaml"}


@pytest.mark.parametrize("broken", BROKEN, indirect=True)
def test_every_answer_tells_what_was_not_read(tb: Run, broken: tuple[Path, str]) -> None:
    for asked in ANSWERS:
        is_told(tb, *broken, asked)


@pytest.mark.parametrize("broken", ["another card"], indirect=True)
def test_every_answer_about_a_broken_card_tells_it(tb: Run, broken: tuple[Path, str]) -> None:
    for asked in OWN:
        is_told(tb, *broken, asked)


@pytest.mark.parametrize("broken", ["the log"], indirect=True)
def test_a_life_tells_that_the_log_was_not_read(tb: Run, broken: tuple[Path, str]) -> None:
    is_told(tb, *broken, "history RB-014")


RECALLS = [
    "recall C1",
    "recall --gauge G1",
    "recall --person TO",
    "recall --since 2026-11-01",
    "recall",
]
"""Each subject of a recall of fills, and one whose subject is looked up."""

UNREAD = {
    "the log": ("fills/2026.csv", 9, "x,y\n"),
    "the station": ("station.yaml", 3, "zz: [{\n"),
    "another card": ("cylinders/RB-032.yaml", 2, "zz: [{\n"),
    "a set": ("sets/DB-02.yaml", 2, "zz: [{\n"),
    "rules": ("rules/shop.yaml", 2, "zz: [{\n"),
}
"""A line of a file that cannot be read, by what it is of."""

OF_NO_CARD = {"the log", "the station"}


@pytest.fixture(name="torn")
def _torn(tmp_path: Path, request: pytest.FixtureRequest) -> tuple[Path, str]:
    path, line, text = UNREAD[request.param]
    root = tmp_path / "cove"
    small_cove(root)
    lines = (root / path).read_text().splitlines(keepends=True)
    lines[line - 1] = text
    (root / path).write_text("".join(lines))
    return root, f"{path}:"


@pytest.mark.parametrize("torn", UNREAD, indirect=True)
def test_a_recall_of_fills_says_that_its_list_is_not_whole(tb: Run, torn: tuple[Path, str]) -> None:
    root, place = torn
    where = ("--ledger", root, "--on", ON)
    for asked in RECALLS:
        text, data = tb(*where, *asked.split()), tb(*where, *asked.split(), "--json")
        assert text.code == data.code == 1, (asked, text.err)
        assert place in text.first, (asked, text.first)
        if data.json.get("answered") is False:  # what it is of cannot be looked up
            assert place in data.json["why"]
            continue
        assert "THE LIST IS NOT WHOLE" in text.first, (asked, text.first)
        assert data.json["whole"] is False
        assert data.json["not_seen"][0]["place"].startswith(place)


@pytest.mark.parametrize("torn", UNREAD, indirect=True)
def test_a_recall_by_notice_is_whole_where_every_card_was_read(
    tb: Run, torn: tuple[Path, str], request: pytest.FixtureRequest
) -> None:
    root, place = torn
    whole = request.node.callspec.params["torn"] in OF_NO_CARD
    asked = ("recall", "--serial-from", "K118200", "--serial-to", "K118210")
    text = tb("--ledger", root, "--on", ON, *asked)
    data = tb("--ledger", root, "--on", ON, *asked, "--json")
    assert text.code == data.code == 1  # a file was not read
    assert ("NOT WHOLE" in text.first) is (data.json["whole"] is False) is (not whole)
    if place.startswith("cylinders"):  # it may be the one that is named
        assert {e["link"] for e in data.json["cylinders"] if e["id"] == "RB-032"} == {"maybe"}


@pytest.mark.parametrize("torn", UNREAD, indirect=True)
def test_a_recall_holds_those_it_knows_and_says_that_there_may_be_more(
    tb: Run, torn: tuple[Path, str]
) -> None:
    root, place = torn
    asked = ("--ledger", root, "recall", "B1", "--since", "2026-01-01", "--hold", "--by", "TO")
    done = tb(*asked, "--on", ON, "--json")
    assert done.code == 1
    assert done.json["recorded"] is True
    assert done.json["whole"] is False
    assert "NOT ALL: " in done.json["sentence"]
    assert place in done.json["sentence"]
    assert "held:" in (root / "cylinders" / "RB-014.yaml").read_text()
    again = tb(*asked, "--on", ON)
    assert again.code == 1
    assert f"as far as the records can be read: {place}" in " ".join(again.out.split())
    assert "THE LIST IS NOT WHOLE" in again.out


@pytest.mark.parametrize("torn", UNREAD, indirect=True)
def test_what_a_recall_cannot_find_may_stand_where_nothing_could_be_read(
    tb: Run, torn: tuple[Path, str]
) -> None:
    root, place = torn
    for asked in ("B9", "--gauge G9", "--person ZZ", "--notice none", "B9 --hold --by TO"):
        for json in ((), ("--json",)):
            said = tb("--ledger", root, "--on", ON, "recall", *asked.split(), *json)
            assert said.code == 1, (asked, said.err)
            assert place in said.out, asked


def test_a_recall_of_a_whole_ledger_is_whole(tb: Run, tmp_path: Path) -> None:
    root = small_cove(tmp_path / "cove")
    (root / "checklists" / "own.yaml").write_text("steps: [\n")  # names no cylinder
    said = tb("--ledger", root, "--on", ON, "recall", "C1", "--json")
    assert said.json["whole"] is True
    assert said.json["not_seen"] == []


def test_a_recall_where_no_air_was_tested_says_that_none_was(tb: Run, tmp_path: Path) -> None:
    root = tmp_path / "new"
    tb("init", root)
    said = tb("--ledger", root, "--on", ON, "recall")
    assert (said.code, said.err) == (2, "tankbook: no air test is on record; name the source\n")


FIT = ["list", "fleet", "report", "due", "tags RB-014"]
"""What says which cylinders are fit, or due, and asks nothing of the station."""

CLOSING = {
    "a failed air test": (
        "station.yaml",
        "air_tests:\n",
        "air_tests:\n"
        "  - {on: 2026-11-20, by: Harbor Air Lab, standard: cga-grade-e, result: fail, source: C1}\n",
        "the air test of 2026-11-20 (C1) failed",
    ),
    "a row that loosens law": (
        "rules/shop.yaml",
        "notices: 1\n",
        "  - {id: us.requalification.3al, obligation: requalification, period: 50 years,"
        " met_by: [hydrostatic], gate: refuse, basis: practice, citation: x, verified: memory}\n"
        "notices: 1\n",
        "us.requalification.3al",
    ),
}


@pytest.mark.parametrize("why", CLOSING)
def test_a_list_of_what_is_fit_tells_that_nothing_may_be_filled_here(
    tb: Run, tmp_path: Path, why: str
) -> None:
    path, old, new, told = CLOSING[why]
    root = tmp_path / "cove"
    small_cove(root)
    text = (root / path).read_text()
    assert old in text
    (root / path).write_text(text.replace(old, new, 1))
    where = ("--ledger", root, "--on", ON)
    for asked in FIT:
        said = tb(*where, *shlex.split(asked))
        assert "NOTHING MAY BE FILLED HERE: " in said.first, (asked, said.first)
        assert told in said.first, said.first
        data = tb(*where, "--json", *shlex.split(asked)).json
        found = data if isinstance(data, list) else data["faults"]
        assert path in {each.get("path") for each in found if each.get("kind") == "closed"}
    csv = tb(*where, "list", "--csv")
    assert "NOTHING MAY BE FILLED HERE: " in csv.err
    assert told in csv.err


WORDS = st.sampled_from(
    ["station.yaml:13:22:", "sources[2].kind:", "cannot", "a", "2026-11-25:", "NO", "YES", "WARNING:",
     "`continuous-blender`", "RB-014:", "(shop", "rule)", "0.5", "of", "unbreakable" * 8]
)  # fmt: skip


@given(
    st.lists(WORDS, min_size=1, max_size=40),
    st.lists(st.lists(WORDS, min_size=1, max_size=12), max_size=2),
    st.sampled_from([40, 80, 100]),
    st.sampled_from(["  ", "    "]),
)
def test_nothing_stands_inside_a_first_sentence(
    head: list[str], under: list[list[str]], width: int, hang: str
) -> None:
    """Wherever the page breaks it, and whatever comes below it."""
    page, said = Page(width), "1 FILE NOT READ: station.yaml"
    sentence, below = " ".join(head), [" ".join(words) for words in under]
    got = loud.told(Answer(page.answer(sentence, "A part", under=below, hang=hang)), said).text
    whole = Page(10**6).answer(sentence, hang=hang).rstrip("\n")
    rest = page.answer("x", "A part", under=below).split("\n")[1:]
    assert got.split("\n") == [f"{whole}; {said}", *rest]


@pytest.mark.parametrize("width", [40, 60, 80, 200])
@pytest.mark.parametrize("broken", ["another card", "the station", "rules"], indirect=True)
def test_a_first_line_is_whole_on_a_narrow_page(
    tb: Run, broken: tuple[Path, str], width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was not read ends the first line, and no line of its sentence is left below it."""
    monkeypatch.setattr(open_ledger, "page", lambda shore=Shore.PSI, **_: Page(width, shore))
    root, path = broken
    for asked in ANSWERS:
        out = tb("--ledger", root, "--on", ON, *shlex.split(asked)).out
        first, *rest = out.split("\n")
        picture = len(rest) > 1 and rest[0].startswith("+-")
        assert picture or f"1 FILE NOT READ: {path}" in first, (asked, out[:400])
        assert not rest[0].startswith(" "), (asked, out[:400])


@pytest.mark.parametrize("width", [40, 60, 80, 200])
@pytest.mark.parametrize("broken", ["another card"], indirect=True)
def test_a_first_line_is_whole_where_a_file_is_written(
    tb: Run, broken: tuple[Path, str], width: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was not read stands behind the sentence, of which no line goes on below it."""
    monkeypatch.setattr(open_ledger, "page", lambda shore=Shore.PSI, **_: Page(width, shore))
    root, path = broken
    paper = tmp_path / "paper.pdf"
    for asked in ("report", "wall", "committee", "list --count-sheet", "sheet RB-014"):
        out = tb("--ledger", root, "--on", ON, *shlex.split(asked), "--pdf", str(paper)).out
        first, *rest = out.split("\n")
        assert f"1 FILE NOT READ: {path}" in first, (asked, out[:400])
        assert not rest[0][:1].islower(), (asked, out[:400])
        assert not rest[0].startswith(" "), (asked, out[:400])


def test_an_open_station_is_not_called_closed(tb: Run) -> None:
    for asked in FIT:
        assert "NOTHING MAY" not in tb("--ledger", EXAMPLE, "--on", ON, *shlex.split(asked)).out


@pytest.mark.parametrize(
    ("paths", "said"),
    [
        ("a", "1 RECORD VANISHED: a"),
        ("aa", "2 RECORDS VANISHED: a"),
        ("abab", "4 RECORDS VANISHED: a, b"),
        ("aaabcd", "6 RECORDS VANISHED: a, b, c, and 1 more"),
    ],
)
def test_each_file_is_named_once_however_much_of_it_vanished(paths: str, said: str) -> None:
    gone = [loud.Fault(path, f"entry {place}") for place, path in enumerate(paths)]
    assert loud.line((), (), gone) == said
