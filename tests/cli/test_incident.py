"""An incident recorded, all it names held, its sheet printed and kept as it was."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pdf
import pytest
from repos import HEADER, Repo, line

Run = Callable[..., Any]
ON = "2026-11-25"
PAIR = books.GOOD.replace("K118204", "K118231"), books.GOOD.replace("K118204", "K118232")


@pytest.fixture(name="root")
def _root(write: Callable[..., Path]) -> Path:
    """Two cylinders by themselves and a set, with a station that has whips and positions."""
    station = (
        "banks:\n  - name: B1\n    water_volume: 48 L\n    gas: air\n"
        "    readings:\n      - {on: 2026-11-23, pressure: 4100 psi}\n"
        "whips:\n  - {name: W1, checked: [{on: 2026-04-01, by: MV}]}\n"
        "positions:\n  - {name: P1, kind: enclosed, whip: W1}\n  - {name: P2, kind: enclosed}\n"
    )
    return write(
        {
            "cylinders/RB-014.yaml": books.GOOD,
            "cylinders/RB-015.yaml": books.GOOD.replace("K118204", "K118205"),
            "cylinders/RB-031.yaml": PAIR[0],
            "cylinders/RB-032.yaml": PAIR[1],
            "sets/DB-02.yaml": "cylinders: [RB-031, RB-032]\nuse: rental\nisolator: open\n",
            "station.yaml": station,
            "fills/2026.csv": "\n".join(
                (
                    HEADER,
                    line("2026-11-24T09:30:00+01:00", position="P1", **{"from": "500 psi"}),
                    line("2026-11-24T18:30:00+01:00", act="reading", to="1200 psi", by="MV"),
                    "",
                )
            ),
        }
    )


def happened(tb: Run, root: Path, *words: str, on: str = "2026-11-24") -> Any:
    return tb("incident", *words, "--by", "MV", "--on", on, "--ledger", root)


def written(root: Path) -> dict[str, bytes]:
    """The ledger's own files, as they are."""
    files = (p for p in root.rglob("*") if p.is_file() and ".tankbook" not in p.parts)
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in files}


FULL = (
    "whip W1 burst", "14", "DB-02", "--at", "16:30", "--place", "fill room", "--whip", "W1",
    "--position", "P2", "--bank", "b1", "--reading", "DB-02=2100", "--told", "owner by telephone",
    "--saw", "B-4471", "--other", "serial X, blue steel 12 L",
)  # fmt: skip


def test_all_that_is_named_is_held_by_the_judges_there_are(tb: Run, root: Path) -> None:
    ran = happened(tb, root, *FULL)
    assert ran.code == 0, ran.out + ran.err
    said = " ".join(ran.out.split())
    assert "held RB-014, RB-031, RB-032, bank B1, whip W1, position P2" in said
    for id_ in ("RB-014", "RB-031", "RB-032", "DB-02"):
        gate = tb("may-fill", id_, "--on", ON, "--ledger", root)
        assert gate.code == 1
        assert "it is held: incident of 2026-11-24: whip W1 burst" in " ".join(gate.out.split())
    other = " ".join(tb("may-fill", "RB-015", "--on", ON, "--ledger", root).out.split())
    assert "it is held" not in other
    assert "bank B1" in other  # the only source there is
    assert "incident of 2026-11-24" in other
    station = tb("station", "--on", ON, "--ledger", root).out
    assert "whip W1" in station


def test_readings_are_as_given_else_as_recorded_and_said_to_be_so(tb: Run, root: Path) -> None:
    said = " ".join(happened(tb, root, *FULL).out.split())
    assert said.count("2100 psi, as given by whoever recorded the incident") == 2
    assert "3000 psi, NOT given: as last recorded, 2026-11-24" in said
    assert "bank B1: 4100 psi, NOT given: as last recorded, 2026-11-23" in said
    assert (
        "from 500 psi, to 3000 psi, air, analysis not said, source B1, position P1, by MV" in said
    )


def test_what_is_recorded_later_is_not_on_the_sheet(tb: Run, root: Path) -> None:
    assert "1200 psi" not in happened(tb, root, *FULL).out
    sheet = tb("incidents", "2026-11-24", "--on", ON, "--ledger", root).out
    tb("reading", "14=900", "--at", "08:00", "--by", "MV", "--on", ON, "--ledger", root)
    tb("release", "14", "--why", "looked at", "--by", "MV", "--on", ON, "--ledger", root)
    assert tb("incidents", "2026-11-24", "--on", ON, "--ledger", root).out == sheet
    assert "in-service" in sheet
    assert max(map(len, sheet.splitlines())) <= 80


