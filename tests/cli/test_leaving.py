"""Gas that is not air, as it leaves by a rental, a hand-over or a collection."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pdf as paper
import pytest
from books import with_lines

Run = Callable[..., Any]
ON = "2026-11-25"
HEADER = (
    "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,"
    "note\n"
)
FILL = "2026-11-24T0{}:30:00+01:00,{},fill,0 psi,3000 psi,70 degF,{},,MV,{},B1,,,,\n"
USER = ("--analysed", "31.8", "--depth", "33m", "--user", "RT")
SEEN = ("--certified", "nitrox", "--card", "card 40171")
SALE = {
    "use": "sale",
    "inspected": "[{on: 2026-11-20, by: MV, checklist: new, result: pass, sticker: issued}]",
}
JOB = {
    "use": "customer",
    "owner": "C-0192",
    "status": "awaiting-collection",
    "jobs": "[{on: 2026-11-23, work: [fill], ready: 2026-11-24}]",
}
ACTS = {
    "rented": ("rent", "A", "--to", "C-0192"),
    "handed_over": ("hand-over", "A", "--to", "C-0192"),
    "jobs": ("jobs", "collect", "A"),
}


def card(serial: str, **changes: str) -> str:
    made = books.GOOD.replace("K118204", serial).replace("service: air", "service: nitrox")
    cleaned = "[{on: 2026-03-09, by: MV, to: nitrox}]"
    return books.stamped(with_lines(made, cleaned=cleaned, **changes))


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    """A, B of nitrox32 and C of air."""
    root = tmp_path / "quay"
    for name in ("cylinders", "fills"):
        (root / name).mkdir(parents=True)
    (root / "tankbook.yaml").write_text(books.SETTINGS)
    (root / "station.yaml").write_text(books.STATION)
    rows = [("A", "nitrox32,32.1 %", "MV"), ("B", "nitrox32,31.9 %", "MV"), ("C", "air,", "")]
    lines = (FILL.format(n, id_, gas, by) for n, (id_, gas, by) in enumerate(rows))
    (root / "fills" / "2026.csv").write_text(HEADER + "".join(lines))
    for id_ in "AB":
        (root / "cylinders" / f"{id_}.yaml").write_text(card(f"K11820{ord(id_) - 60}"))
    (root / "cylinders" / "C.yaml").write_text(books.GOOD)
    return root


def kind(quay: Path, act: str) -> None:
    """Make A one that leaves by an act."""
    changes = {"rented": {}, "handed_over": SALE, "jobs": JOB}[act]
    (quay / "cylinders" / "A.yaml").write_text(card("K118205", **changes))


def do(tb: Run, quay: Path, *line: str) -> Any:
    return tb(*line, "--by", "MV", "--on", ON, "--ledger", quay)


def said(got: Any) -> str:
    return " ".join((got.out + got.err).split())


@pytest.mark.parametrize("act", ACTS)
def test_each_act_by_which_it_leaves_asks_the_same(tb: Run, quay: Path, act: str) -> None:
    kind(quay, act)
    before = (quay / "cylinders" / "A.yaml").read_text()
    bare = do(tb, quay, *ACTS[act])
    assert bare.code == 1
    assert "it holds nitrox32, and the user did not analyse it" in said(bare)
    assert "nobody saw that C-0192 is trained for nitrox" in said(bare)
    for wrong, why in (
        (("--analysed", "36", "--depth", "20m", "--user", "RT"), "logged as nitrox32"),
        (("--analysed", "31.8", "--depth", "50m", "--user", "RT"), "50 m is deeper than 34 m"),
        (("--analysed", "31.8", "--depth", "30m"), "did not write their initials"),
    ):
        got = do(tb, quay, *ACTS[act], *wrong, *SEEN)
        assert (got.code, why in said(got)) == (1, True), said(got)
    assert do(tb, quay, *ACTS[act], *USER, *SEEN, "--dry-run").code == 0
    assert (quay / "cylinders" / "A.yaml").read_text() == before
    assert not (quay / "counter.yaml").exists()
    assert do(tb, quay, *ACTS[act], *USER, *SEEN).code == 0
    assert (
        "analysed: {oxygen: 31.8 %, depth: 33 m, initials: RT}"
        in (quay / "cylinders" / "A.yaml").read_text()
    )
    assert (quay / "counter.yaml").read_text() == (
        "certified:\n  - {on: 2026-11-25, by: MV, reference: C-0192, level: nitrox, card: card 40171}\n"
    )
    assert "31.8 %" in tb("history", "A", "--ledger", quay, "--json").out
    assert tb("validate", "--on", ON, "--ledger", quay).code == 0


@pytest.mark.parametrize("act", ACTS)
def test_what_has_left_is_a_fact_with_what_was_missing(tb: Run, quay: Path, act: str) -> None:
    kind(quay, act)
    got = do(tb, quay, *ACTS[act], "--happened", "went with the boat")
    assert (got.code, got.first.startswith("Logged as a fact: ")) == (0, True)
    text = (quay / "cylinders" / "A.yaml").read_text()
    assert "went with the boat" in text
    assert "the user did not analyse it" in text
    assert "analysed:" not in text


@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize(
    "wrong", [(*SEEN[:2], "--card", "card\n40171"), (*SEEN, "--by", "M\nV")], ids=["card", "by"]
)
def test_what_cannot_be_written_is_refused_and_begins_no_file(
    tb: Run, quay: Path, act: str, wrong: tuple[str, ...]
) -> None:
    kind(quay, act)
    who = () if "--by" in wrong else ("--by", "MV")
    got = tb(*ACTS[act], *USER, *who, *wrong, "--on", ON, "--ledger", quay)
    assert (got.code, "is not one line of plain text" in said(got)) == (1, True), said(got)
    assert not (quay / "counter.yaml").exists()


def test_a_level_is_asked_once_and_another_reference_is_another_user(tb: Run, quay: Path) -> None:
    assert do(tb, quay, *ACTS["rented"], *USER, *SEEN).code == 0
    kept = (quay / "counter.yaml").read_text()
    other = ("rent", "B", "--to", "C-0193", *USER)
    assert "nobody saw that C-0193" in said(do(tb, quay, *other))
    assert do(tb, quay, "rent", "B", "--to", "C-0192", *USER, "--certified", "nitrox").code == 0
    assert (quay / "counter.yaml").read_text() == kept


def test_a_level_that_was_struck_out_counts_for_nothing(tb: Run, quay: Path) -> None:
    assert do(tb, quay, *ACTS["rented"], *USER, *SEEN).code == 0
    struck = do(tb, quay, "correct", "counter", "certified", ON, "--why", "another card")
    assert (struck.code, "is out to C-0192: see that they are trained" in said(struck)) == (0, True)
    got = do(tb, quay, "rent", "B", "--to", "C-0192", *USER)
    assert (got.code, "nobody saw that C-0192" in said(got)) == (1, True)


def test_several_leave_with_their_own_analysis_and_air_with_none(tb: Run, quay: Path) -> None:
    line = ("rent", "A", "B", "C", "--to", "C-0192", *SEEN, "--user", "RT")
    got = do(tb, quay, *line, "--analysed", "A=31.8", "--depth", "33m")
    assert "B: it holds nitrox32, and the user did not analyse it" in said(got)
    own = ("--analysed", "A=31.8", "--analysed", "B=32.2", "--depth", "A=30m", "--depth", "B=33m")
    assert do(tb, quay, *line, *own).code == 0
    assert "oxygen: 32.2 %, depth: 33 m" in (quay / "cylinders" / "B.yaml").read_text()
    assert "analysed" not in (quay / "cylinders" / "C.yaml").read_text()


def test_air_leaves_as_before(tb: Run, quay: Path) -> None:
    assert do(tb, quay, "rent", "C", "--to", "B-1").code == 0
    assert not (quay / "counter.yaml").exists()


def test_the_slip_says_what_the_buyer_analysed(tb: Run, quay: Path) -> None:
    kind(quay, "handed_over")
    got = do(tb, quay, *ACTS["handed_over"], *USER, *SEEN)
    assert "own analysis 31.8 % oxygen, to 33 m, RT, by who received it" in said(got)
    again = tb("slip", "A", "--on", ON, "--ledger", quay, "--json")
    assert again.json["analysed"]["depth"] == "33 m"


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (("--analysed", "31.8"), "names no cylinder"),
        (("--analysed", "C=31.8"), "C is none of those that leave"),
        (("--analysed", "A=31.8/70"), "comes to over 100 %"),
        (("--analysed", "A=1/2/3"), "is no analysis"),
        (("--analysed", "A=rich"), "--analysed"),
        (("--depth", "A=33m"), "A was not analysed"),
        (("--analysed", "A=31.8", "--depth", "B=33m"), "B was not analysed"),
        (("--analysed", "A=31.8", "--depth", "33"), "carries its unit"),
        (("--user", "RT"), "give --analysed too"),
        (("--card", "40171"), "give both"),
        (("--certified", "cave"), "known: nitrox, rich-nitrox, trimix"),
        (("--analysed", "A=31.8", "--user", "R\nT"), "user"),
    ],
)
def test_what_makes_no_sense_is_refused(
    tb: Run, quay: Path, line: tuple[str, ...], why: str
) -> None:
    got = do(tb, quay, "rent", "A", "B", "--to", "C-0192", *line)
    assert (got.code != 0, why in said(got)) == (True, True), said(got)
    assert not (quay / "counter.yaml").exists()


def test_a_name_is_no_reference_and_is_told_once(tb: Run, quay: Path) -> None:
    got = do(tb, quay, "rent", "A", "--to", "Jo Bloggs", *USER, *SEEN)
    assert (got.code, said(got).count("reads like a name")) == (1, 1)
    assert not (quay / "counter.yaml").exists()


def test_a_level_seen_on_a_later_day_does_not_count_yet(tb: Run, quay: Path) -> None:
    entry = "{on: 2026-11-26, by: MV, reference: C-0192, level: nitrox}"
    (quay / "counter.yaml").write_text(f"certified:\n  - {entry}\n")
    got = do(tb, quay, *ACTS["rented"], *USER)
    assert (got.code, "nobody saw that C-0192" in said(got)) == (1, True)


def test_collected_cylinders_of_two_owners_share_no_level(tb: Run, quay: Path) -> None:
    kind(quay, "jobs")
    other = card("K118206", **JOB | {"owner": "C-0193"})
    (quay / "cylinders" / "B.yaml").write_text(other)
    line = ("jobs", "collect", "A", "B", "--analysed", "A=31.8", "--analysed", "B=31.8")
    got = do(tb, quay, *line, "--depth", "33m", "--user", "RT", *SEEN)
    assert (got.code, "--certified is of one reference" in said(got)) == (1, True)


def test_a_counters_file_that_cannot_be_read_is_not_written(tb: Run, quay: Path) -> None:
    (quay / "counter.yaml").write_text("certified: [{on: 2026-11-25\n")
    got = do(tb, quay, *ACTS["rented"], *USER, *SEEN)
    assert got.code != 0
    assert (quay / "counter.yaml").read_text() == "certified: [{on: 2026-11-25\n"


# --- what nobody knows, and what is known to be bad

UNKNOWN = "2026-11-24T09:30:00+01:00,A,reading,,2000 psi,,,,,MV,,,,,,\n"
MIXED = (
    "2026-11-23T09:30:00+01:00,A,fill,0 psi,3000 psi,70 degF,nitrox32,32 %,,MV,MV,B1,,,,\n"
    "2026-11-24T09:30:00+01:00,A,fill,1500 psi,3000 psi,70 degF,air,,,MV,,B1,,,,\n"
)


@pytest.mark.parametrize("act", ["handed_over", "jobs"])
@pytest.mark.parametrize("lines", [UNKNOWN, MIXED], ids=["unknown", "mixed"])
def test_no_act_lets_a_gas_leave_that_nobody_knows(
    tb: Run, quay: Path, act: str, lines: str
) -> None:
    kind(quay, act)
    (quay / "fills" / "2026.csv").write_text(HEADER + lines)
    if act == "jobs":  # it was to be filled, and that is done
        assert "ready: 2026-11-24" in (quay / "cylinders" / "A.yaml").read_text()
    got = do(tb, quay, *ACTS[act])
    assert (got.code, "nobody knows what it holds" in said(got)) == (1, True), said(got)
    if lines is UNKNOWN:
        assert do(tb, quay, *ACTS[act], "--analysed", "31.8").code == 1
        assert do(tb, quay, *ACTS[act], *USER, *SEEN, "--dry-run").code == 0
    log = quay / "fills" / "2026.csv"
    log.write_text(log.read_text() + "2026-11-24T18:00:00+01:00,A,drain,,0 psi,,,,,MV,,,,,,\n")
    assert do(tb, quay, *ACTS[act]).code == 0


FAILED = """  - {on: 2026-11-20, by: Example Air Lab, standard: cga-grade-e, result: fail, oxygen: 20.9 %,
     co: 30 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm}
