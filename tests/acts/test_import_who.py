"""Sheets of one kind of entry, and who did what a sheet tells of."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, SETTINGS, TODAY
from changing import replace
from clubs import imported, mapping, read
from shop import Shop, shop

from tankbook.acts.import_ import Comes
from tankbook.acts.tab_guess import guess
from tankbook.records.edits import Act, Refusal
from tankbook.records.sheet_mapping import RowsAre
from tankbook.records.words import Method
from tankbook.rules.gate import may_fill
from tankbook.rules.lapsed import dated_reason
from tankbook.rules.schedule import due

BAR = SETTINGS.replace("units: psi", "units: bar")
UK = BAR.replace("us-dot", "uk")
HIRES = """Tank,Date out,Date in,Hirer
RB-014,14/06/2025,16/06/2025,M-1
RB-014,20/06/2025,22/06/2025,M-2
RB-014,20/11/2026,,M-1
"""
REFERENCES = {'"M-1": ?': '"M-1": M-1', '"M-2": ?': '"M-2": M-2'}
VISUALS = (
    "Serial,Date,By\nK118204,14/10/2026,Northside Diving\nK118204,14/11/2023,Northside Diving\n"
)


@pytest.mark.parametrize(
    ("table", "what", "keys"),
    [
        (HIRES, "rental", ["id", "on", "back", "to"]),
        ("Flasche;Ausgeliehen am;Rückgabe;Mieter\nA;1.2.2025;3.2.2025;M-1\n", "rental", ["id", "on", "back", "to"]),
        ("Tank,Out,Returned,Customer\nA,14/06/2025,15/06/2025,M-1\n", "rental", ["id", "on", "back", "to"]),
        (VISUALS, "?", ["serial", "on", "by"]),
        ("No,Test date,Result\nA,14/06/2020,pass\nA,14/06/2025,pass\n", "?", ["id", "on", "result"]),
        ("tank,Test\nT1,2020-03-04\nT1,2015-03-05\n", "?", ["id", "on"]),
        ("Cylinder,Tested,Remarks\nT1,2020-03-04,\nT1,2015-03-05,late\n", "?", ["id", "on", "remark"]),
        ("Flasche;Prüfung\nA;1.2.2020\nA;1.2.2025\n", "?", ["id", "on"]),
    ],
)  # fmt: skip
def test_a_list_of_one_kind_is_seen_to_be_one(table: str, what: str, keys: list[str]) -> None:
    found = guess(read(table), TODAY)
    assert (found.rows, found.what) == (RowsAre.ENTRIES, what)
    assert [c.key for c in found.columns] == keys
    assert "what" not in keys
    assert found.use == ""


@pytest.mark.parametrize(
    "table",
    [
        "Tank,Who has it,Out since,Due back\nA,M-1,14/06/2025,1/7/2025\n",
        "Serial,Maker,WP (bar),Out,Returned,Customer\nA,Ex,232,14/06/2025,15/06/2025,M-1\n",
        "No,Test date,Result\nA,14/06/2020,pass\nB,14/06/2025,pass\n",
        "tank,Test\nT1,2020-03-04\nT2,2015-03-05\n",
        "tank,Test,Visual\nT1,2020-03-04,2021-03-04\nT1,2015-03-05,2016-03-05\n",
        "tank,Next test\nT1,2027-03-04\nT1,2027-03-05\n",
    ],
)
def test_a_list_of_cylinders_stays_one(table: str) -> None:
    assert guess(read(table), TODAY).rows is RowsAre.CYLINDERS


@pytest.fixture(name="ledger")
def _ledger() -> Shop:
    return shop(settings=BAR, RB_014=GOOD)


@pytest.mark.parametrize("name", ["Tests", "Retests", "Prüfungen"])
def test_a_sheet_that_is_named_for_tests_is_a_list_of_them(name: str) -> None:
    found = guess(replace(read("tank,Test\nT1,2020-03-04\nT2,2015-03-05\n"), name=name), TODAY)
    assert (found.rows, found.what, found.use) == (RowsAre.ENTRIES, "?", "")
    assert [c.key for c in found.columns] == ["id", "on"]


@pytest.mark.parametrize(
    ("table", "keys"),
    [
        ("Tank,Test,Type\nT1,2020-03-04,visual\nT2,2015-03-05,hydro\n", ["id", "on", "what"]),
        ("Tank,Date,Test\nT1,2020-03-04,visual\nT2,2015-03-05,hydro\n", ["id", "on", "what"]),
    ],
)
def test_a_column_of_kinds_of_tests_makes_a_list_of_them(table: str, keys: list[str]) -> None:
    found = guess(read(table), TODAY)
    assert (found.rows, found.what) == (RowsAre.ENTRIES, "")
    assert [c.key for c in found.columns] == keys


@pytest.mark.parametrize(
    ("key", "meant"), [("tank", "id"), ("cylinder no", "id"), ("wp", "service_pressure")]
)
def test_a_key_in_another_word_points_to_the_right_one(ledger: Shop, key: str, meant: str) -> None:
    table = "Serial,Mine\nK118204,1\n"
    said = mapping(table).replace("key: keep", f"key: {key}")
    refusal = imported(ledger.book, table, said).planned
    assert isinstance(refusal, Refusal)
    assert f"write `key: {meant}`" in "".join(f.mend for f in refusal.findings)


def test_a_hire_book_comes_in_with_nothing_but_its_mapping_corrected(ledger: Shop) -> None:
    said = mapping(HIRES, **REFERENCES)
    got = imported(ledger.book, HIRES, said)
    ledger.fact(got.planned)
    rented = [(str(r.on), r.to, str(r.back)) for r in ledger["RB-014"].rented]
    assert rented == [
        ("2025-06-14", "M-1", "2025-06-16"),
        ("2025-06-20", "M-2", "2025-06-22"),
        ("2026-11-20", "M-1", "None"),
    ]
    again = imported(ledger.book, HIRES, said)
    assert isinstance(again.planned, Act)
    assert again.planned.edits == ()
    home = HIRES.replace("20/11/2026,,", "20/11/2026,22/11/2026,")
    told = imported(ledger.book, home, said)
    assert "back on 2026-11-22 is not on its card: tankbook return RB-014" in str(told.fates[2].why)


def test_a_due_day_is_no_return() -> None:
    found = guess(
        read("Tank,Date out,Due back,Date in,Hirer\nA,1/2/2025,2/2/2025,3/2/2025,M\n"), TODAY
    )
    assert [c.key for c in found.columns] == ["id", "on", "keep", "back", "to"]


@pytest.mark.parametrize(
    ("table", "answers"),
    [
        (HIRES.replace("20/11/2026,,", "20/11/2027,,"), REFERENCES),
        (HIRES.replace("20/11/2026,,", "20/11/2026,22/11/2027,"), REFERENCES),
        (VISUALS.replace("2026", "2027"), {"what: ?": "what: visual"}),
        (VISUALS.replace("2026", "2027"), {"what: ?": "what: hydro"}),
    ],
)
def test_nothing_of_a_day_to_come_is_entered(
    table: str, answers: dict[str, str], ledger: Shop
) -> None:
    got = imported(ledger.book, table, mapping(table, **answers))
    found = [each for each in got.fates if each.comes is Comes.CANNOT]
    assert found
    assert any("is in the future" in "; ".join(each.says) for each in found)


@pytest.mark.parametrize(
    ("was", "new", "code"),
    [
        ("what: rental", "", "no-entry"),
        ("key: on", "key: keep", "no-entry"),
        ("rows: entries", "rows: cylinders\nuse: pool", "of-entries"),
        ("key: back", "key: back\n    by: Quay", "by-of-tests"),
    ],
)
def test_what_a_mapping_of_one_kind_has_to_say(was: str, new: str, code: str, ledger: Shop) -> None:
    said = mapping(HIRES, **REFERENCES)
    got = imported(ledger.book, HIRES, said.replace(was, new, 1))
    assert isinstance(got.planned, Refusal)
    assert code in {f.code for f in got.planned.findings}


def uk(visual: str = "", day: str = "", settings: str = UK) -> Shop:
    """RB-014 under UK rules, of which the last look that counts is long ago."""
    look = f"on: 2026-10{day}, checklist: sticker-seen, result: pass, sticker: seen{visual}"
    first = GOOD.partition("requalified:")[0]
    tests = "requalified:\n  - {on: 2022-03, method: hydrostatic, by: Northside T1}\n"
    return shop(settings=settings, RB_014=f"{first}{tests}inspected: [{{{look}}}]\n")


def test_a_visual_on_record_of_which_nobody_says_who_did_it_is_told() -> None:
    ledger = uk()
    (item,) = [d for d in due(ledger.book, TODAY) if d.obligation == "visual" and d.is_open]
    assert item.why.endswith("a visual of 2026-10 is on record, and nobody says who did it")
    reason = dated_reason(item)
    assert reason is not None
    assert "--test visual --who WHO --done 2026-10" in reason.mend
    fit = may_fill(ledger.book, "RB-014", TODAY)
    assert not fit.fillable
    assert any("a visual of 2026-10 is on record" in r.text for r in fit.reasons)


def test_one_by_a_name_is_told_to_be_a_sticker() -> None:
    (item,) = [
        d
        for d in due(uk(", by: Northside Diving").book, TODAY)
        if d.obligation == "visual" and d.is_open
    ]
    assert "a sticker of Northside Diving that was seen, which does not count here" in item.why


def test_who_did_a_visual_makes_it_count_where_a_sticker_does_not() -> None:
    ledger = uk()
    said = mapping(VISUALS, **{"what: ?": "what: visual"})
    got = imported(ledger.book, VISUALS, said)
    assert {f.comes for f in got.fates} == {"added to"}
    ledger.fact(got.planned)
    tests = [(str(t.on), t.method, t.by) for t in ledger["RB-014"].requalified]
    assert ("2026-10-14", Method.VISUAL, "Northside Diving") in tests
    assert not [d for d in due(ledger.book, TODAY) if d.obligation == "visual" and d.is_open]
    again = imported(ledger.book, VISUALS, said)
    assert isinstance(again.planned, Act)
    assert again.planned.edits == ()


def test_it_stays_a_sticker_where_one_counts_and_by_is_told_where_it_is_on_record() -> None:
    ledger = uk(day="-14", settings=BAR)
    got = imported(ledger.book, VISUALS, mapping(VISUALS, **{"what: ?": "what: visual"}))
    assert got.fates[0].comes == "there already"
    assert "(Northside Diving) is not on its card: tankbook correct RB-014 inspected" in str(
        got.fates[0].why
    )
    ledger.fact(got.planned)
    assert [(str(i.on), i.checklist, i.by) for i in ledger["RB-014"].inspected][-1:] == [
        ("2023-11-14", "sticker-seen", "Northside Diving")
    ]


ROWS = "Serial,WP (bar),Last visual,Visual by,Last hydro,Hydro by\nK1,232,14/10/2026,{},04/2022,Northside T1\n"


@pytest.mark.parametrize(
    ("who", "lists"),
    [
        ("Northside Diving", {("visual", "Northside Diving"), ("hydrostatic", "Northside T1")}),
        ("Weir Street Dive School", {("visual", "Weir Street Dive School"), ("hydrostatic", "Northside T1")}),
        ("JWB", {("sticker-seen", "JWB"), ("hydrostatic", "Northside T1")}),
        ("", {("sticker-seen", None), ("hydrostatic", "Northside T1")}),
    ],
)  # fmt: skip
def test_a_column_says_who_did_the_last_test(who: str, lists: set[tuple[str, str | None]]) -> None:
    table = ROWS.format(who)
    assert [c.key for c in guess(read(ROWS.format("x")), TODAY).columns][3::2] == [
        "visual_by",
        "hydro_by",
    ]
    ledger = shop(settings=UK, RB_014=GOOD)
    said = mapping(ROWS.format("x"))
    ledger.fact(imported(ledger.book, table, said).planned)
    (card,) = [c for c in ledger.book.cylinders.values() if c.serial == "K1"]
    found = {(i.checklist, i.by) for i in card.inspected}
    assert found | {(str(t.method), t.by) for t in card.requalified} == lists


def test_a_constant_beside_its_column_does_too() -> None:
    table = "Serial,WP (bar),Last visual\nK1,232,14/10/2026\n"
    ledger = shop(settings=UK, RB_014=GOOD)
    said = mapping(table, **{"key: visual": "key: visual\n    by: Northside Diving"})
    ledger.fact(imported(ledger.book, table, said).planned)
    (card,) = [c for c in ledger.book.cylinders.values() if c.serial == "K1"]
    assert [(t.method, t.by) for t in card.requalified] == [(Method.VISUAL, "Northside Diving")]


@pytest.mark.parametrize("by", ["MV", "mv"])
def test_ones_own_people_looked_by_a_checklist(by: str) -> None:
    table = ROWS.format(by)
    ledger = shop(settings=UK, RB_014=GOOD)
    got = imported(ledger.book, table, mapping(table))
    assert isinstance(got.planned, Refusal)
    assert [f.code for f in got.planned.findings] == ["no-checklist"]
    said = mapping(table, **{"columns:": "checklist: annual\ncolumns:"})
    ledger.fact(imported(ledger.book, table, said).planned)
    (card,) = [c for c in ledger.book.cylinders.values() if c.serial == "K1"]
    assert [(i.on.first, i.checklist, i.by) for i in card.inspected] == [
        (dt.date(2026, 10, 14), "annual", "MV")
    ]


def test_the_ledger_itself_is_none_of_its_people() -> None:
    table = ROWS.format("Quay")
    ledger = shop(settings=UK, RB_014=GOOD)
    name = ledger.book.settings.ledger
    table = ROWS.format(name)
    got = imported(
        ledger.book, table, mapping(table, **{"columns:": "checklist: annual\ncolumns:"})
    )
    assert isinstance(got.planned, Refusal)
    assert [f.code for f in got.planned.findings] == ["no-initials"]