def test_without_an_hour_the_whole_day_is_known(tb: Run, root: Path) -> None:
    ran = happened(tb, root, "hiss at the neck", "15")
    assert "the end of that day" in " ".join(ran.out.split())
    held = happened(tb, root, "hiss at the neck", "14")  # it was filled that day
    assert held.code == 0, held.out
    assert "at 09:30, and nobody says which came first" in " ".join(held.out.split())
    assert 'at: "09:3' in (root / "cylinders/RB-014.yaml").read_text()
    assert "at: " not in (root / "counter.yaml").read_text().replace("by: MV, what", "")
    found = tb("validate", "--on", ON, "--ledger", root).out
    assert "filled-while" not in found


def test_a_hold_of_it_is_let_go_by_name(tb: Run, root: Path) -> None:
    happened(tb, root, *FULL)
    words = ("release", "14", "--why", "valve changed, nothing found", "--by", "MV", "--on", ON)
    assert tb(*words, "--ledger", root).code == 0
    card = (root / "cylinders/RB-014.yaml").read_text()
    assert "released_why: valve changed, nothing found" in " ".join(card.replace('"', "").split())
    assert "held" in tb("may-fill", "RB-031", "--on", ON, "--ledger", root).first


def test_every_reason_is_told_at_once_and_nothing_is_written(tb: Run, root: Path) -> None:
    before = written(root)
    ran = happened(
        tb, root, "burst\x1b[2J", "14", "ZZ-9", "YY-8", "--whip", "W7", "--bank", "B9", "--at",
        "25:00", "--reading", "15=2100", "--reading", "14=much", "--told", "a\nb", "--pdf", "x.pdf",
    )  # fmt: skip
    assert ran.code == 1
    said = " ".join(ran.out.split())
    parts = ("ZZ-9", "YY-8", "W7", "B9", "25:00", "RB-015", "much", "--told", "plain text")
    assert [p for p in parts if p not in said] == []
    assert "\x1b" not in ran.out
    assert written(root) == before
    assert not Path("x.pdf").exists()


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("",), "what happened is not said"),
        (("x" * 501,), "longer than 500"),
        (("burst", "--reading", "2100"), "says no reading"),
        (("burst", "DB-02", "--reading", "DB-02=1", "--reading", "31=2"), "read twice"),
        (("burst", "--saw", "\u202eMV"), "--saw"),
        (("burst", "--other", "null"), "--other"),
    ],
)
def test_what_cannot_be_recorded_is_not(
    tb: Run, root: Path, words: tuple[str, ...], why: str
) -> None:
    before = written(root)
    ran = happened(tb, root, *words)
    assert ran.code == 1
    assert why in " ".join(ran.out.split())
    assert written(root) == before


def test_one_that_names_nothing_here_is_recorded_and_holds_nothing(tb: Run, root: Path) -> None:
    ran = happened(tb, root, "a guest fell on the ramp", "--place", "ramp")
    assert ran.code == 0
    assert "nothing is held by it" in " ".join(ran.out.split())
    assert happened(tb, root, "a guest fell on the ramp", "--place", "ramp").code in {0, 1}
    listed = tb("incidents", "--json", "--on", ON, "--ledger", root).json
    assert [i["what"] for i in listed] == ["a guest fell on the ramp"]


def test_a_dry_run_writes_nothing_and_shows_the_sheet(tb: Run, root: Path) -> None:
    before = written(root)
    ran = happened(tb, root, *FULL, "--dry-run")
    assert ran.first.startswith("Dry run, nothing was written")
    assert "INCIDENT SHEET" in ran.out
    assert written(root) == before
    got = happened(tb, root, *FULL, "--dry-run", "--json", "--pdf", "dry.pdf").json
    assert (got["act"], got["recorded"]) == ("incident", False)
    assert not Path("dry.pdf").exists()


def test_the_sheet_is_one_page_of_paper(tb: Run, root: Path, tmp_path: Path) -> None:
    file = tmp_path / "sheet.pdf"
    ran = happened(tb, root, *FULL, "--pdf", str(file))
    assert ran.code == 0
    text = " ".join(pdf.text_of(file.read_bytes()).split())
    assert len(pdf.opened(file.read_bytes())) == 1
    for each in ("Help people first", "whip W1 burst", "K118232", "serial X, blue steel", "signed"):
        assert each in text
    again = tmp_path / "again.pdf"
    assert tb("incidents", "2026-11-24", "--pdf", again, "--ledger", root).code == 0
    assert again.read_bytes() == file.read_bytes()