"""


@pytest.mark.parametrize("act", ACTS)
def test_no_act_lets_bad_air_leave(tb: Run, quay: Path, act: str) -> None:
    kind(quay, act)
    (quay / "station.yaml").write_text(books.STATION.rstrip() + "\n" + FAILED)
    text = (quay / "fills" / "2026.csv").read_text().replace("A,fill", "X,fill")
    text = text.replace("C,fill", "A,fill")
    (quay / "fills" / "2026.csv").write_text(text)
    got = do(tb, quay, *ACTS[act])
    assert (got.code, "the air test of 2026-11-20 failed" in said(got)) == (1, True), said(got)


@pytest.mark.parametrize("act", ACTS)
def test_each_act_tells_that_it_was_refused_before(tb: Run, quay: Path, act: str) -> None:
    kind(quay, act)
    entry = "{on: 2026-11-24, by: MV, serial: k-1182O5, reasons: [no sticker]}"
    (quay / "counter.yaml").write_text(f"refused:\n  - {entry}\n")
    got = do(tb, quay, *ACTS[act], *USER, *SEEN)
    assert (got.code, "no sticker; owner not told" in said(got)) == (0, True), said(got)


# --- what the user analysed, on paper


def printed(tb: Run, quay: Path, kind: str) -> str:
    got = tb("tags", "A", "--kind", kind, "--pdf", "tag.pdf", "--on", ON, "--ledger", quay)
    assert got.code == 0, got.out
    return " ".join(paper.text_of(Path("tag.pdf").read_bytes()).split())


def test_the_rental_tag_says_what_the_user_analysed_or_has_room_for_it(tb: Run, quay: Path) -> None:
    assert "user: oxygen % deepest initials" in printed(tb, quay, "rental")
    assert do(tb, quay, *ACTS["rented"], *USER, *SEEN).code == 0
    said_ = printed(tb, quay, "rental")
    assert "user analysed 31.8 % oxygen" in said_
    assert "deepest 33 m, RT" in said_
    hanging = tb("tags", "A", "--on", ON, "--ledger", quay).out
    assert "31.8 %" not in hanging  # of what was in it then: that is for the rental tag
    tag = tb("tags", "A", "--json", "--on", ON, "--ledger", quay).json[0]
    assert tag["user_analysed"] == {"oxygen": "31.8 %", "depth": "33 m", "initials": "RT"}
    assert do(tb, quay, "return", "A=500/closed", "--at", "16:00").code == 0
    assert tb("tags", "A", "--json", "--on", ON, "--ledger", quay).json[0]["user_analysed"] is None


def test_the_printed_slip_says_what_the_buyer_analysed(tb: Run, quay: Path) -> None:
    kind(quay, "handed_over")
    assert do(tb, quay, *ACTS["handed_over"], *USER, *SEEN).code == 0
    assert "analysed 31.8 % oxygen, to 33 m, RT, by who received it" in printed(tb, quay, "slip")


# --- a customer's that was filled with no work taken in

COLLECT = ("jobs", "collect", "A")
TODAY_TOO = (
    "2026-11-25T09:30:00+01:00,A,fill,500 psi,3000 psi,70 degF,nitrox32,32 %,,MV,MV,B1,,,,\n"
)


def own(quay: Path, owner: str = "C-0192") -> Path:
    card_ = quay / "cylinders" / "A.yaml"
    card_.write_text(card("K118205", use="customer", **({"owner": owner} if owner else {})))
    return card_


def test_it_is_asked_about_and_kept_as_the_fill_that_it_was(tb: Run, quay: Path) -> None:
    card_ = own(quay)
    got = do(tb, quay, *COLLECT)
    assert (got.code, "the user did not analyse it" in said(got)) == (1, True)
    assert do(tb, quay, *COLLECT, *USER, *SEEN).code == 0
    assert "{on: 2026-11-24, by: MV, work: [fill], reference: C-0192, ready: 2026-11-24" in (
        card_.read_text()
    )
    again = do(tb, quay, *COLLECT, *USER)
    assert (again.code, "A has no work in hand" in said(again)) == (1, True)
    assert tb("validate", "--on", ON, "--ledger", quay).code == 0


def test_a_second_fill_is_collected_by_itself(tb: Run, quay: Path) -> None:
    own(quay)
    assert do(tb, quay, *COLLECT, *USER, *SEEN).code == 0
    log = quay / "fills" / "2026.csv"
    log.write_text(log.read_text() + TODAY_TOO)
    assert do(tb, quay, *COLLECT).code == 1
    assert do(tb, quay, *COLLECT, *USER).code == 0
    log.write_text(log.read_text() + TODAY_TOO.replace("T09", "T11"))
    assert do(tb, quay, *COLLECT, *USER).code == 0
    assert do(tb, quay, *COLLECT, *USER).code == 1


def test_whose_it_is_is_said_where_nothing_does(tb: Run, quay: Path) -> None:
    card_ = own(quay, owner="")
    got = do(tb, quay, *COLLECT, *USER, *SEEN)
    assert (got.code, "--reference says whose" in said(got)) == (1, True)
    name = do(tb, quay, *COLLECT, *USER, *SEEN, "--reference", "Jo Bloggs")
    assert (name.code, "reads like a name" in said(name)) == (1, True)
    assert do(tb, quay, *COLLECT, *USER, *SEEN, "--reference", "C-7").code == 0
    assert "reference: C-7" in card_.read_text()
    own(quay)
    other = do(tb, quay, *COLLECT, *USER, *SEEN, "--reference", "C-7")
    assert (other.code, "A is C-0192's" in said(other)) == (1, True)


def test_a_fill_of_it_says_that_it_is_asked_about(tb: Run, quay: Path) -> None:
    own(quay)
    line = ("--to", "2900", "--from", "500", "--o2", "32", "--analysed-by", "MV", "--source", "B1")
    how = ("--gas", "nitrox32", *line, "--looked", "--at", "12:00", "--dry-run")
    assert "`tankbook jobs collect A --analysed" in said(do(tb, quay, "fill", "A", *how))
    (quay / "cylinders" / "A.yaml").write_text(card("K118205", **JOB))
    assert "jobs collect" not in said(do(tb, quay, "fill", "A", *how))


# --- who signed it


@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize(("user", "told"), [("RT", False), ("MV", True), ("mv", True)])
def test_initials_of_the_people_here_are_told(
    tb: Run, quay: Path, act: str, user: str, told: bool
) -> None:
    kind(quay, act)
    got = do(tb, quay, *ACTS[act], *USER[:4], "--user", user, *SEEN)
    assert got.code == 0
    assert (f"{user} is one of the people here" in said(got)) is told


@pytest.mark.parametrize(
    ("by", "on", "why"),
    [
        ("KD", "2026-11-01", "KD is not among the people"),
        ("JW", "2026-11-01", "JW had left by then"),
        ("JW", "2026-08-01", ""),
    ],
)
def test_what_nobody_here_saw_counts_for_nothing_and_that_is_told(
    tb: Run, quay: Path, by: str, on: str, why: str
) -> None:
    left = "people:\n  JW: {role: bench, left: 2026-09-06}\n"
    (quay / "tankbook.yaml").write_text(books.SETTINGS.replace("people:\n", left))
    entry = f"{{on: {on}, by: {by}, reference: C-0192, level: nitrox}}"
    (quay / "counter.yaml").write_text(f"certified:\n  - {entry}\n")
    assert do(tb, quay, *ACTS["rented"], *USER).code == (1 if why else 0)
    found = tb("validate", "--on", ON, "--ledger", quay).out
    assert ("[seen-by-nobody]" in found) is bool(why)
    assert why in found


@pytest.mark.parametrize(
    "read",
    [
        ("--analysed", "31.8", "--depth", "33m"),
        ("--analysed", "D=31.8", "--depth", "D=33m"),
        ("--analysed", "A=31.8", "--analysed", "B=31.8", "--depth", "33m"),
        ("--analysed", "D=31.8", "--analysed", "B=32", "--depth", "D=33m", "--depth", "B=33m"),
    ],
)
def test_what_is_analysed_of_doubles_is_of_both(tb: Run, quay: Path, read: tuple[str, ...]) -> None:
    for id_, serial in (("A", "K118205"), ("B", "K118206")):
        (quay / "cylinders" / f"{id_}.yaml").write_text(card(serial, **JOB))
    (quay / "sets").mkdir()
    doubles = "cylinders: [A, B]\nisolator: open\nmanifold: any\nrating: 4000 psi\nuse: customer\n"
    (quay / "sets" / "D.yaml").write_text(doubles)
    assert do(tb, quay, "jobs", "collect", "D").code == 1
    got = do(tb, quay, "jobs", "collect", "D", *read, "--user", "RT", *SEEN)
    assert got.code == 0, said(got)
    for id_ in "AB":
        assert "depth: 33 m" in (quay / "cylinders" / f"{id_}.yaml").read_text()


def test_whose_a_walk_in_was_is_known_by_its_fill_and_its_recall(tb: Run, quay: Path) -> None:
    own(quay, owner="")
    assert do(tb, quay, *COLLECT, *USER, *SEEN, "--reference", "C-7").code == 0
    asked = ("fills", "--month", "2026-11", "--customer", "c-7", "--csv")
    rows = tb(*asked, "--on", ON, "--ledger", quay).out.splitlines()[1:]
    assert [row.split(",")[1:4:2] for row in rows] == [['"A"', '"C-7"']]
    assert "C-7: A" in said(tb("recall", "--person", "MV", "--on", ON, "--ledger", quay))


CERTIFIED = """\
certified:
  - {{on: 2026-11-20, by: MV, reference: C-0192, level: nitrox, card: card 40171}}
  - {{on: 2026-11-20, by: MV, reference: C-0193, level: nitrox, card: card 40172}}
  - {{on: {on}, by: {by}, reference: {reference}, level: {level}, card: card 40173}}