def test_what_cannot_be_printed_is_a_line_to_write_on_and_all_is_recorded(
    tb: Run, root: Path
) -> None:
    """Where a hose burst nobody is to be kept from writing it down by the letters of a name."""
    before = written(root)
    ran = happened(tb, root, "\u05e9\u05dc\u05d5\u05dd", "14", "--at", "16:30", "--pdf", "x.pdf")
    assert ran.code == 0
    assert re.search(r"counter\.yaml:\d+:\d+: what: ", ran.out)
    assert "a line to write on stands there" in " ".join(ran.out.split())
    assert written(root) != before


def test_a_formula_is_no_formula_in_a_spreadsheet(tb: Run, root: Path) -> None:
    assert happened(tb, root, "=HYPERLINK(1)", "--other", "+cmd").code == 0
    got = tb("incidents", "--csv", "--on", ON, "--ledger", root).out
    assert '"\'=HYPERLINK(1)"' in got
    assert '"\'+cmd"' in got


def test_several_of_a_day_are_told_apart(tb: Run, root: Path) -> None:
    happened(tb, root, "hiss", "15")
    happened(tb, root, "a fall", "--at", "10:00")
    ran = tb("incidents", "2026-11-24", "--on", ON, "--ledger", root)
    assert (ran.code, "2026-11-24#2" in ran.err) == (2, True)
    assert "a fall" in tb("incidents", "2026-11-24#2", "--on", ON, "--ledger", root).first
    assert tb("incidents", "2026-11-24#3", "--on", ON, "--ledger", root).code == 2
    assert tb("incidents", "yesterday", "--on", ON, "--ledger", root).code == 2
    before = tb("incidents", "--on", "2026-11-23", "--ledger", root)
    assert before.first == "No incident is on record"


def test_one_that_is_sold_is_named_and_not_held(tb: Run, root: Path) -> None:
    card = root / "cylinders/RB-015.yaml"
    sold = "handed_over: [{on: 2026-10-01, by: MV, to: C-1}]\n"
    card.write_text(card.read_text().replace("status: in-service", "status: sold") + sold)
    ran = happened(tb, root, "vented at home", "15")
    assert ran.code == 0, ran.out + ran.err
    assert "RB-015 is sold: it was not held" in " ".join(ran.out.split())
    assert "held:" not in card.read_text()


def test_history_shows_it_of_each_cylinder_struck_out_or_not(tb: Run, root: Path) -> None:
    happened(tb, root, *FULL)
    for id_ in ("RB-014", "RB-032", "DB-02"):
        life = " ".join(tb("history", id_, "--ledger", root).out.split())
        assert "incidents: whip W1 burst" in life
    assert "incidents:" not in tb("history", "RB-015", "--ledger", root).out
    words = ("correct", "counter", "incidents", "2026-11-24", "--why", "it was W2", "--by", "MV")
    ran = tb(*words, "--on", ON, "--ledger", root)
    assert ran.code == 0, ran.out + ran.err
    life = " ".join(tb("history", "RB-014", "--ledger", root).out.split())
    assert "STRUCK OUT (it was W2; MV, 2026-11-25) incidents: MV whip W1 burst" in life
    assert tb("may-fill", "RB-014", "--on", ON, "--ledger", root).code == 1
    assert tb("incidents", "2026-11-24", "--ledger", root).first.startswith("STRUCK OUT")
    assert tb("incidents", "--ledger", root).first == "0 incidents on record"


def test_one_that_is_removed_later_is_told(tb: Run, root: Path) -> None:
    repo = Repo(root)
    repo.git("init", "-q")
    happened(tb, root, "a fall", "15")
    repo.commit("first")
    (root / "counter.yaml").write_text("stolen: []\n")
    repo.commit("tidied")
    ran = tb("audit", "--ledger", root)
    assert ran.code == 1
    assert "a fall" in " ".join(ran.out.split())


@pytest.mark.parametrize(
    ("saw", "said", "noted"),
    [
        ("MV", "MV (one of the people here)", False),
        ("mv", "mv (one of the people here)", False),
        ("MV, mv", "MV (one of the people here); mv (one of the people here)", False),
        ("MV, KD", "MV, KD (none of the people here)", True),
        ("KD", "KD (none of the people here)", True),
        ("B-4471", "B-4471 (none of the people here)", True),
        ("John Smith", "John Smith (none of the people here)", True),
    ],
)
def test_who_saw_it_is_kept_as_said_and_taken_for_nobody_here(
    tb: Run, root: Path, saw: str, said: str, noted: bool
) -> None:
    seen = 'saw: ["MV, KD"]' if saw == "MV, KD" else f"saw: [{saw}]"
    ran = happened(tb, root, "it vented", "14", "--saw", saw)
    assert ran.code == 0, ran.out + ran.err
    text = " ".join(ran.out.split())
    assert f"saw it {said}" in text
    assert ("none of the people of tankbook.yaml, and kept as it was said" in text) is noted
    assert ("reads like a name" in text) is (saw in {"John Smith", "MV, KD"})
    assert seen in (root / "counter.yaml").read_text()
    again = " ".join(tb("incidents", "2026-11-24", "--on", ON, "--ledger", root).out.split())
    assert f"saw it {said}" in again


def test_whoever_had_left_by_then_is_none_of_the_people(tb: Run, root: Path) -> None:
    settings = root / "tankbook.yaml"
    left = "people:\n  JW: {role: bench, left: 2026-09-06}\n"
    settings.write_text(settings.read_text().replace("people:\n", left))
    ran = happened(tb, root, "it vented", "14", "--saw", "JW")
    assert "JW (none of the people here)" in " ".join(ran.out.split())


def test_what_is_none_of_the_ledgers_is_said_in_words(tb: Run, root: Path) -> None:
    ran = happened(tb, root, "it vented", "QQ")
    assert (ran.code, "said in words: --other" in " ".join(ran.out.split())) == (1, True)


def test_a_long_telling_is_short_in_the_heading_and_whole_below(tb: Run, root: Path) -> None:
    what = "the whip let go and hit the wall " * 9
    out = happened(tb, root, what.strip(), "14", "--at", "16:30").out
    head = out[out.index("INCIDENT SHEET") :].split("\n\n")[0]
    assert re.search(r" (the|whip|let|go|and|hit|wall)\.\.\.$", " ".join(head.split()))  # a word
    assert len(head) < 200
    assert what.strip() in " ".join(out[out.index("First (") :].split())


def test_what_went_into_the_other_side_is_among_the_last_fills(tb: Run, root: Path) -> None:
    log = root / "fills/2026.csv"
    fill = "2026-11-23T09:30:00+01:00,RB-031,fill,0 psi,3000 psi,,air,,,MV,,B1,,,,"
    log.write_text("\n".join([*log.read_text().splitlines(), fill]) + "\n")
    out = " ".join(happened(tb, root, "it vented", "RB-032", "--at", "16:30").out.split())
    assert "source B1, by MV, of RB-031 beside it" in out


def test_the_sheet_says_of_all_that_is_named_whether_it_was_set_aside(
    tb: Run, root: Path, tmp_path: Path
) -> None:
    card = root / "cylinders/RB-015.yaml"
    sold = "handed_over: [{on: 2026-10-01, by: MV, to: C-1}]\n"
    card.write_text(card.read_text().replace("status: in-service", "status: sold") + sold)
    first = happened(tb, root, *FULL, "15", "--pdf", "i.pdf")
    assert first.code == 0, first.out + first.err
    again = tb("incidents", "2026-11-24", "--on", ON, "--ledger", root)
    expected = {
        "RB-014": "held",
        "RB-031": "held",
        "RB-032": "held",
        "RB-015": "NOT held, as it had left: whoever has it is to be told",
        "bank B1": "out of use",
        "whip W1": "out of use",
        "position P2": "out of use",
        "serial X, blue steel 12 L": "not in the ledger: set it aside by hand",
    }
    data = tb("incidents", "2026-11-24", "--json", "--on", ON, "--ledger", root).json
    assert {each["name"]: each["said"] for each in data["set_aside"]} == expected
    on_paper = " ".join(pdf.text_of((tmp_path / "i.pdf").read_bytes()).split())
    for text in (on_paper, " ".join(again.out.split())):
        part = text.split("set aside")[1].split("Cylinder RB-014")[0]
        for said in (
            "RB-014, RB-031, RB-032: held;",
            "RB-015: NOT held, as it had left",
            "whip W1",
            ": out of use;",
            "serial X, blue steel 12 L: not in the ledger",
        ):
            assert said in part, said
    page = tb("incidents", "2026-11-24", "--html", "i.html", "--on", ON, "--ledger", root)
    assert page.code == 0, page.err
    assert (
        '<th scope="row">set aside</th><td>RB-014, RB-031, RB-032: held;'
        in (tmp_path / "i.html").read_text()
    )


def test_what_is_let_go_later_was_set_aside_all_the_same(tb: Run, root: Path) -> None:
    happened(tb, root, "whip W1 burst", "14", "--whip", "W1")
    before = tb("incidents", "2026-11-24", "--on", ON, "--ledger", root).out
    let_go = tb("release", "14", "--why", "looked at", "--by", "MV", "--on", ON, "--ledger", root)
    mended = tb(
        "station",
        "whip",
        "W1",
        "--repaired",
        "new hose",
        "--by",
        "MV",
        "--on",
        ON,
        "--ledger",
        root,
    )
    assert (let_go.code, mended.code) == (0, 0), let_go.out + mended.out
    assert tb("incidents", "2026-11-24", "--on", ON, "--ledger", root).out == before