"""


@pytest.mark.parametrize(
    ("other", "struck", "told"),
    [
        # another entry of theirs that stands for what it holds
        (("2026-11-21", "MV", "C-0192", "nitrox"), "2026-11-20#1", False),
        (("2026-11-20", "MV", "C-0192", "nitrox"), "2026-11-20#1", False),
        (("2026-11-21", "MV", "C-0192", "rich-nitrox"), "2026-11-20#1", False),
        # one that does not: of less or something else, of nobody, of somebody else
        (("2026-11-21", "ZZ", "C-0192", "nitrox"), "2026-11-20#1", True),
        (("2026-11-21", "MV", "C-0194", "nitrox"), "2026-11-20#1", True),
        # what was never asked of them is not missed
        (("2026-11-21", "MV", "C-0192", "trimix"), "2026-11-21", False),
        (("2026-11-21", "MV", "C-0192", "nitrox"), "2026-11-20#2", False),
    ],
)
def test_a_correction_tells_of_what_is_out_to_somebody_not_seen_to_be_trained(
    tb: Run, quay: Path, other: tuple[str, str, str, str], struck: str, told: bool
) -> None:
    words = dict(zip(("on", "by", "reference", "level"), other, strict=True))
    (quay / "counter.yaml").write_text(CERTIFIED.format(**words))
    assert do(tb, quay, *ACTS["rented"], *USER).code == 0
    got = do(tb, quay, "correct", "counter", "certified", struck, "--why", "another card")
    assert got.code == 0, said(got)
    assert ("A is out to C-0192: see that they are trained" in said(got)) is told
    board, found = (tb(c, "--on", ON, "--ledger", quay).out for c in ("rentals", "validate"))
    assert ("WARNING: A: see that they are trained" in " ".join(board.split())) is told
    today = " ".join(tb("--on", ON, "--ledger", quay).out.split())
    assert ("WARNING: A: out to C-0192, of whom it was struck out that they are" in today) is told
    assert ("[seen-no-more]" in found) is told
    assert do(tb, quay, "return", "A=500psi", "--valve", "closed", "--at", "18:00").code == 0
    board, found = (tb(c, "--on", ON, "--ledger", quay).out for c in ("rentals", "validate"))
    assert "see that they are trained" not in " ".join(board.split())
    assert "[seen-no-more]" not in found


def test_a_level_that_is_set_lower_is_told_of_what_is_out(tb: Run, quay: Path) -> None:
    """The same reference stands; what was seen is less."""
    rich = (quay / "cylinders" / "A.yaml").read_text().replace("service: nitrox", "service: oxygen")
    (quay / "cylinders" / "A.yaml").write_text(rich.replace("to: nitrox", "to: oxygen"))
    log = (quay / "fills" / "2026.csv").read_text().replace("nitrox32,32.1 %", "nitrox60,60 %")
    (quay / "fills" / "2026.csv").write_text(log)
    user = ("--analysed", "60", "--depth", "10m", "--user", "RT")
    assert do(tb, quay, *ACTS["rented"], *user, "--certified", "rich-nitrox").code == 0
    lower = ("correct", "counter", "certified", "--set", "level=nitrox", "--why", "misread")
    got = do(tb, quay, *lower)
    assert got.code == 0, said(got)
    assert "trained for what it holds (rich-nitrox)" in said(got)


# --- gas of a failed sample, or of an alarm -------------------------------------------------------

VALUES = "standard: cga-grade-e, oxygen: 20.9 %, co2: 400 ppm, hydrocarbons: 3 ppm"
GOOD_AIR = f"result: pass, {VALUES}, co: 1 ppm, oil: 0.1 mg/m3"
SMOKY = f"result: fail, {VALUES}, co: 30 ppm, oil: 0.1 mg/m3"
OILY = f"result: fail, {VALUES}, co: 1 ppm, oil: 9 mg/m3"
SHOP = """
compressor: {name: C1}
instruments: [{name: CO-1, kind: co-monitor, bumped: [{on: 2026-11-09}, {on: 2026-11-12}]}]
banks:
  - name: B1
    water_volume: 48 L
    gas: air
    period: 10 years
    requalified: [{on: 2024-03, method: hydrostatic, by: T123}]
    readings: [{on: 2026-10-20, pressure: 4000 psi}]
    raised: [%s]