SHUT = (
    "cylinders: [RB-031, RB-032]\nmanifold: isolation manifold, 3300 psi\nrating: 3300 psi\n"
    "isolator: shut\nisolator_since: {}\n"
)
BOXES = "isolator found open [ ] shut [ ]"


@pytest.mark.parametrize(
    ("ids", "since", "cylinders", "isolator"),
    [
        (("DB-02",), "2026-11-20", "RB-031, RB-032 ", "shut, as on record since 2026-11-20"),
        (("31", "32"), "2026-11-20", "RB-031, RB-032 ", "shut, as on record since 2026-11-20"),
        (
            ("31",),
            "2026-11-20",
            "RB-031, RB-032 (not named in the incident) ",
            "shut, as on record",
        ),
        (("DB-02",), "2026-11-24", "RB-031, RB-032 ", "2026-11-24; at what hour of that day"),
        (("DB-02",), "2026-11-25", "RB-031, RB-032 ", "how it stood is not on record"),
    ],
)
def test_the_set_that_a_cylinder_stood_in_is_kept_and_printed_again(
    tb: Run, root: Path, tmp_path: Path, ids: tuple[str, ...], since: str, cylinders: str,
    isolator: str,
) -> None:  # fmt: skip
    card = root / "sets/DB-02.yaml"
    card.write_text(SHUT.format(since))
    first = tmp_path / "i.pdf"
    words = ("isolator leak", *ids, "--at", "11:00", "--reading", "RB-031=900")
    assert happened(tb, root, *words, "--pdf", first).code == 0
    asked = ("incidents", "2026-11-24", "--on", ON, "--ledger", root)
    again = tb(*asked).out
    card.write_text(SHUT.format(since).replace("shut", "open").replace("3300", "2640"))
    assert tb(*asked).out == again  # whatever becomes of the set
    for text in (pdf.text_of(first.read_bytes()), again):
        said = " ".join(text.split())
        assert said.count("Set DB-02: ") == 1
        told = said.split("Set DB-02: ")[1].split("Cylinder RB-031")[0]
        assert told.startswith(
            f"{cylinders}manifold isolation manifold, 3300 psi; rated 3300 psi isolator"
        )
        assert isolator in told
        assert BOXES in told
        assert said.count("in set DB-02") == said.count("Cylinder RB-03")
    kept = tb(*asked, "--json").json["cylinders"]
    known = {"isolator": "shut", "isolator_since": since} if since <= "2026-11-24" else {}
    doubles = {
        "id": "DB-02", "cylinders": ["RB-031", "RB-032"], "rating": "3300 psi",
        "manifold": "isolation manifold, 3300 psi", **known,
    }  # fmt: skip
    assert [each["sets"] for each in kept] == [[doubles]] * len(kept)


def test_what_was_recorded_without_its_set_reads_as_it_did(tb: Run, root: Path) -> None:
    old = (
        "incidents:\n  - {on: 2026-11-24, by: MV, what: it vented, cylinders: [{id: RB-031}, "
        "{id: RB-032}]}\n"
    )
    (root / "counter.yaml").write_text(old)
    ran = tb("incidents", "2026-11-24", "--on", ON, "--ledger", root)
    assert (ran.code, "Cylinder RB-032" in ran.out, "Set " in ran.out) == (0, True, False)


def test_a_manifold_without_isolator_has_no_boxes_for_one(tb: Run, root: Path) -> None:
    (root / "sets/DB-02.yaml").write_text("cylinders: [RB-031, RB-032]\nisolator: none\n")
    said = " ".join(happened(tb, root, "it vented", "DB-02", "--at", "11:00").out.split())
    assert "isolator it has none, as on record" in said
    assert BOXES not in said


def test_the_list_names_a_set_whose_cylinders_are_all_named(tb: Run, root: Path) -> None:
    happened(tb, root, "it vented", "DB-02", "--at", "11:00")
    happened(tb, root, "it hissed", "31", "--at", "12:00")
    rows = tb("incidents", "--json", "--on", ON, "--ledger", root).json
    assert [row["named"] for row in rows] == ["RB-031, RB-032, set DB-02", "RB-031"]


@pytest.mark.parametrize("letters", range(300, 500, 20))
def test_signatures_stand_on_one_page_with_what_else_is_written_by_hand(
    tb: Run, root: Path, tmp_path: Path, letters: int
) -> None:
    """However long the tale before them."""
    file = tmp_path / "i.pdf"
    what = ("the whip let go and hit the wall; " * 15)[:letters].strip()
    ran = happened(tb, root, what, *FULL[1:], "--note", "n " * 240, "--pdf", file)
    assert ran.code == 0, ran.out + ran.err
    pages = [" ".join(page.get_textpage().get_text_range().split())
             for page in pdf.opened(file.read_bytes())]  # fmt: skip
    for each in ("By hand", "there were", "reported to", "kept where", "signed __", "seen by __"):
        assert [each in page for page in pages].index(True) == len(pages) - 1


def test_one_gauge_of_a_set_that_is_shut_apart_tells_nothing_of_its_other_side(
    tb: Run, root: Path
) -> None:
    (root / "sets/DB-02.yaml").write_text(SHUT.format("2026-11-20"))
    before = written(root)
    ran = happened(tb, root, "it vented", "DB-02", "--at", "11:00", "--reading", "DB-02=900")
    said = " ".join(ran.out.split())
    why = "--reading DB-02: its isolator is shut, and a gauge shows one side: name RB-031 and RB-03"
    assert (ran.code, why in said, written(root) == before) == (1, True, True)
    words = ("DB-02", "--at", "11:00", "--reading", "RB-031=900")  # as it says
    ran = happened(tb, root, "it vented", *words)
    assert (ran.code, ran.out.count("900 psi, as given")) == (0, 1)


@pytest.mark.parametrize(
    ("second", "known"),
    [
        (FULL, True),
        (("whip W1 burst", "14", "DB-02", "--whip", "W1", "--at", "16:30"), True),
        (("whip W1 burst", "--whip", "W1"), True),  # fewer, and no hour
        (("Whip W1 burst!",), True),
        (("whip  w1 burst", "14", "15", "--at", "16:30", "--told", "the owner"), True),
        (("whip W1 burst", "14", "--at", "17:30"), False),  # another hour
        (("whip W1 burst at the cuff", "14"), False),
        (("whip W1 burst", "15"), False),  # another cylinder
    ],
)
def test_what_is_typed_again_is_asked_about(
    tb: Run, root: Path, second: tuple[str, ...], known: bool
) -> None:
    """One record of one incident, however much of it is typed the second time; more of it, or that
    it happened once more, is recorded where that is said."""
    assert happened(tb, root, *FULL).code == 0
    before = written(root)
    got = happened(tb, root, *second)
    assert (got.code == 1) is known, got.out
    if not known:
        return
    told = " ".join(got.out.split())
    assert "is on record already (`tankbook incidents 2026-11-24`)" in told
    assert written(root) == before
    assert happened(tb, root, *second, "--again").code == 0
    listed = tb("incidents", "--on", ON, "--ledger", root, "--json").json
    assert len(listed) == 2


def test_of_two_of_a_day_the_one_that_is_meant_is_named(tb: Run, root: Path) -> None:
    for words in (("whip W1 burst", "14"), ("fell over", "15")):
        assert happened(tb, root, *words).code == 0
    got = happened(tb, root, "fell over")
    assert (got.code, "`tankbook incidents 2026-11-24#2`" in " ".join(got.out.split())) == (1, True)
    assert tb("incidents", "2026-11-24#2", "--on", ON, "--ledger", root).code == 0
    strike = ("correct", "counter", "incidents", "2026-11-24#2", "--why", "it was another day")
    assert tb(*strike, "--by", "MV", "--on", ON, "--ledger", root).code == 0
    assert happened(tb, root, "fell over").code == 0  # what is struck out asks nothing


SAME = (
    line("2026-11-20T09:00:00+01:00", cylinder="RB-015", source="B1", **{"from": "500 psi"}),
    line("2026-11-24T09:00:00+01:00", cylinder="RB-015", source="B1", **{"from": "500 psi"}),
    line(
        "2026-11-24T09:10:00+01:00",
        cylinder="RB-031",
        source="elsewhere: Quay",
        **{"from": "500 psi"},
    ),
    line("2026-11-24T09:20:00+01:00", cylinder="RB-014", source="B1", **{"from": "500 psi"}),
)