air_tests: [%s]
co_readings: [%s]
"""
SOUNDED = "{on: 2026-11-10, alarm: yes, co: 40 ppm, place: outlet, with: CO-1}"
ANSWERED = "{on: 2026-11-12, co: 1 ppm, place: outlet, with: CO-1, cause: a van}"
RECALLED = "{on: 2026-11-11, by: MV, why: recall of C1, recall: C1%s}"
LET_GO = ", released: 2026-11-15, released_by: MV, released_why: drained and filled anew"
OWN_LOOK = "{on: 2026-11-14, by: MV, checklist: annual, result: pass, sticker: issued}"
OWN_CLEAN = "[{on: 2026-11-14, by: MV, to: air}]"


class Air:
    """What happened to the air of a cylinder and of the station, and what may leave since."""

    def __init__(
        self,
        *log: str,
        bad: str = SMOKY,
        again: bool = True,
        sounded: str = "",
        raised: str = "",
        more: str = "",
        held: str = "",
        looked: str = "",
        gas: bool = True,
        inside: bool = True,
    ) -> None:
        tests = [f"{{on: 2026-11-01, by: Lab, source: C1, {GOOD_AIR}}}"]
        tests += [f"{{on: 2026-11-10, by: Lab, source: C1, {bad}}}"] if bad else []
        tests += [f"{{on: 2026-11-12, by: Lab, source: C1, {GOOD_AIR}}}"] if again else []
        self.station = SHOP % (raised, ", ".join([*tests, *filter(None, [more])]), sounded)
        self.log, self.held, self.looked = log, held, looked
        self.gas, self.inside = gas, inside
        """Whether the gas in it keeps it here, and whether that or its inside does."""

    def card(self, **changes: str) -> str:
        made = with_lines(books.GOOD.replace("K118204", "K118205"), **changes)
        if self.held:
            open_ = ", released" not in self.held
            made = with_lines(made, held=f"[{self.held}]", **({"status": "held"} if open_ else {}))
        if self.looked:
            made = with_lines(made, cleaned=OWN_CLEAN)
            made = made.replace("inspected: [", f"inspected: [{OWN_LOOK}, ")
            made = made.replace("inspected:\n", f"inspected:\n  - {OWN_LOOK}\n")
        return books.stamped(made)


def filled(day: int, source: str = "C1", start: int = 500) -> str:
    return f"2026-11-{day:02d}T09:30:00+01:00,A,fill,{start} psi,3000 psi,70 degF,air,,,MV,,{source},,,,\n"


DRAIN = "2026-11-13T09:00:00+01:00,A,drain,,0 psi,,,,,MV,,,,,,\n"
RAISED = "{on: 2026-11-05, from: 1000 psi, to: 4400 psi, source: C1}"
OF_B1 = f"{{on: 2026-11-14, by: Lab, source: B1, {GOOD_AIR}}}"
AGAIN = filled(15, start=0)

KEPT = {
    "closed": Air(filled(5), again=False),
    "of oil, closed": Air(filled(5), bad=OILY, again=False),
    "reopened": Air(filled(5)),
    "of oil, reopened": Air(filled(5), bad=OILY),
    "filled after it failed": Air(filled(11)),
    "topped since": Air(filled(5), filled(14, start=100)),
    "topped from elsewhere since": Air(filled(5), filled(14, "elsewhere: Quay", 100)),
    "its source not said": Air(filled(5, "")),
    "by way of a bank": Air(filled(6, "B1"), raised=RAISED),
    "out of that bank since": Air(filled(14, "B1"), raised=RAISED),
    "alarm": Air(filled(5), bad="", again=False, sounded=SOUNDED),
    "alarm, answered": Air(filled(5), bad="", again=False, sounded=f"{SOUNDED}, {ANSWERED}"),
    "recalled": Air(filled(5), held=RECALLED % ""),
    "recalled while closed": Air(filled(5), again=False, held=RECALLED % ""),
    "recalled for oil": Air(filled(5), bad=OILY, held=RECALLED % ""),
    "recalled, no sample": Air(filled(5), bad="", again=False, held=RECALLED % ""),
    "released by words, before": Air(filled(5), held=RECALLED % LET_GO),
    "oil, drained and filled": Air(filled(5), DRAIN, AGAIN, bad=OILY, gas=False),
    "recalled, oil, drained and filled": Air(
        filled(5), DRAIN, AGAIN, bad=OILY, held=RECALLED % LET_GO, gas=False
    ),
}  # fmt: skip
GOES = {
    "of before the last good sample": Air(filled(1)),
    "of since the one that is good again": Air(filled(12)),
    "filled elsewhere": Air(filled(5, '"elsewhere: Quay, air test seen 2026-11-01"')),
    "drained, and filled of good air": Air(filled(5), DRAIN, AGAIN),
    "let go properly": Air(filled(5), DRAIN, AGAIN, held=RECALLED % LET_GO),
    "oil: drained, looked inside, cleaned": Air(filled(5), DRAIN, AGAIN, bad=OILY, looked="yes"),
    "a bank of before": Air(filled(14, "B1")),
    "a bank that was sampled since": Air(filled(15, "B1"), raised=RAISED, more=OF_B1),
}
LOOKED_INTO = {key: text.replace("11-20", "10-30") for key, text in SALE.items()}
"""Looked inside before all that: its gas is let out for that."""
LEAVES = {
    "rent": ({}, ("rent", "A", "--to", "C-0192")),
    "rent --count": ({}, ("rent", "--count", "1", "--to", "C-0192")),
    "hand-over": (LOOKED_INTO, ("hand-over", "A", "--to", "C-0192")),
    "jobs collect": (JOB, ("jobs", "collect", "A")),
    "send": ({}, ("send", "A", "--to", "Weir Street Hydro")),
    "send for repair": ({}, ("send", "A", "--for", "repair", "--to", "Quay Valves")),
    "send back": (
        {}, ("send", "A", "--for", "supplier-return", "--to", "Maker", "--why", "leaks"),
    ),
}  # fmt: skip


def put(quay: Path, air: Air, act: str) -> None:
    (quay / "cylinders" / "B.yaml").unlink()
    (quay / "cylinders" / "C.yaml").unlink()
    (quay / "cylinders" / "A.yaml").write_text(air.card(**LEAVES[act][0]))
    (quay / "station.yaml").write_text(air.station)
    (quay / "fills" / "2026.csv").write_text(HEADER + "".join(air.log))


@pytest.mark.parametrize("act", LEAVES)
@pytest.mark.parametrize("name", KEPT)
def test_suspect_gas_leaves_by_no_act(tb: Run, quay: Path, name: str, act: str) -> None:
    air = KEPT[name]
    put(quay, air, act)
    before = (quay / "cylinders" / "A.yaml").read_text()
    got = do(tb, quay, *LEAVES[act][1])
    sent = act.startswith("send")
    if sent and not air.gas:
        assert got.code == 0, said(got)
        return
    assert got.code == 1, said(got)
    assert (quay / "cylinders" / "A.yaml").read_text() == before
    if act == "rent --count":
        assert "0 are full and may go" in said(got)
        return
    why = ("failed", "alarm sounded", "was recalled", "is held")
    assert any(each in said(got) for each in why), said(got)
    # what took place all the same is recorded, with what stood against it
    gone = do(tb, quay, *LEAVES[act][1], "--happened", "taken before it was known")
    assert gone.code == 0, said(gone)
    assert gone.first.startswith("Logged as a fact"), gone.first
    text = (quay / "cylinders" / "A.yaml").read_text()
    assert "taken before it was known; against it: " in text
    if sent:  # let out, it goes to a test house
        (quay / "cylinders" / "A.yaml").write_text(before)
        assert do(tb, quay, *LEAVES[act][1], "--bled", "heard").code == 0


@pytest.mark.parametrize("act", LEAVES)
@pytest.mark.parametrize("name", GOES)
def test_gas_that_is_good_leaves_by_every_act(tb: Run, quay: Path, name: str, act: str) -> None:
    put(quay, GOES[name], act)
    got = do(tb, quay, *LEAVES[act][1])
    assert got.code == 0, said(got)


@pytest.mark.parametrize(
    ("air", "recall"),
    [
        (KEPT["reopened"], ("recall", "C1", "--since", "2026-11-01")),
        (
            Air(filled(5), bad="", again=False),
            ("recall", "--person", "MV", "--since", "2026-11-01"),
        ),
    ],
)
def test_what_was_sold_with_recalled_gas_is_told_where_its_serial_walks_in(
    tb: Run, quay: Path, air: Air, recall: tuple[str, ...]
) -> None:
    put(quay, air, "hand-over")
    sold = "[{on: 2026-11-06, by: MV, to: C-0192, slip: 2026-001}]"
    card = air.card(**LOOKED_INTO, status="sold", handed_over=sold)
    (quay / "cylinders" / "A.yaml").write_text(card)
    held = do(tb, quay, *recall, "--hold")
    assert (held.code, held.first.startswith("Held A")) == (0, True), said(held)
    assert tb("validate", "--on", ON, "--ledger", quay).code == 0 or air is KEPT["reopened"]
    marks = next(t for t in card.splitlines() if t.startswith("marks: ")).removeprefix("marks: ")
    seen = ("--marks", marks, "--maker", "Example Cylinder Co", "--outlet", "yoke")
    asked = tb("may-fill", *seen, "--sticker", "2026-05", "--on", ON, "--ledger", quay)
    assert asked.code == 1
    assert "is A as well, which is held: recall of" in said(asked)
    # let out and let go, it is nobody's but its owner's
    assert do(tb, quay, "drain", "A", "--at", "09:00").code == 0
    assert do(tb, quay, "release", "A", "--why", "drained to nothing").code == 0
    asked = tb("may-fill", *seen, "--sticker", "2026-05", "--on", ON, "--ledger", quay)
    assert "which is held" not in said(asked)