@pytest.mark.parametrize(
    ("what", "named", "source", "others"),
    [
        ("diver sick", ("14",), "B1", "RB-015"),
        ("diver sick", ("15",), "B1", "RB-014"),
        ("it smells of oil", ("--bank", "B1"), "B1", "RB-014 RB-015"),
        ("diver sick", ("31",), "", ""),
        ("valve knob broken", ("14",), "", ""),
    ],
)
def test_whoever_got_the_same_gas_is_told_with_the_recall_that_finds_them(
    tb: Run, root: Path, what: str, named: tuple[str, ...], source: str, others: str
) -> None:
    log = root / "fills" / "2026.csv"
    log.write_text("\n".join((HEADER, *SAME, "")))
    said = " ".join(happened(tb, root, what, *named, on=ON).out.split())
    found = re.search(r"gas of (\S+) of .* went into: (.*?); `tankbook (recall [^`]*)`", said)
    assert (found is not None) is bool(source)
    if found is None:
        return
    assert found[1] == source
    assert re.findall(r"RB-\d+", found[2]) == others.split()
    ran = tb(*found[3].split(), "--json", "--on", ON, "--ledger", root)
    assert ran.code == 0
    ids = {each["id"] for each in ran.json["cylinders"]}
    assert {*others.split()} <= ids


@pytest.mark.parametrize("what", ["fire in the shed", "a cylinder burst", "whip let go"])
def test_what_names_nothing_says_plainly_that_nothing_is_held(
    tb: Run, root: Path, what: str
) -> None:
    """And the same words with what was near them are recorded as it says."""
    ran = happened(tb, root, what, "--place", "shed")
    said = " ".join(ran.out.split())
    assert "WARNING: it names no cylinder, whip, position, bank or machine of the ledger" in said
    assert "set aside NOTHING" in said
    again = happened(tb, root, what, "--place", "shed", "14", "--whip", "W1", "--again")
    assert again.code == 0
    assert "held RB-014, whip W1" in again.out
    assert "WARNING: it names no cylinder" not in " ".join(again.out.split())


@pytest.mark.parametrize(("what", "told"), [("diver sick", True), ("valve knob broken", False)])
def test_the_gas_of_what_is_held_for_a_sick_diver_is_not_let_out_without_a_word(
    tb: Run, root: Path, what: str, told: bool
) -> None:
    happened(tb, root, what, "14")
    ran = tb("drain", "14=0", "--by", "MV", "--on", ON, "--at", "14:30", "--ledger", root)
    assert ran.code == 0
    said = " ".join(ran.out.split())
    assert ("WARNING: RB-014 is held for the incident of 2026-11-24" in said) is told
    again = " ".join(
        tb(
            "drain", "RB-015=0", "--by", "MV", "--on", ON, "--at", "14:30", "--ledger", root
        ).out.split()
    )
    assert "keep its gas for analysis" not in again


PUMP = "compressor: {name: C1, hours: [{on: 2026-11-23, reads: 400 h}]}\n"
PASSED = (
    "air-test", "--by", "Lab", "--standard", "cga-grade-e", "--source", "C1", "--oxygen", "20.9",
    "--co", "1ppm", "--co2", "400ppm", "--oil", "0.1mg/m3", "--hydrocarbons", "3ppm", "--odour",
    "none",
)  # fmt: skip


def test_a_compressor_that_an_incident_names_is_out_until_a_later_sample_passes(
    tb: Run, root: Path
) -> None:
    place = root / "station.yaml"
    place.write_text(place.read_text() + PUMP)
    at = ("--ledger", root)
    tb("station", *PASSED, "--on", "2026-11-23", *at)
    ran = happened(tb, root, "smoke and fire", "--compressor", "c1", "--at", "10:00")
    said = " ".join(ran.out.split())
    assert ran.code == 0
    assert "held compressor C1" in said
    assert "set aside compressor C1: out of use" in said
    assert "its meter read 400 h on 2026-11-23" in said
    out = "compressor C1 is named in the incident of 2026-11-24: smoke and fire"
    assert out in " ".join(tb("station", "--on", ON, *at).out.split())
    raised = tb(
        "station", "raise", "B1", "--to", "4300", "--source", "C1", "--by", "MV", "--on", ON, *at
    )
    assert f"WARNING: {out}" in " ".join(raised.out.split())
    filled = ("fill", "15", "--from", "500", "--to", "2900", "--looked", "--by", "MV", "--on", ON)
    fill = tb(*filled, "--at", "14:30", "--source", "C1", "--dry-run", *at)
    assert fill.code == 1
    assert out in " ".join(fill.out.split())
    # one of before it, or of its own day without its hour, proves nothing
    for day, hour, opens in (("2026-11-24", (), False), ("2026-11-25", (), True)):
        assert tb("station", *PASSED, "--on", day, *hour, *at).code == 0
        assert (out not in " ".join(tb("station", "--on", ON, *at).out.split())) is opens
    # and the air says nothing of what burnt
    now = " ".join(tb("station", "--on", "2026-11-25", *at).out.split())
    assert "compressor C1 failed its check of 2026-11-24: incident of 2026-11-24" in now


MACHINES = PUMP + "boosters:\n  - {name: BO1, from: [B1]}\n"


def test_a_machine_is_out_until_somebody_says_what_was_found_and_its_air_is_sampled_after(
    tb: Run, root: Path
) -> None:
    place = root / "station.yaml"
    place.write_text(place.read_text() + MACHINES)
    at = ("--ledger", root)

    def out(day: str) -> set[str]:
        data = json.loads(tb("station", "--json", "--on", day, *at).out)
        return {
            r["text"].removeprefix("out of use: ").split(":")[0]
            for r in data["reasons"]
            if "incident" in r["text"]
        }

    tb("station", *PASSED, "--on", "2026-11-23", *at)
    ran = happened(tb, root, "smoke", "--compressor", "C1", "--compressor", "bo1", "--at", "10:00")
    assert ran.code == 0
    assert "compressor C1, booster BO1: out of use" in " ".join(ran.out.split())
    named = "compressor C1 is named in the incident of 2026-11-24"
    failed = "booster BO1 failed its check of 2026-11-24"
    assert out("2026-11-24") == {named, failed}
    tb("station", *PASSED, "--on", "2026-11-25", *at)  # before anybody looked at it
    repaired = ("--repaired", "oil drained, intake moved", "--by", "MV", "--on", "2026-11-26")
    for name in ("C1", "bo1"):
        done = tb("station", "machine", name, *repaired, *at)
        assert done.code == 0, done.out
    assert out("2026-11-26") == {named}
    said = " ".join(tb("station", "--on", "2026-11-26", *at).out.split())
    assert "until a sample of it passes: `tankbook station air-test --source C1`" in said
    tb("station", *PASSED, "--on", "2026-11-27", *at)
    assert out("2026-11-27") == set()


def test_a_position_that_an_incident_names_takes_its_whip_with_it(tb: Run, root: Path) -> None:
    place = root / "station.yaml"
    whips = "whips: [{name: W7}]\n" if "whips:" not in place.read_text() else ""
    text = place.read_text().replace(
        "positions:\n", "positions:\n  - {name: P9, kind: whip, whip: W7}\n"
    )
    text = text.replace("whips:\n", "whips:\n  - {name: W7}\n") + whips
    place.write_text(text)
    ran = happened(tb, root, "hose let go", "--position", "P9")
    assert ran.code == 0, ran.out
    assert "set aside whip W7, position P9: out of use" in " ".join(ran.out.split())
    tb(
        "station",
        "position",
        "P9",
        "--repaired",
        "seal",
        "--by",
        "MV",
        "--on",
        ON,
        "--ledger",
        root,
    )
    said = " ".join(tb("station", "--on", ON, "--ledger", root).out.split())
    assert "whip W7 failed its check of 2026-11-24: incident of 2026-11-24: hose let go" in said


@pytest.mark.parametrize("name", ["C7", "B1"])
def test_a_compressor_that_is_none_is_refused(tb: Run, root: Path, name: str) -> None:
    place = root / "station.yaml"
    place.write_text(place.read_text() + PUMP)
    ran = happened(tb, root, "smoke", "--compressor", name)
    assert ran.code == 1
    assert f"--compressor: {name} is not in station.yaml (there is: C1)" in ran.out


def test_what_failed_stands_in_due_and_the_bank_goes_back_by_the_line_that_is_printed(
    tb: Run, root: Path
) -> None:
    place = root / "station.yaml"
    place.write_text(place.read_text() + MACHINES)
    at = ("--on", ON, "--ledger", root)
    ran = happened(tb, root, "whip burst", "--bank", "B1", "--position", "P2", "--at", "10:30")
    said = " ".join(ran.out.split())
    line = (
        "`tankbook station bank-look B1 --decided WHAT` (that day with its hour, after 10:30: --at)"
    )
    assert line in said
    tb("station", "machine", "C1", "--fail", "leaks oil", "--by", "MV", *at)
    failed = {i["id"] for i in tb("due", "--json", *at).json if i.get("failed")}
    assert {"P2", "C1", "B1"} <= failed
    look = ("station", "bank-look", "B1", "--decided", "sound", "--by", "MV")
    ran = tb(*look, "--at", "11:00", *at)
    assert ran.code == 0, ran.out
    tb("station", "machine", "C1", "--repaired", "new gasket", "--by", "MV", *at)
    failed = {i["id"] for i in tb("due", "--json", *at).json if i.get("failed")}
    assert "P2" in failed
    assert not {"C1", "B1"} & failed
