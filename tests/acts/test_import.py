"""Somebody's own table: what comes of each row, and what is recorded."""

from __future__ import annotations

import re

import clubs
import pytest
from books import GOOD, SETTINGS, TODAY
from clubs import CLUB, guessed, imported, mapping, read, typed
from msgspec.structs import replace
from shop import Shop, reasons, shop

from tankbook.acts.import_ import Comes, Imported, import_table, what_is_left
from tankbook.output import imported as output
from tankbook.output.page import Page
from tankbook.records.edits import Act, Refusal
from tankbook.records.words import Status
from tankbook.rules.checks import check
from tankbook.rules.gate import may_fill

BAR = SETTINGS.replace("units: psi", "units: bar")
HEADS = "Serial,Maker,WP (bar),Hydro,Remarks\n"
ROW = "K1,Works,232,04/2022,\n"


@pytest.fixture(name="ledger")
def _ledger() -> Shop:
    return shop(settings=BAR, RB_014=GOOD)


def fates(got: Imported) -> dict[int, str]:
    return {f.row: f.comes.value for f in got.fates}


def whys(got: Imported) -> str:
    return "; ".join(text for f in got.fates for text in f.says)


def test_a_club_of_eleven(ledger: Shop) -> None:
    got = imported(ledger.book, CLUB)
    assert fates(got) == {
        5: "new", 6: "new", 7: "new and held", 8: "new", 9: "new", 10: "left out", 11: "new",
        12: "new", 14: "new", 15: "new", 16: "new", 17: "left out", 18: "left out",
    }  # fmt: skip
    act = ledger.fact(got.planned)
    assert act.verb == "import"
    assert act.sentence == "Imported club.csv: 10 new cards, HD-01 to HD-11; 1 of them held"
    assert len(act.subjects) == 10
    assert ledger.files["cylinders/HD-02.yaml"] == (
        "serial: BD1002\n"
        "maker: Hollis Steel\n"
        "service_pressure: 232 bar\n"
        "water_volume: 12 L\n"
        "material: steel\n"
        "valve: {outlet: din-200}\n"
        "use: pool\n"
        "status: out\n"
        "requalified:\n"
        '  - {on: 2022-04, method: hydrostatic, note: "sheet, row 6"}\n'
        "inspected:\n"
        '  - {on: 2026-03, checklist: sticker-seen, note: "sheet, row 6", result: pass, sticker: seen}\n'
        "rented:\n"
        '  - {on: 2026-11-25, to: M-01, note: "sheet, row 6: since when is not said"}\n'
    )
    assert ledger["HD-03"].status is Status.HELD
    assert (ledger["HD-03"].held[0].why, ledger["HD-03"].note) == ("valve leaks", None)
    assert ledger["HD-05"].note == "blue boot"
    assert ledger["HD-08"].note == "was Bob's; yellow"
    assert str(ledger["HD-07"].water_volume) == "11.1 L"


def test_twice_the_same_table_changes_nothing(ledger: Shop) -> None:
    ledger.fact(imported(ledger.book, CLUB).planned)
    before = dict(ledger.files)
    got = imported(ledger.book, CLUB)
    assert {f.comes for f in got.fates} == {Comes.THERE, Comes.LEFT_OUT}
    assert isinstance(got.planned, Act)
    assert got.planned.edits == ()
    completed = imported(ledger.book, CLUB, mapping(CLUB) + "on_file: complete\n")
    assert isinstance(completed.planned, Act), completed.planned
    assert completed.planned.edits == ()
    assert ledger.files == before


def test_nor_after_a_hold_was_let_go_and_a_card_has_lived(ledger: Shop) -> None:
    ledger.fact(imported(ledger.book, CLUB).planned)
    card = ledger.files["cylinders/HD-03.yaml"]
    card = card.replace('row 7"}\n', 'row 7"}\n').replace("status: held", "status: in-service")
    held = "why: valve leaks, "
    card = card.replace(
        held, held + "released: 2026-11-25, released_by: MV, released_why: new seat fitted, "
    )
    ledger.files["cylinders/HD-03.yaml"] = card + "note: serviced\n"
    got = imported(ledger.book, CLUB, mapping(CLUB) + "on_file: complete\n")
    assert isinstance(got.planned, Act), got.planned
    assert got.planned.edits == ()


def one(ledger: Shop, rows: str, heads: str = HEADS, **answers: str) -> Imported:
    return imported(ledger.book, heads + rows, mapping(heads + rows, **answers))


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("K1,Works,232,31/04/2022,", "club.csv:2:14: Hydro: `31/04/2022` is no calendar date; correct it, or write `otherwise: remark` for column D"),
        ("K1,Works,3000,04/2022,", "3000 bar is above 690 bar: check the unit; it looks like psi"),
        ("K1,Works,232 psi,04/2022,", ""),
        ("K1,Works,23,04/2022,", "23 bar is marked on no cylinder: it looks like bar"),
        (",Works,232,04/2022,", "serial is missing"),
        ("K1,Works,232,04/2027,", "lies in the future"),
        ("K1,Works,232,2022,", "`2022` says no month"),
        ("K1,Works,232,44287,", ""),
        ("K1,Works,n/a,?,-", ""),
        ("K1,Works,full,04/2022,", "`full` is no number with its unit"),
        ("K118204,Example Cylinder Co,232,04/2022,", ""),
        ("K1\u202e,Works,232,04/2022,", "is not one line of plain text"),
        ("K1,Works,232,04/2022,=HYPERLINK(0)", ""),
        ('K1,Works,232,"04/2012, 04/2017; 04/2022",', ""),
    ],
)  # fmt: skip
def test_a_row_is_taken_or_told_why_not(row: str, said: str, ledger: Shop) -> None:
    got = one(ledger, row + "\n")
    if said:
        assert fates(got) == {2: "CANNOT"}
        assert said in reasons(got.planned), reasons(got.planned)
        assert said.partition(";")[0] in whys(got)
    else:
        ledger.fact(got.planned)


def test_what_is_wrong_is_told_of_every_row_at_once(ledger: Shop) -> None:
    rows = "K1,Works,3000,31/04/2022,\nK2,Works,232,04/2022,\nK3,Works,232,soon,\n"
    got = one(ledger, rows)
    assert fates(got) == {2: "CANNOT", 3: "new", 4: "CANNOT"}
    assert isinstance(got.planned, Refusal)
    assert [str(f.where) for f in got.planned.findings] == [
        "club.csv:2:10",
        "club.csv:2:15",
        "club.csv:4:14",
    ]


def test_the_good_rows_alone(ledger: Shop) -> None:
    rows = "K1,Works,3000,04/2022,\nK2,Works,232,04/2022,\n"
    said = mapping(HEADS + rows)
    assert isinstance(imported(ledger.book, HEADS + rows, said).planned, Refusal)
    act = ledger.do(imported(ledger.book, HEADS + rows, said, good=True).planned)
    assert act.subjects == ("PL-001",)
    assert ledger["PL-001"].serial == "K2"
    assert any(
        n.startswith("row 2 (K1): club.csv:2:10: WP (bar): 3000 bar is above") for n in act.notes
    )


def test_of_one_serial_on_two_rows_neither_is_taken(ledger: Shop) -> None:
    got = one(
        ledger,
        "K1,Works,232,04/2022,\nK 1,,232,04/2022,\nk1,Other,232,04/2022,\nK2,Works,232,04/2022,\n",
    )
    assert fates(got) == {2: "CANNOT", 3: "CANNOT", 4: "CANNOT", 5: "new"}
    assert "its serial K1 stands in row 3 as well" in whys(got)
    apart = one(ledger, "K1,Works,232,04/2022,\nK1,Other,232,04/2022,\n")
    assert fates(apart) == {2: "new", 3: "new"}


def test_a_cylinder_on_file_is_left_as_it_is_and_what_differs_is_told(ledger: Shop) -> None:
    before = dict(ledger.files)
    got = one(ledger, "K118204,Example Cylinder Co,232,04/2022,\n")
    assert fates(got) == {2: "there already"}
    assert "its card says service_pressure 3000 psi, and 232 bar was given" in whys(got)
    assert "not on its card: requalified (`on_file: complete` adds it)" in whys(got)
    assert isinstance(got.planned, Act)
    assert got.planned.edits == ()
    assert ledger.files == before


def test_a_remark_that_is_new_is_told_of_a_cylinder_on_file_and_holds_where_that_is_asked(
    ledger: Shop,
) -> None:
    table = "Serial,Remarks\nK118204,valve leaks\n"
    told = imported(ledger.book, table)
    line = (
        "its remark tells against it and is not on its card: `valve leaks`; hold it: "
        "tankbook hold RB-014 --why 'valve leaks'"
    )
    assert whys(told) == line
    [(_, keeps)] = what_is_left(told, TODAY)
    assert line in keeps
    assert isinstance(told.planned, Act)
    assert f"RB-014: {line}" in told.planned.notes  # with --all, which writes nothing of it
    ledger.fact(imported(ledger.book, table, mapping(table) + "on_file: complete\n").planned)
    assert ledger["RB-014"].status is Status.HELD
    assert whys(imported(ledger.book, table)) == ""
    note = imported(ledger.book, "Serial,Remarks\nK118204,blue boot\n")
    assert whys(note) == "its remark is not on its card: `blue boot`"


def test_a_card_is_completed_where_that_is_asked_and_never_changed(ledger: Shop) -> None:
    heads, row = (
        "Serial,Make,Outlet thread,Hydro,Rack\n",
        "K118204,Example Cylinder Co,x,05/2025,rack 2\n",
    )
    said = mapping(heads + row).replace("key: neck_thread", "key: keep") + "on_file: complete\n"
    got = imported(ledger.book, heads + row, said)
    assert fates(got) == {2: "added to"}
    ledger.fact(got.planned)
    card = ledger["RB-014"]
    assert (card.place, [str(t.on) for t in card.requalified]) == ("rack 2", ["2024-03", "2025-05"])
    clash = mapping("Serial,WP (bar)\nK118204,232\n") + "on_file: complete\n"
    refused = imported(ledger.book, "Serial,WP (bar)\nK118204,232\n", clash)
    assert "its card says service_pressure 3000 psi" in reasons(refused.planned)


def test_what_they_are_kept_for_is_asked_of_new_cards_alone(ledger: Shop) -> None:
    table = "Serial,Rack\nK118204,rack 2\n"
    said = "".join(x for x in mapping(table).splitlines(True) if not x.startswith("use:"))
    said += "on_file: complete\n"
    assert fates(imported(ledger.book, table, said)) == {2: "added to"}
    new = imported(ledger.book, table + "K999,rack 3\n", said)
    assert "what it is kept for is not said" in reasons(new.planned)


@pytest.mark.parametrize("remark", ["free-flows when opened", "Freeflow", "free flows", "bläst ab"])
def test_a_valve_that_gives_gas_by_itself_is_held(remark: str, ledger: Shop) -> None:
    got = imported(ledger.book, f"Serial,WP (bar),Remarks\nK999,232,{remark}\n")
    assert fates(got) == {2: "new and held"}


def test_an_id_that_is_anothers_is_refused(ledger: Shop) -> None:
    table = "No,Serial\nrb-014,K9\nRB-015,K8\n"
    got = imported(ledger.book, table)
    assert fates(got) == {2: "CANNOT", 3: "new"}
    assert "rb-014 is in use already, by a cylinder of another serial" in whys(got)


@pytest.mark.parametrize(
    ("ids", "change", "found"),
    [
        ("CL 01,CL 02", "", "CL-01,CL-02"),
        ("1,12", "key: id\n    scheme: CL-##", "CL-01,CL-12"),
        ("RB/1,RB/2", "", ""),
    ],
)
def test_ids_of_a_sheet(ids: str, change: str, found: str, ledger: Shop) -> None:
    first, second = ids.split(",")
    table = f"No,Serial\n{first},K8\n{second},K9\n"
    said = mapping(table).replace("key: id", change or "key: id")
    got = imported(ledger.book, table, said)
    assert ",".join(f.id for f in got.fates) == (found or ",")
    assert found or "is not an id" in whys(got)


def test_next_due_is_never_taken_for_the_last_test(ledger: Shop) -> None:
    table = "Serial,Hydro due\nK1,04/2027\n"
    assert "hydro" in {c.key for c in guessed(table).columns if c.asks}
    due = mapping(table, **{"is: ?": "is: next\n    period: 5 years"})
    ledger.do(imported(ledger.book, table, due).planned)
    test = ledger["PL-001"].requalified[0]
    assert (str(test.on), test.note) == (
        "2022-04",
        "sheet, row 2: next due 2027-04, 5 years taken off",
    )
    without = imported(ledger.book, table, mapping(table, **{"is: ?": "is: next"}))
    assert "how long before its next day the last test was is not said" in reasons(without.planned)
    last = imported(shop(settings=BAR).book, table, mapping(table))
    assert "lies in the future" in reasons(last.planned)


def test_a_last_and_a_next_day_are_of_one_test(ledger: Shop) -> None:
    table = "Serial,Last hydro,Next hydro\nK1,04/2022,04/2027\nK2,04/2022,05/2027\nK3,,06/2027\n"
    said = (
        mapping(table)
        .replace("is: last", "is: next\n    period: 5 years")
        .replace("is: next\n    period: 5 years", "is: last", 1)
    )
    got = imported(ledger.book, table, said, good=True)
    assert fates(got) == {2: "new", 3: "CANNOT", 4: "new"}
    assert "is due 2027-05, so that the last was 2022-05, and it says 2022-04" in whys(got)
    ledger.do(got.planned)
    assert [[str(t.on) for t in ledger[i].requalified] for i in ("PL-001", "PL-002")] == [
        ["2022-04"],
        ["2022-06"],
    ]


def test_ten_years_of_tests_over_columns_become_entries(ledger: Shop) -> None:
    table = 'Serial,Hydro 2012,Hydro 2017,Hydro 2022,Visual\nK1,04/2012,04/2017,04/2022,"01/2024, 02/2025, 03/2026"\n'
    ledger.do(imported(ledger.book, table).planned)
    card = ledger["PL-001"]
    assert [str(t.on) for t in card.requalified] == ["2012-04", "2017-04", "2022-04"]
    assert [str(i.on) for i in card.inspected] == ["2024-01", "2025-02", "2026-03"]


TESTS = """\
Serial,Date,What,By,Result,To,Back,Notes
K118204,04/2014,Hydro,Northside,pass,,,
K118204,04/2019,Hydro,Northside,ok,,,
K118204,05/2020,VIP,Weir,pass,,,
K118204,01/07/2021,Hire,,,B-17,03/07/2021,
"""


@pytest.fixture(name="old")
def _old() -> Shop:
    """RB-014 as it is when it is sixteen years old."""
    first = "{on: 2024-03, method: hydrostatic, by: maker}"
    last = "{on: 2010-03, method: hydrostatic, by: maker}\n  - {on: 2024-03, method: hydrostatic, by: T1}"
    return shop(settings=BAR, RB_014=GOOD.replace(first, last))


def test_a_row_of_entries_is_added_to_its_card(old: Shop) -> None:
    ledger = old
    said = mapping(TESTS, **{'"B-17": ?': '"B-17": B-17'})
    got = imported(ledger.book, TESTS, said)
    assert set(fates(got).values()) == {"added to"}, whys(got)
    ledger.fact(got.planned)
    card = ledger["RB-014"]
    assert [str(t.on) for t in card.requalified] == ["2010-03", "2024-03", "2014-04", "2019-04"]
    assert (card.rented[0].to, str(card.rented[0].back)) == ("B-17", "2021-07-03")
    again = imported(ledger.book, TESTS, said)
    assert set(fates(again).values()) == {"there already"}
    assert isinstance(again.planned, Act)
    assert again.planned.edits == ()


def test_a_remark_beside_an_entry_holds_until_somebody_looked(old: Shop) -> None:
    table = "Serial,Date,What,Notes\nK118204,05/2020,VIP,valve leaks\n"
    passed = imported(old.book, table)  # looked at in 2026
    assert fates(passed) == {2: "added to"}
    assert "held" not in whys(passed)
    late = table.replace("05/2020", "10/2026")
    old.fact(imported(old.book, late).planned)
    assert old["RB-014"].status is Status.HELD
    again = imported(old.book, late)
    assert fates(again) == {2: "there already"}


@pytest.mark.parametrize("what", ["VIP", "Hydro"])
@pytest.mark.parametrize(
    ("remark", "told"),
    [
        ("Dave says don't", True),
        ("stamp doesn't match certificate", True),
        ("not this one please", True),
        ("blue boot; came back light", True),
        ("blue boot", False),
        ("", False),
    ],
)
def test_a_remark_beside_an_entry_that_nobody_judged_is_told_beside_every_answer(
    remark: str, told: bool, what: str, old: Shop
) -> None:
    def said() -> list[str]:
        reasons = may_fill(old.book, "RB-014", TODAY, station=False).reasons
        return [r.text for r in reasons if r.code.startswith("note-")]

    table = f"Serial,Date,What,Notes\nK118204,10/2026,{what},{remark}\n"
    old.fact(imported(old.book, table).planned)
    assert old["RB-014"].status is Status.IN_SERVICE
    assert bool(said()) is told
    if not told:
        return
    more = mapping(table) + f'remarks: {{"{remark}": harmless}}\n'
    answered = imported(old.book, table, more)
    old.fact(answered.planned)
    assert [j.text for j in old["RB-014"].note_judged] == [remark]
    assert said() == []
    again = imported(old.book, table, more)
    assert isinstance(again.planned, Act)
    assert again.planned.edits == ()


@pytest.mark.parametrize(
    ("was", "new", "said"),
    [
        ("K118204,04/2014", "K99,04/2014", "K99 has no card here; import the cylinders first"),
        (
            "Hydro,Northside,pass",
            "Overhaul,Northside,pass",
            "`overhaul` is nothing that can be entered",
        ),
        ("Hydro,Northside,ok", "Hydro,Northside,maybe", "maybe"),
        ("Hire,,,B-17", "Hire,,,", "who had it is not said"),
        ("01/07/2021,Hire", "07/2021,Hire", ""),
        ("04/2014,Hydro", ",Hydro", "when it was is not said"),
    ],
)
def test_an_entry_that_cannot_be_taken(was: str, new: str, said: str, old: Shop) -> None:
    table = TESTS.replace(was, new)
    got = imported(old.book, table, mapping(TESTS, **{'"B-17": ?': '"B-17": B-17'}), good=True)
    assert (said in whys(got)) if said else Comes.CANNOT not in {f.comes for f in got.fates}
    assert sum(f.comes is Comes.CANNOT for f in got.fates) == bool(said)


@pytest.mark.parametrize("how", ["gone", "struck"])
def test_what_is_said_to_be_held_is_held_by_a_row_of_entries_too(how: str, old: Shop) -> None:
    """Though it passed an inspection since: somebody answered so, or struck the row out."""
    table = f"Serial,Date,What,Notes\nK118204,05/2020,VIP,{'condemned' if how == 'gone' else ''}\n"
    said = mapping(table).replace('"condemned": ?', '"condemned": hold')
    tab = read(table)
    if how == "struck":
        tab = replace(tab, rows=tuple(replace(r, struck=r.number > 1) for r in tab.rows))
    got = import_table(old.book, TODAY, tab, typed(said), by="MV")
    old.fact(got.planned)
    assert old["RB-014"].status is Status.HELD
    assert [h.why for h in old["RB-014"].held] == [
        "condemned" if how == "gone" else "struck out in the sheet"
    ]
    again = import_table(old.book, TODAY, tab, typed(said), by="MV")
    assert isinstance(again.planned, Act)
    assert again.planned.edits == ()


def test_work_that_is_no_entry_can_be_left_out(old: Shop) -> None:
    table = TESTS.replace("Hydro,Northside,pass", "Overhaul,Northside,pass", 1)
    said = mapping(table, **{'"B-17": ?': '"B-17": B-17', '"Overhaul": ?': '"Overhaul": leave-out'})
    got = imported(old.book, table, said)
    assert [f.why for f in got.fates if f.comes is Comes.LEFT_OUT] == [["left out: `Overhaul`"]]
    assert isinstance(got.planned, Act)


def test_a_test_that_failed_is_no_pass(ledger: Shop) -> None:
    table = "Serial,Date,What,Result\nK118204,04/2025,Hydro,fail\n"
    got = imported(ledger.book, table)
    ledger.fact(got.planned)
    assert ledger["RB-014"].requalified[-1].result == "fail"


RESULTS = "Serial,Maker,WP (bar),Hydro,VIP,{},Remarks\nK1,Works,232,04/2022,03/2026,{},\n"


@pytest.mark.parametrize(
    ("heading", "cell", "answer", "comes"),
    [
        ("Hydro result", "pass", "", "new"), ("Hydro result", "OK", "", "new"), ("Hydro result", "ja", "", "new"),
        ("Hydro result", "fail", "", "new and held"), ("Hydro result", "nein", "", "new and held"),
        ("Hydro pass/fail", "F", "", "new and held"), ("VIP passed?", "no", "", "new and held"),
        ("VIP", "ok", "", "new"), ("VIP", "failed", "", "new and held"), ("Ergebnis Hydro", "n.i.O.", "", "new and held"),
        ("Hydro result", "scrap", "fail", "new and held"), ("Hydro result", "Condemned", "fail", "new and held"),
        ("Hydro result", "", "", "CANNOT"), ("Hydro result", "?", "", "CANNOT"), ("Hydro result", "#N/A", "", "CANNOT"),
        ("Hydro result", "pending", "remark", "CANNOT"),
        ("Condition", "scrap", "here", "new and held"), ("Condition", "poor", "", "new and held"),
        ("Status", "condemned", "hold", "new and held"), ("Status", "condemned", "leave-out", "left out"),
        ("Status", "condemned", "here", "CANNOT"), ("Status", "Sold", "here", "CANNOT"), ("Status", "lost", "here", "CANNOT"),
        ("Place", "scrap bin", "", "CANNOT"), ("Condemned", "2021-03", "hold", "new and held"),
        ("Tag", "K1 (sold)", "", "CANNOT"), ("Lost?", "lost", "hold", "new and held"),
    ],
)  # fmt: skip
def test_what_did_not_pass_or_is_gone_gets_no_fit_card(
    heading: str, cell: str, answer: str, comes: str, ledger: Shop
) -> None:
    """By whichever column a row says it: a result, a state, a place, a remark."""
    table = RESULTS.format(heading, cell)
    said = mapping(table)
    if answer == "remark":
        said = re.sub(r"(key: hydro_result\n(?:    .*\n)*)", r"\1    otherwise: remark\n", said)
        said = said.replace('      "pending": ?\n', "").replace(
            "    values:\n    other", "    other"
        )
    else:
        said = re.sub(rf'("[^"]*{re.escape(cell)}"): \?', rf"\1: {answer}", said)
    got = imported(ledger.book, table, said, good=True)
    assert fates(got) == {2: comes}, whys(got)
    for id_ in got.ids:
        held = got.book.cylinders[id_].status is Status.HELD
        assert held == (comes == "new and held")


@pytest.mark.parametrize(
    ("heading", "key"),
    [
        ("Hydro result", "hydro_result"), ("VIP ok", "visual_result"), ("Result", "?"), ("Test passed", "?"),
        ("Ergebnis TÜV", "hydro_result"), ("Pass/Fail", "?"), ("Pass?", "?"),
    ],
)  # fmt: skip
def test_a_result_is_of_the_test_that_its_heading_names_or_is_asked(heading: str, key: str) -> None:
    found = guessed(RESULTS.format(heading, "pass"))
    assert [c.key for c in found.columns if c.heading == heading] == [key]
    alone = RESULTS.format(heading, "pass").replace("VIP,", "Colour,")
    assert key != "?" or [c.key for c in guessed(alone).columns if c.heading == heading] == [
        "hydro_result"
    ]


DATED = "Serial,Hydro,VIP\nA1,13/04/2021,24-03-11\nA2,14/04/2021,24-05-12\n"


@pytest.mark.parametrize(
    ("more", "came"),
    [("", "CANNOT"), ("    dates: year-first\n", "new"), ("    dates: day-first\n", "new")],
)
def test_an_order_of_one_column_is_none_of_another_hand(more: str, came: str, ledger: Shop) -> None:
    said = mapping(DATED)
    assert guessed(DATED).dates == "?"
    if more:
        head, _, tail = said.partition("key: visual\n")
        said = f"{head}key: visual\n{more}{tail}"
    got = imported(ledger.book, DATED, said, good=True)
    assert set(fates(got).values()) == {came}
    assert more or "may be 2011-03-24 or 2024-03-11: write `dates:` for its own" in whys(got)
    if more:
        seen = got.book.cylinders[got.ids[0]].inspected[0].on
        assert str(seen) == ("2024-03-11" if "year" in more else "2011-03-24")


def test_a_result_below_a_heading_that_reaches_over_it() -> None:
    table = "No;Serial;Hydro;;VIP;\n;;Date;Result;Date;Result\nA1;S1;04/2022;pass;03/2026;fail\n"
    found = guessed(table)
    assert found.headings == "1-2"
    keys = [c.key for c in found.columns]
    assert keys == ["id", "serial", "hydro", "hydro_result", "visual", "visual_result"]


def test_what_failed_is_entered_as_failed(ledger: Shop) -> None:
    table = RESULTS.replace("{}", "Hydro result", 1).replace("{}", "nein")
    got = imported(ledger.book, table)
    ledger.fact(got.planned)
    card = ledger[got.ids[0]]
    assert [t.result for t in card.requalified] == ["fail"]
    assert [i.result for i in card.inspected] == ["pass"]
    assert card.held[0].why == "Hydro result: nein"


@pytest.mark.parametrize(
    ("dates", "means", "result", "tests", "note"),
    [
        ("03/2027", "is: next\n    period: 5 years", "fail", [], "Hydro: 03/2027"),
        ("03/2027", "is: next\n    period: 5 years", "pass", ["2022-03 pass"], None),
        ("03/2022", "is: last", "fail", ["2022-03 fail"], None),
        ("04/2011; 03/2022", "is: last", "fail", ["2011-04 pass", "2022-03 fail"], None),
    ],
)
def test_what_failed_is_no_test_that_was_worked_out_from_the_next(
    dates: str, means: str, result: str, tests: list[str], note: str | None, ledger: Shop
) -> None:
    """A test after which a next one is due was passed; of the one that failed the row has no day."""
    table = f"Serial,Maker,Hydro,Hydro result\nK1,Works,{dates},{result}\n"
    got = imported(ledger.book, table, mapping(table, **{"is: ?": means, "is: last": means}))
    card = got.book.cylinders[got.ids[0]]
    assert [f"{t.on} {t.result}" for t in card.requalified] == tests, whys(got)
    assert card.note == note
    assert (card.status is Status.HELD) == (result == "fail")


@pytest.mark.parametrize("result", ["pass", "fail"])
def test_no_other_test_is_entered_as_the_one_that_failed(result: str, ledger: Shop) -> None:
    """Where one of them could not be read, nobody here knows which it was."""
    table = f"Serial,Maker,Hydro 2016,Hydro 2021,Hydro result\nK1,Works,04/2016,2021?,{result}\n"
    said = mapping(table).replace("is: last", "is: last\n    otherwise: remark")
    got = imported(ledger.book, table, said)
    card = got.book.cylinders[got.ids[0]]
    assert [t.result for t in card.requalified] == (["pass"] if result == "pass" else [])
    assert "Hydro 2021: 2021?" in f"{card.note} {card.held}"
    assert (card.status is Status.HELD) == (result == "fail")


OWNED = "Serial,Maker,Owner\nK1,Works,Shop\nK2,Works,J. Wong\nK3,Works,\n"


@pytest.mark.parametrize(
    ("use", "owned", "came"),
    [
        ("rental", "customer", ["rental", "customer", "rental"]),
        ("rental", "rental", ["rental", "rental", "rental"]),
        ("customer", None, ["customer", "customer", "customer"]),
        ("rental", None, ["rental", "CANNOT", "rental"]),
    ],
)
def test_what_is_somebodys_own_is_not_taken_for_the_shops(
    use: str, owned: str | None, came: list[str], ledger: Shop
) -> None:
    said = mapping(OWNED, **{'"J. Wong": ?': '"J. Wong": B-9', "use: pool": f"use: {use}"})
    assert "\nowned: ?" in said
    said = said.replace("owned: ?", f"owned: {owned}" if owned else "# not said")
    got = imported(ledger.book, OWNED, said, good=True)
    cards = [got.book.cylinders[f.id] if f.id else None for f in got.fates]
    assert [c.use.value if c and c.use else "CANNOT" for c in cards] == came
    assert owned or use == "customer" or "write `owned: customer` in the mapping" in whys(got)


@pytest.mark.parametrize(
    ("remark", "held", "told"),
    [
        ("belongs to Mr Green", False, True), ("customer tank", False, True), ("gehört Schmidt", False, True),
        ("appartient à Paul", False, True), ("à réviser", True, True), ("yellow boot, rack 2", False, False),
    ],
)  # fmt: skip
def test_a_remark_by_which_it_is_anothers_is_told_and_holds_nothing(
    remark: str, held: bool, told: bool, ledger: Shop
) -> None:
    got = imported(ledger.book, HEADS + ROW.replace("04/2022,", f'04/2022,"{remark}"'))
    assert fates(got) == {2: "new and held" if held else "new"}
    assert bool(got.fates[0].why) is told


def test_two_cylinders_on_one_row_are_told(ledger: Shop) -> None:
    told = " ".join(imported(ledger.book, HEADS + ROW.replace("K1", "00130/00131")).told)
    assert "column A: `00130/00131` (row 2) may be the serials of two cylinders" in told
    assert "two cylinders" not in " ".join(imported(ledger.book, HEADS + ROW).told)
    both = guessed("Set,Serial L,Serial R\nT1,L100,R100\n")
    assert [c.key for c in both.columns] == ["keep", "?", "?"]
    assert all("A second cylinder has its own row" in c.told for c in both.columns[1:])


@pytest.mark.parametrize(
    ("cell", "told"), [("Mar 24", True), ("Mar-24", False), ("Mar 2024", False), ("Mar 98", False)]
)
def test_a_month_with_what_may_be_its_day_is_told(cell: str, told: bool, ledger: Shop) -> None:
    got = imported(ledger.book, HEADS + ROW.replace("04/2022", cell))
    assert ("where the number is a day" in " ".join(got.told)) == told


@pytest.mark.parametrize("cell", ["Mar 24", "3/24", "24 Mar"])
def test_a_rental_has_the_year_of_its_day(cell: str, ledger: Shop) -> None:
    table = f"Serial,Who has it,Due back\nK1,Jim,{cell}\n"
    got = imported(ledger.book, table, good=True)
    assert fates(got) == {2: "CANNOT"}
    assert "has no year, or no day" in whys(got)


def test_no_way_out_is_offered_that_leads_nowhere(ledger: Shop) -> None:
    """A row without its serial is no card, so that it is of no use to keep that as a remark."""
    said = whys(imported(ledger.book, HEADS + ROW.replace("K1", "1.2E+05"), good=True))
    assert "otherwise: remark" not in said
    assert "make the cell one of text" in said


def test_headings_that_say_last_and_next_below_another() -> None:
    table = "Tank;;Hydro;;Visual;\n#;Serial;Last;Next;Last;Next\nA1;S1;04/2022;04/2027;03/2026;\n"
    found = guessed(table)
    assert (found.headings, [c.key for c in found.columns][:5]) == (
        "1-2",
        ["id", "serial", "hydro", "hydro", "visual"],
    )
    assert [c.heading for c in found.columns][2:4] == ["Hydro / Last", "Hydro / Next"]


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("#REF!", "is an error of the spreadsheet"), ("#BEZUG!", "is an error"), ("#N/A", "is an error"),
        ("#NV", "is an error"), ("####", "is an error"), ("Err:502", "is an error"), ("#DIV/0!", "is an error"),
        ("=A2&B2", "is a formula of which the file has no value"), ("1.2E+05", "figures are lost"),
        ("1,2E+05", "figures are lost"), ("K1 SOLD", "says `sold`"),
    ],
)  # fmt: skip
def test_no_error_of_a_spreadsheet_becomes_a_serial(cell: str, said: str, ledger: Shop) -> None:
    got = imported(ledger.book, HEADS + ROW.replace("K1", f'"{cell}"'), good=True)
    assert fates(got) == {2: "CANNOT"}
    assert said in whys(got)


@pytest.mark.parametrize("cell", ["#12", "#A1", "E05", "1E05", "12E4"])
def test_what_looks_like_one_and_is_none(cell: str, ledger: Shop) -> None:
    assert fates(imported(ledger.book, HEADS + ROW.replace("K1", cell))) == {2: "new"}


def test_serials_that_may_have_lost_their_noughts_are_told(ledger: Shop) -> None:
    rows = ROW.replace("K1", "00123") + ROW.replace("K1", "124") + ROW.replace("K1", "654321")
    told = " ".join(imported(ledger.book, HEADS + rows).told)
    assert "column A: 1 serial of figures alone (row 3, such as 124): noughts in front" in told
    assert "noughts" not in " ".join(imported(ledger.book, HEADS + ROW.replace("K1", "124")).told)


@pytest.mark.parametrize("cell", ['"=""00123"""', "'00123"])
def test_noughts_that_were_kept_by_a_sign_stay(cell: str, ledger: Shop) -> None:
    got = imported(ledger.book, HEADS + ROW.replace("K1", cell))
    assert got.book.cylinders[got.ids[0]].serial == "00123"


def test_what_is_not_mapped_is_told_and_kept(ledger: Shop) -> None:
    table = "Serial,Colour,Owner's dog\nK1,yellow,Rex\n"
    said = "headings: 1\nuse: pool\ncolumns:\n  - {column: A, key: serial}\n"
    got = imported(ledger.book, table, said)
    assert got.told[:2] == (
        "column B (`Colour`) is not mapped: what stands in it is kept in the notes",
        "column C (`Owner's dog`) is not mapped: what stands in it is kept in the notes",
    )
    ledger.do(got.planned)
    assert ledger["PL-001"].note == "Colour: yellow; Owner's dog: Rex"


def test_nothing_of_a_row_is_dropped_without_a_word(ledger: Shop) -> None:
    """Every cell stands on the card, or in a reason, or was said to be left out."""
    table = "Serial,Colour,Fill log,Tagged,Remarks\nK1,yellow,page 7,x,blue boot\n"
    got = imported(ledger.book, table)
    ledger.do(got.planned)
    text = ledger.files["cylinders/PL-001.yaml"]
    assert all(
        each in text
        for each in ("K1", "Colour: yellow", "Fill log: page 7", "Tagged: x", "blue boot")
    )


def test_remarks_longer_than_a_note_refuse_their_row(ledger: Shop) -> None:
    got = one(ledger, f"K1,Works,232,04/2022,{'so it goes ' * 50}\n")
    assert "characters, and a note holds 500" in whys(got)


def test_who_is_gone_is_asked(ledger: Shop) -> None:
    rows = "K1,Works,232,04/2022,scrapped in May\n"
    said = mapping(HEADS + rows)
    assert '"scrapped in May": ?' in said
    for answer, fate in (
        ("leave-out", "left out"),
        ("hold", "new and held"),
        ("here", "new and held"),
    ):
        got = imported(ledger.book, HEADS + rows, said.replace('May": ?', f'May": {answer}'))
        assert fates(got) == {2: fate}, answer  # `scrapped` is a word of an inspector as well
    got = imported(ledger.book, HEADS + rows, said.replace('May": ?', 'May": hold'))
    assert [h.why for h in got.book.cylinders[got.ids[0]].held] == ["scrapped in May"]  # once
    assert not any("nobody judged" in told for told in got.told)
    gone = mapping(HEADS + rows).replace("gone:", "# gone:").replace('  "scrapped', '#  "scrapped')
    assert "a remark says `scrapped`" in whys(imported(ledger.book, HEADS + rows, gone))


def test_names_are_asked_for_a_reference(ledger: Shop) -> None:
    table = "Serial,Who has it\nK1,Jim\nK2,shed\nK3,\n"
    said = mapping(table)
    got = imported(ledger.book, table, said)
    ledger.do(got.planned)
    assert [ledger[i].status for i in ("PL-001", "PL-002")] == [
        Status.OUT,
        Status.AWAITING_INSPECTION,
    ]
    new = imported(ledger.book, table.replace("shed", "Pat"), said)
    assert "`Pat` is not among its `values:`" in whys(new)


HIDDEN = "headings: 1\nuse: pool\ncolumns:\n  - {column: A, key: serial}\n"


@pytest.mark.parametrize(
    ("said", "why"),
    [
        (HIDDEN.replace("use: pool\n", ""), "what the cylinders are kept for is not said"),
        (HIDDEN.replace("column: A", "column: Z"), "there is no column Z in club.csv; its last column is E"),
        (HIDDEN.replace("column: A", "column: 7"), "`7` is no column: write its letter"),
        (HIDDEN.replace("key: serial", "key: serail"), "`serail` is nothing that a column can hold"),
        (HIDDEN.replace("key: serial", "key: serial, heading: Number"), "is headed `Serial`, not `Number`"),
        (HIDDEN.replace("key: serial", "key: hydro, is: last"), "no column says which cylinder a row is about"),
        (HIDDEN + "  - {column: A, key: maker}\n", "column A is there twice"),
        (HIDDEN + "  - {column: B, key: serial}\n", "`serial` stands in another column already"),
        (HIDDEN + "  - {column: C, key: service_pressure, unit: litres}\n", "`litres` is no unit of `service_pressure`"),
        (HIDDEN + "  - {column: D, key: hydro}\n", "does not say whether its dates are of the last test"),
        (HIDDEN + "  - {column: B, key: maker, is: last}\n", "`is:` is of `hydro` and `visual`"),
        (HIDDEN.replace("headings: 1", "headings: one"), "`one` names no row"),
        (HIDDEN.replace("headings: 1", "headings: 1-9"), "is more than three rows"),
        (HIDDEN.replace("headings: 1", "headings: 2"), "there is no row below the headings"),
        (HIDDEN.replace("use", "rows: entries\nuse"), "of entries, it is said what each row is"),
    ],
)  # fmt: skip
def test_a_mapping_that_cannot_be_meant(said: str, why: str, ledger: Shop) -> None:
    got = imported(ledger.book, HEADS + ROW, said)
    assert why in reasons(got.planned), reasons(got.planned)
    assert isinstance(got.planned, Refusal)
    assert all(f.where.path == "club.yaml" and f.where.line for f in got.planned.findings)


def test_somebody_signs_for_it(ledger: Shop) -> None:
    assert "who did it is not said" in reasons(imported(ledger.book, CLUB, by="").planned)
    assert "XX is not among the people" in reasons(imported(ledger.book, CLUB, by="XX").planned)


def test_what_keeps_each_from_a_yes(ledger: Shop) -> None:
    left = {card.id: what for card, what in what_is_left(imported(ledger.book, CLUB), TODAY)}
    assert len(left) == 10
    assert "it is held: valve leaks" in left["HD-03"]
    assert all(any("thread is not recorded" in each for each in what) for what in left.values())


def test_a_mapping_of_another_table_is_refused(ledger: Shop) -> None:
    other = CLUB.replace(";Serial;Make;", ";Make;Serial;")
    got = imported(ledger.book, other, mapping(CLUB))
    assert "is headed `Make`, not `Serial`" in reasons(got.planned)


def test_its_keys_are_typed_once() -> None:
    assert typed(mapping(CLUB)).columns[3].unit == "bar"


# --- remarks that nobody judged ------------------------------------------------------------------

FLOMPS = (
    "K1,Works,232,04/2022,flomps\nK2,Works,232,04/2022,blue boot\nK3,Works,232,04/2022,Flomps\n"
)


def test_a_remark_that_nobody_judged_is_told_and_the_mapping_says_what_it_is(ledger: Shop) -> None:
    def of(more: str) -> Imported:
        return imported(ledger.book, HEADS + FLOMPS, mapping(HEADS + FLOMPS) + more)

    got = of("")
    assert fates(got) == {2: "new", 3: "new", 4: "new"}
    [told] = [t for t in got.told if "nobody judged" in t]
    assert "`flomps` (row 2); `Flomps` (row 4)" in told
    assert '`remarks: {"flomps": hold}`' in told
    assert whys(got) == "nobody judged its remark `flomps`; nobody judged its remark `Flomps`"
    held = of('remarks: {"flomps": hold}\n')
    assert fates(held) == {2: "new and held", 3: "new", 4: "new and held"}
    assert not [t for t in held.told if "nobody judged" in t]
    ledger.fact(of('remarks: {"flomps": harmless}\n').planned)
    assert [c.status for c in ledger.book.cylinders.values()].count(Status.HELD) == 0


def test_no_mapping_calls_harmless_what_tells_against_a_cylinder(ledger: Shop) -> None:
    rows = "K1,Works,232,04/2022,nicht verwenden\n"
    said = mapping(HEADS + rows) + 'remarks: {"nicht verwenden": harmless, "bossee": hold}\n'
    got = imported(ledger.book, HEADS + rows, said)
    assert fates(got) == {2: "new and held"}
    assert "whatever the mapping says" in whys(got)
    assert "the mapping says of `bossee` what it is, and no remark says that" in got.told


def test_a_kept_column_of_a_heading_that_nobody_knows_is_told_once_with_its_count(
    ledger: Shop,
) -> None:
    heads = "Serial,Maker,WP (bar),Hydro,Ampel,Zustand,Stillgelegt\n"
    rows = "".join(f"K{n},Works,232,04/2022,rot,gut,\n" for n in range(1, 41))
    rows += "K99,Works,232,04/2022,,3,05/2023\n"

    def of(more: str) -> Imported:
        return imported(ledger.book, heads + rows, mapping(heads + rows) + more)

    got = of("")
    assert fates(got)[2] == "new"
    assert fates(got)[42] == "new and held"
    [told] = [t for t in got.told if "nobody judged" in t]
    assert "`Ampel` (40 cells, such as `rot`, row 2, 3, 4, 5, 6); `Zustand` (1 cell, such" in told
    assert "rot" not in whys(got)
    for more in ('remarks: {"Ampel": harmless, "Zustand": harmless}\n', "remarks: {AMPEL: hold}\n"):
        answered = of(more)
        assert not [t for t in answered.told if "`Ampel`" in t]
        assert fates(answered)[2] == ("new and held" if "hold" in more else "new")
    [first, *_] = ledger.fact(got.planned).subjects
    reasons_ = may_fill(ledger.book, first, TODAY, station=False).reasons
    assert [r for r in reasons_ if "Ampel: rot" in r.text]


# --- one day, and which test it was --------------------------------------------------------------

WHICH = "No,Serial,Maker,WP (bar),Test date,{},Result\n"
OF_WHICH = (
    "N1,K1,Works,232,04/2022,H,pass\nN2,K2,Works,232,05/2025,V,pass\n"
    "N3,K3,Works,232,05/2025,,pass\nN4,K4,Works,232,05/2025,V,fail\n"
)


@pytest.mark.parametrize("heading", ["Type", "H/V", "Test type", "Kind"])
def test_a_day_is_of_the_test_that_its_row_names_in_another_column(
    heading: str, ledger: Shop
) -> None:
    table = WHICH.format(heading) + OF_WHICH
    assert [c.key for c in guessed(table).columns][4:] == ["hydro", "what", "hydro_result"]
    got = imported(ledger.book, table)
    assert fates(got) == {2: "new", 3: "new", 4: "new", 5: "new and held"}
    cards = {c.serial: c for c in got.book.cylinders.values()}
    assert {k: len(c.requalified) for k, c in cards.items() if k != "K118204"} == {
        "K1": 1, "K2": 0, "K3": 0, "K4": 0,
    }  # fmt: skip
    assert [i.result for i in (*cards["K2"].inspected, *cards["K4"].inspected)] == [
        "pass",
        "reject",
    ]
    assert not cards["K3"].inspected
    assert "Test date: 05/2025" in (cards["K3"].note or "")
    assert "of which test is not said" in whys(got)
    ledger.fact(got.planned)


def test_a_day_worked_out_from_the_next_hydro_is_of_no_visual(ledger: Shop) -> None:
    table = WHICH.format("Type") + OF_WHICH
    said = mapping(table).replace("is: last", "is: next\n    period: 5 years")
    got = imported(ledger.book, table, said)
    cards = [c for c in got.book.cylinders.values() if c.serial in ("K2", "K3", "K4")]
    assert not [e for c in cards for e in (*c.requalified, *c.inspected)]


def test_what_names_neither_test_is_asked(ledger: Shop) -> None:
    table = WHICH.format("Type") + OF_WHICH
    got = imported(ledger.book, table.replace(",V,pass", ",H+V,pass"), mapping(table))
    assert "`H+V` names no test" in whys(got)


def test_which_test_beside_columns_that_say_it_is_kept() -> None:
    table = (
        "Serial,Maker,WP (bar),Last hydro,Type\nK1,Works,232,04/2022,H\nK2,Works,232,04/2022,V\n"
    )
    assert [c.key for c in guessed(table).columns][3:] == ["hydro", "keep"]


# --- where a cylinder is -------------------------------------------------------------------------

PLACED = "Serial,Maker,WP (bar),Location,Hydro\n"
PLACES_HOLD = [
    "out of service rack", "workshop, awaiting disposal", "test house", "quarantine", "police evidence", "at the requalifier",
    "at Northern Test House", "in test", "on test", "skip", "the dump", "Northside Hydro", "Hydro", "under test", "Northside test lab", "scrapheap",
    "bench, red tag", "Sperrlager, gesperrt", "repair shop", "zur Prüfung", "im Schrottregal", "à la casse", "en el taller", "in officina", "bij de keurmeester",
]  # fmt: skip
PLACES_ASKED = [
    "behind the compressor", "ask first", "by the yellow flompf", "test rack", "hydro shelf", "the tip of the pier", "under the stairs",
]  # fmt: skip
PLACES = [
    "rack 3", "Rack B/2", "B2", "14", "Regal 3", "shed", "top shelf, left", "store room", "stock room", "back room", "pool cage", "staff locker",
    "sales floor", "pony shelf", "drying stand", "oxygen cage, outside", "Flaschenregal, oben", "Bootshaus", "in der Halle", "Keller", "étagère 2",
    "cave", "estante 4", "almacén", "scaffale 2", "magazzino", "rek 3", "kelder", "club", "here", "home", "A", "Compressor room", "Vereinsheim",
]  # fmt: skip
PEOPLE = [
    "lent to Bob", "with Dave", "Bob", "Sue Miller", "on loan", "Bob's garage", "bei Müller", "verliehen an Sabine", "chez Marc", "prêtée à Luc",
    "prestada a Ana", "con Luis", "in prestito a Marco", "da Anna", "bij Piet", "uitgeleend aan Jan", "out to the Smiths", "c/o Jones",
]  # fmt: skip


def placed(ledger: Shop, text: str, answer: str = "") -> Imported:
    table = f'{PLACED}K1,Works,232,"{text}",04/2022\nK2,Works,232,rack 4,04/2022\n'
    table += "K3,Works,232,rack 5,04/2022\n"
    said = mapping(table)
    assert "key: place" in said
    return imported(ledger.book, table, said.replace(f'"{text}": ?', f'"{text}": {answer}'))


@pytest.mark.parametrize("text", PLACES_HOLD)
@pytest.mark.parametrize("answer", ['"{}"', "here", "rack 7"])
def test_what_a_place_says_against_a_cylinder_holds_it(
    text: str, answer: str, ledger: Shop
) -> None:
    assert fates(placed(ledger, text, answer.format(text)))[2] == "new and held"


def test_no_answer_of_the_mapping_lets_a_place_pass_that_tells_against_it(ledger: Shop) -> None:
    assert fates(placed(ledger, "Quarantine", "Quarantine"))[2] == "new and held"
    assert fates(placed(ledger, "Quarantine", "keep"))[2] == "new and held"


@pytest.mark.parametrize("text", PLACES_ASKED)
def test_a_place_that_nobody_knows_is_asked(text: str, ledger: Shop) -> None:
    table = f'{PLACED}K1,Works,232,"{text}",04/2022\nK2,Works,232,rack 4,04/2022\n'
    bare = mapping(table).replace(f'      "{text}": ?\n', "")
    got = imported(ledger.book, table, re.sub(r"    values:.*\n", "", bare))
    assert fates(got) == {2: "CANNOT", 3: "new"}
    assert f"`{text}` is no place that is known" in whys(got)
    got = placed(ledger, text, "here")
    [card] = [c for c in got.book.cylinders.values() if c.serial == "K1"]
    assert (fates(got)[2], card.place, whys(got)) == ("new", text, "")
    assert fates(placed(ledger, text, "hold"))[2] == "new and held"
    got = placed(ledger, text, "keep")
    assert f"nobody judged its remark `Location: {text}`" in whys(got)
    [first, *_] = ledger.fact(got.planned).subjects
    reasons_ = may_fill(ledger.book, first, TODAY, station=False).reasons
    assert [r for r in reasons_ if f"Location: {text}" in r.text]


@pytest.mark.parametrize("text", ["unknown", "?", "TBC"])
@pytest.mark.parametrize("heading", ["Location", "Status", "Who has it"])
def test_that_nobody_knows_whether_it_is_here_is_asked(
    heading: str, text: str, ledger: Shop
) -> None:
    heads = f"Serial,Maker,WP (bar),Hydro,{heading}\n"
    table = f"{heads}K1,Works,232,04/2022,{text}\nK2,Works,232,04/2022,here\n"
    said = mapping(table)
    assert f'"{text}": ?' in said
    got = imported(ledger.book, table, said.replace(f'      "{text}": ?\n', ""))
    assert fates(got) == {2: "CANNOT", 3: "new"}
    answer = "M-001" if heading == "Who has it" else "hold"
    got = imported(ledger.book, table, said.replace(f'"{text}": ?', f'"{text}": {answer}'))
    assert fates(got)[2] == ("new" if answer == "M-001" else "new and held")


def test_of_what_it_is_filled_with_that_nobody_knows_it_is_told(ledger: Shop) -> None:
    table = "Serial,Maker,WP (bar),Hydro,Gas\nK1,Works,232,04/2022,?\nK2,Works,232,04/2022,air\n"
    assert "its remark `Gas: ?`" in whys(imported(ledger.book, table))


@pytest.mark.parametrize("text", PLACES)
def test_a_place_that_is_known_stays_one(text: str, ledger: Shop) -> None:
    got = placed(ledger, text)
    assert fates(got)[2] == "new"
    assert not whys(got)
    [card] = [c for c in got.book.cylinders.values() if c.serial == "K1"]
    assert card.place == text


@pytest.mark.parametrize("text", PEOPLE)
def test_who_has_it_is_asked_where_a_place_says_it(text: str, ledger: Shop) -> None:
    table = f'{PLACED}K1,Works,232,"{text}",04/2022\nK2,Works,232,rack 4,04/2022\n'
    table += "K3,Works,232,rack 5,04/2022\n"
    assert f'"{text}": ?' in mapping(table)
    bare = re.sub(r"    values:.*\n", "", mapping(table).replace(f'      "{text}": ?\n', ""))
    got = imported(ledger.book, table, bare)
    assert fates(got)[2] == "CANNOT"
    assert "a ledger keeps references" in whys(got)
    got = placed(ledger, text, "out to M-007")
    assert fates(got)[2] == "new"
    ledger.fact(got.planned)
    [card] = [c for c in ledger.book.cylinders.values() if c.serial == "K1"]
    assert card.place is None
    assert card.status == Status.OUT
    assert text not in ledger.files[f"cylinders/{card.id}.yaml"]


def test_what_looks_like_a_name_is_the_place_that_the_mapping_says(ledger: Shop) -> None:
    got = placed(ledger, "Lakeside", "Lakeside")
    [card] = [c for c in got.book.cylinders.values() if c.serial == "K1"]
    assert (card.place, card.note, fates(got)[2]) == ("Lakeside", None, "new")


def test_what_else_a_place_says_beside_who_has_it_is_judged(ledger: Shop) -> None:
    got = placed(ledger, "lent to Bob, leaks", "out to M-007")
    assert fates(got)[2] == "new and held"
    assert "Bob" not in whys(got)


def test_a_column_of_places_that_is_full_of_names_is_asked(ledger: Shop) -> None:
    table = f"{PLACED}K1,Works,232,Sue,04/2022\nK2,Works,232,Jim,04/2022\n"
    [column] = [c for c in guessed(table).columns if c.heading == "Location"]
    assert column.key == "?"
    assert "names of people" in column.told


FAILED_HEADS = [
    "Hydro failed", "Visual rejected", "Last failed hydro", "Hydro test fail", "Failed / Hydro", "Hydro nicht bestanden",
    "Épreuve refusée", "Prueba no superada", "Collaudo respinto", "Keuring afgekeurd", "Last hydro failure", "Failed visual",
]  # fmt: skip


@pytest.mark.parametrize("head", FAILED_HEADS)
def test_below_a_heading_of_failure_no_day_is_of_a_test_that_was_passed(
    head: str, ledger: Shop
) -> None:
    heads, rows = f"Serial,Maker,WP (bar),Stamped,{head}\n", "K1,Works,232,04/2022,04/2025\n"
    [column] = [c for c in guessed(heads + rows).columns if c.heading == head]
    assert column.key in ("?", "keep")
    said = mapping(heads + rows).replace("key: ?", "key: keep")
    assert fates(imported(ledger.book, heads + rows, said)) == {2: "new and held"}
    for key in ("hydro", "visual"):
        as_test = re.sub(r'(heading: "Stamped"\n    key: )\?', r"\1keep", mapping(heads + rows))
        at = as_test.index(f'heading: "{head}"')
        as_test = as_test[:at] + re.sub(
            r"key: (\?|keep)", f"key: {key}\n    is: last", as_test[at:], count=1
        )
        got = imported(ledger.book, heads + rows, as_test)
        assert fates(got) == {2: "new and held"}
        [card] = [c for c in got.book.cylinders.values() if c.serial == "K1"]
        [of_day] = [e for e in (*card.requalified, *card.inspected) if str(e.on) == "2025-04"]
        assert of_day.result == ("fail" if key == "hydro" else "reject")


def test_a_yes_below_a_heading_of_failure_is_no_pass(ledger: Shop) -> None:
    heads = "Serial,Maker,WP (bar),Hydro,Hydro failed\n"
    rows = "K1,Works,232,04/2022,Y\nK2,Works,232,04/2022,N\n"
    said = mapping(heads + rows)
    kept = imported(ledger.book, heads + rows, said.replace("key: ?", "key: keep"))
    assert fates(kept) == {2: "new and held", 3: "new"}
    got = imported(ledger.book, heads + rows, said.replace("key: ?", "key: hydro_result"))
    assert fates(got) == {2: "CANNOT", 3: "CANNOT"}
    assert "`Y` below `Hydro failed` may be of a fail" in whys(got)
    means = 'key: hydro_result\n    values: {"Y": fail, "N": pass}'
    got = imported(ledger.book, heads + rows, said.replace("key: ?", means))
    assert fates(got) == {2: "new and held", 3: "new"}


def test_of_entries_a_day_below_a_heading_of_failure_is_of_one_that_failed(ledger: Shop) -> None:
    ledger.fact(imported(ledger.book, HEADS + ROW).planned)
    table = "Serial,Failed on,What\nK1,04/2024,hydro\n"
    said = mapping(table).replace("key: ?", "key: on").replace("key: keep", "key: on")
    got = imported(ledger.book, table, said)
    [card] = [c for c in got.book.cylinders.values() if c.serial == "K1"]
    assert [t.result for t in card.requalified if str(t.on) == "2024-04"] == ["fail"]


def test_below_a_remark_column_of_faults_a_value_is_no_plain_remark(ledger: Shop) -> None:
    heads = "Serial,Maker,WP (bar),Hydro,Faults\n"
    rows = "K1,Works,232,04/2022,new valve\n"
    said = mapping(heads + rows)
    assert "key: keep" in said
    got = imported(ledger.book, heads + rows, said.replace("key: keep", "key: remark"))
    assert fates(got) == {2: "new and held"}
    assert whys(got) == "held until looked at: a remark says Faults"


@pytest.mark.parametrize("text", ["?", "TBC", "t.b.d."])
def test_what_is_to_be_found_out_is_kept_and_told(text: str, ledger: Shop) -> None:
    got = one(ledger, f"K1,Works,232,04/2022,{text}\n")
    assert f"nobody judged its remark `Remarks: {text}`" in whys(got)
    act = ledger.fact(got.planned)
    assert f"Remarks: {text}" in (ledger[act.subjects[0]].note or "")


def test_remarks_that_say_nothing_are_counted(ledger: Shop) -> None:
    got = one(
        ledger, "K1,Works,232,04/2022,-\nK2,Works,232,04/2022,n/a\nK3,Works,232,04/2022,new\n"
    )
    assert "2 remarks that say nothing (-, n/a) are left out" in got.told
    assert not whys(got)


# --- a second table beneath the first ------------------------------------------------------------

TWO = "No,Serial,Maker,WP (bar),Visual,Hydro\nA1,K1,Works,232,03/2026,04/2024\nA2,K2,Works,232,03/2026,04/2024\n"
BENEATH = "B1,K3,Works,232,03/2021,04/2026\nB2,K4,Works,232,03/2021,04/2026\n"


@pytest.mark.parametrize(
    "again",
    [
        "No,Serial,Maker,WP (bar),Hydro,Visual\n",
        "no,serial,maker,wp (bar),hydro,visual\n",
        "Nr,Seriennr,Hersteller,Druck,TÜV,Sicht\n",
        "Number,Serial No,Brand,Pressure bar,Last hydro 2016,Last visual\n",
        "Twins,Serial left,Serial right,,Hydro,\n",
        "Small ones,,,,,\nNo,Serial,Maker,WP (bar),Hydro,Visual\n",
        ",,,,,\nNo,Serial,Hydro,Visual,,\n",
    ],
)
def test_beneath_other_headings_nothing_is_taken(again: str, ledger: Shop) -> None:
    """Hydro and visual change places there: taken, the day of one would stand for the other."""
    table = TWO + again + BENEATH
    said = mapping(TWO)
    got = imported(ledger.book, table, said, good=True)
    last = {row: comes for row, comes in fates(got).items() if row > 3}
    assert list(last.values())[-3:] == ["CANNOT"] * 3, last
    [other] = {f.row for f in got.fates if "here stand headings again" in "".join(f.says)}
    last_row = other - (2 if again.startswith("Small ones") else 1)  # a title goes with its table
    assert all(f"write `last_row: {last_row}`" in "".join(f.says) for f in got.cannot)
    assert list(ledger.fact(got.planned).subjects) == ["A1", "A2"]
    # and what it says is what mends it
    mended = imported(ledger.book, table, f"last_row: {last_row}\n{said}")
    assert not mended.cannot
    guess_ = guessed(table)
    assert all("Hydro" not in c.samples and "Serial" not in c.samples for c in guess_.columns)


def test_the_same_headings_again_are_a_page_and_end_what_stood_beneath_others(ledger: Shop) -> None:
    head = TWO.splitlines(keepends=True)[0]
    got = imported(ledger.book, TWO + head.lower() + BENEATH, mapping(TWO))
    assert list(fates(got).values()) == ["new", "new", "left out", "new", "new"]
    mixed = (
        TWO + "No,Serial,Maker,WP (bar),Hydro,Visual\n" + BENEATH + head + BENEATH.replace("K", "L")
    )
    got = imported(ledger.book, mixed.replace("L3", "L8"), mapping(TWO), good=True)
    assert [f.row for f in got.cannot][:3] == [4, 5, 6]
    assert 7 not in [f.row for f in got.cannot]


@pytest.mark.parametrize(
    "row",
    [
        "S,tank,Works,232,03/2026,04/2024",
        "No 9,SN 12,Make,232,03/2026,04/2024",
        "A9,Valve 12,Marke,232,ok,no",
    ],
)
def test_a_row_that_is_a_cylinder_is_no_heading(row: str, ledger: Shop) -> None:
    got = imported(ledger.book, TWO + row + "\n", mapping(TWO), good=True)
    assert "headings" not in whys(got)


# --- yes and no -----------------------------------------------------------------------------------

NOES = ["no", "nein", "non", "n", "0", "✗", "failed", "NO", "False", "nee", "X"]


@pytest.mark.parametrize("no", NOES)
@pytest.mark.parametrize(
    "heading", ["Hydro ok?", "Hydro", "TÜV bestanden", "In date", "Fit to dive?"]
)
def test_the_no_of_a_column_is_asked_or_understood(heading: str, no: str, ledger: Shop) -> None:
    """Whatever stands above it, a no neither goes into a note unasked nor stays without a hold."""
    heads = f"Serial,Maker,WP (bar),Last hydro,{heading}\n"
    rows = f"K1,Works,232,04/2022,yes\nK2,Works,232,04/2022,{no}\nK3,Works,232,04/2022,yes\n"
    column = guessed(heads + rows).columns[4]
    asked = "?" in (column.key, *(new for _, new in column.values))
    assert column.key == "hydro_result" or asked, column
    kept = mapping(heads + rows).replace(f"key: {column.key}", "key: keep")
    kept = re.sub(r"(?m)^    values:.*\n(?:      .*\n)+", "", kept)
    got = imported(ledger.book, heads + rows, kept)
    assert fates(got) == {2: "new", 3: "new and held", 4: "new"}


# --- a history with a failure in it -----------------------------------------------------------------

HEADS_OF_HISTORY = "Serial,Date,What,By,Result\n"


def _history(ledger: Shop, rows: str) -> Imported:
    ledger.fact(imported(ledger.book, HEADS + ROW.replace("04/2022", "-")).planned)
    got = imported(ledger.book, HEADS_OF_HISTORY + rows)
    ledger.fact(got.planned)
    assert not {f.code for f in check(ledger.book, TODAY)} & {
        "inspection-not-passed",
        "test-failed",
    }
    again = imported(ledger.book, HEADS_OF_HISTORY + rows)
    assert isinstance(again.planned, Act)
    assert again.planned.edits == ()
    return got


@pytest.mark.parametrize("what", ["Visual", "Hydro"])
def test_a_later_test_of_somebody_answers_what_failed_before_it(what: str, ledger: Shop) -> None:
    rows = (
        f"K1,20/03/2016,{what},Bob,fail\nK1,28/04/2016,Visual,Bob,pass\n"
        "K1,15/04/2019,Hydro,Northside,pass\nK1,15/03/2024,Visual,Bob,pass\n"
    )
    got = _history(ledger, rows)
    [card] = [c for c in ledger.book.cylinders.values() if c.serial == "K1"]
    assert card.status is not Status.HELD
    assert [str(each) for t in card.requalified for each in t.clears] == [
        f"{'inspected' if what == 'Visual' else 'requalified'} 2016-03-20"
    ]
    assert "that of 2019-04-15 is taken to answer it" in whys(got)


@pytest.mark.parametrize(
    "rows",
    [
        "K1,20/03/2026,Hydro,Bob,fail\n",
        "K1,20/03/2026,Visual,Bob,fail\n",
        # who made it is not said; it came before; the same day; a look is no test
        "K1,20/03/2016,Visual,Bob,fail\nK1,15/04/2019,Hydro,,pass\n",
        "K1,20/03/2019,Visual,Bob,fail\nK1,15/04/2016,Hydro,Northside,pass\n",
        "K1,20/03/2016,Visual,Bob,fail\nK1,20/03/2016,Hydro,Northside,pass\n",
        "K1,20/03/2016,Visual,Bob,fail\nK1,28/04/2016,Visual,Bob,pass\n",
        "K1,20/03/2016,Hydro,Bob,fail\nK1,28/04/2016,Visual,Bob,pass\n",
        # two that failed, and one test between them
        "K1,20/03/2016,Visual,Bob,fail\nK1,15/04/2019,Hydro,Northside,pass\nK1,20/03/2020,Visual,Bob,fail\n",
    ],
)
def test_what_failed_and_nothing_answers_is_held(rows: str, ledger: Shop) -> None:
    got = _history(ledger, rows)
    [card] = [c for c in ledger.book.cylinders.values() if c.serial == "K1"]
    assert card.status is Status.HELD
    assert "failed" in card.held[0].why
    assert f"held until looked at: {card.held[0].why}" in whys(got)


@pytest.mark.parametrize(
    ("heading", "cell", "said"),
    [
        ("Litres", "12000", "12000 L is not between 0.1 L and 150 L"),
        ("Litres", "0.012", "0.012 L is not between"),
        ("Litres", "12", ""),
        ("Weight (kg)", "14200", "14200 kg is above 150 kg: check the unit"),
        ("Weight (kg)", "14.2", ""),
        ("WP (bar)", "3000", "above 690 bar"),
    ],
)
def test_a_measure_of_another_unit_is_told(
    heading: str, cell: str, said: str, ledger: Shop
) -> None:
    table = f"Serial,Maker,{heading}\nK1,Works,{cell}\n"
    got = imported(ledger.book, table, mapping(table, **{"decimal: ?": "decimal: point"}))
    assert said in whys(got)
    assert fates(got) == {2: "CANNOT" if said else "new"}


@pytest.mark.parametrize("size", ["80", "72", "100", "80 cf", "63"])
def test_the_mend_of_a_size_is_one_that_works(size: str, ledger: Shop) -> None:
    table = f"Serial,Maker,Cu ft\nK1,Works,{size}\n"
    got = imported(ledger.book, table)
    found = re.search(r"`values: (\{[^}]*\})`", whys(got))
    assert found, whys(got)
    mended = mapping(table).replace("key: size", f"key: size\n    values: {found[1]}")
    assert fates(imported(ledger.book, table, mended)) == {2: "new"}


@pytest.mark.parametrize(
    "heading",
    ["Service Press (psi)", "Serv. press.", "Working press (bar)", "W Press", "Rated press"],
)
def test_the_rated_pressure_in_short(heading: str) -> None:
    found = guessed(f"Serial,Maker,{heading}\nK1,Works,3000\n")
    assert found.columns[2].key == "service_pressure"


@pytest.mark.parametrize(
    "text", ["dip tube missing", "boot lost", "Handrad verloren", "culot perdu", "dust cap gone"]
)
def test_a_part_that_is_missing_is_no_cylinder_that_is(text: str, ledger: Shop) -> None:
    rows = f"K1,Works,232,04/2022,{text}\n"
    assert guessed(HEADS + rows).gone == ()
    got = one(ledger, rows)
    assert not got.cannot
    assert text in whys(got) or got.fates[0].comes is Comes.HELD


def test_good_rows_of_which_there_are_none_are_no_import(ledger: Shop) -> None:
    rows = "K1,Works,23,04/2022,\nK2,Works,23,04/2022,\n"
    got = imported(ledger.book, HEADS + rows, good=True)
    assert isinstance(got.planned, Refusal)
    assert [f.text[-12:] for f in got.planned.findings] == ["(and in row 3)"[-12:]]


def test_good_rows_are_offered_only_where_they_would_be_taken(ledger: Shop) -> None:
    rows = "K1,Works,232,13/04/2022,\nK2,Works,232,04/13/2022,\nK3,Works,232,14/04/2022,\n"
    said = mapping(HEADS + rows, **{"dates: ?": "dates: day-first"})
    got = import_table(
        ledger.book, TODAY, read(HEADS + rows), typed(said), by="MV", good=True, look=True
    )
    page = output.text(got, (), Page())
    assert got.kept_out
    assert "--good" not in page
    assert "till then no row is taken" in page


@pytest.mark.parametrize(
    "heading", ["Tagged out", "Recall", "Out of service", "Hors service", "P/F"]
)
@pytest.mark.parametrize("cell", ["Y", "x", "yes", "F", "\u2713"])
def test_a_yes_that_is_kept_is_told_as_judged_by_nobody_or_asked(
    heading: str, cell: str, ledger: Shop
) -> None:
    table = f"Serial,Maker,WP (bar),Hydro,{heading}\nK1,Works,232,04/2022,{cell}\nK2,Works,232,04/2022,\n"
    said = mapping(table)
    [column] = re.findall(rf'heading: "?{heading}"?.*?(?=\n  - |\Z)', said, re.DOTALL)
    assert "key: service" not in column
    if "key: keep" not in column:
        assert "?" in column or "result" in column
        return
    got = imported(ledger.book, table, said)
    told = " ".join(got.told)
    assert fates(got)[2] == "new and held" or f"`{heading}: {cell}`" in told


FOOTED = HEADS + "K1,Works,232,04/2022,\nK2,Works,232,04/2022,\n"


@pytest.mark.parametrize(
    "foot",
    [
        "* = failed; awaiting collection,,,,",
        ",,,,those on the top rack leak!",
        "CONDEMNED,,,,",
        "do not fill the yellow ones,,,,",
        "Total 2,,,,one condemned",
    ],
)
def test_what_a_row_of_no_cylinder_says_against_one_is_asked(ledger: Shop, foot: str) -> None:
    got = imported(ledger.book, FOOTED + f"{foot}\n", mapping(FOOTED))
    assert fates(got)[4] == "CANNOT"
    assert [f.code for f in got.cannot[0].findings] == ["told-of-none"]
    assert isinstance(got.planned, Refusal)
    key = "; ".join(t for t in foot.split(",") if t)
    said = mapping(FOOTED) + f'\ngone: {{"{key}": leave-out}}\n'
    answered = imported(ledger.book, FOOTED + f"{foot}\n", said)
    assert fates(answered) == {2: "new", 3: "new", 4: "left out"}
    assert isinstance(answered.planned, Act)


SEVEN = "Tag,Serial,Maker,WP (bar),Hydro,Remarks\n" + "".join(
    f"N{n},S{n}7,Works,232,04/2022,\n" for n in range(1, 8)
)


@pytest.mark.parametrize(
    ("foot", "held"),
    [
        ("N3-N7 leak", {3, 4, 5, 6, 7}), ("N3 to N5: cracked", {3, 4, 5}), ("3..5 failed", {3, 4, 5}), ("N2; 4 and 6 leak", {2, 4, 6}),
        ("N2, 4 and 6 leak", {2, 4, 6}), ("N1/2 undicht", {1, 2}), ("N1 + N7 fuit", {1, 7}), ("N03 bis N04 undicht", {3, 4}),
        ("N6 failed 3-4-2025", {6}), ("S17-S37 leak", {1, 2, 3}), ("N5\u2013N6 leak", {5, 6}), ("N4 a N5, N7: fuga", {4, 5, 7}), ("N1, leaks 2 bar a day", {1}),
    ],
)  # fmt: skip
def test_whom_a_range_of_a_foot_names_is_held(ledger: Shop, foot: str, held: set[int]) -> None:
    table = SEVEN + f'"{foot}",,,,,\n'
    got = imported(ledger.book, table, mapping(SEVEN))
    assert {row - 1 for row, comes in fates(got).items() if comes == "new and held"} == held
    told = [each for each in ledger.fact(got.planned).notes if "held until looked at" in each]
    assert len(told) == len(held)
    again = imported(ledger.book, table, mapping(SEVEN))
    assert isinstance(again.planned, Act)
    assert not again.planned.edits
    assert "held until looked at" not in " ".join((*again.planned.notes, whys(again)))


@pytest.mark.parametrize(
    ("foot", "held"),
    [
        (",,,,K2 leaks!", {3}),
        ("do not fill K1 until Bob has seen it,,,,", {2}),
        ("k1; K2: failed visual,,,,", {2, 3}),
    ],
)
def test_whom_a_row_of_no_cylinder_names_is_held(ledger: Shop, foot: str, held: set[int]) -> None:
    got = imported(ledger.book, FOOTED + f"{foot}\n")
    assert {row for row, comes in fates(got).items() if comes == "new and held"} == held
    act = ledger.fact(got.planned)
    assert sum("held until looked at: `row 4: " in each for each in act.notes) == len(held)


@pytest.mark.parametrize(
    "foot", ["Total 2,,,,", "Signed: ____,,,,", "Blue boots,,,,", HEADS.strip()]
)
def test_a_foot_that_says_nothing_against_any_is_left_out(ledger: Shop, foot: str) -> None:
    got = imported(ledger.book, FOOTED + f"{foot}\n")
    assert fates(got) == {2: "new", 3: "new", 4: "left out"}


def test_a_title_that_says_something_against_some_is_told(ledger: Shop) -> None:
    got = imported(ledger.book, "Club list: those with a star failed last visual,,,,\n" + FOOTED)
    assert any("row 1" in each and "star failed" in each for each in got.told)


@pytest.mark.parametrize("what", ["Hydro", "VIP"])
@pytest.mark.parametrize(
    ("day", "taken"), [("2026-11-24", True), ("2027-03-01", False), ("2026-12", False)]
)
def test_an_entry_of_a_day_to_come_is_not_taken(
    ledger: Shop, what: str, day: str, taken: bool
) -> None:
    table = f"Serial,Date,What\nK118204,{day},{what}\nK118204,2025-02-03,{what}\n"
    got = imported(ledger.book, table, good=True)
    assert (fates(got)[2] == "added to") is taken
    assert fates(got)[3] == "added to"
    assert taken or "is in the future" in whys(got)


@pytest.mark.parametrize(
    ("heading", "values"),
    [
        ("Valve serial 2", ("V2-74a", "V3-111a")),
        ("RIN", ("A123", "B456")),
        ("Burst disc psi", ("5000", "5250")),
        ("Sustained load crack?", ("N", "N")),
        ("Conforme", ("oui", "oui")),
    ],
)
def test_a_column_of_marks_is_told_once_and_answered_by_its_heading(
    ledger: Shop, heading: str, values: tuple[str, str]
) -> None:
    table = f"Serial,Maker,WP (bar),Hydro,{heading}\n" + "".join(
        f"K{n},Works,232,04/2022,{each}\n" for n, each in enumerate(values)
    )
    said = (
        "headings: 1\nuse: pool\ncolumns:\n  - {column: A, key: serial}\n  - {column: B, key: maker}\n"
        "  - {column: C, key: service_pressure, unit: bar}\n  - {column: D, key: hydro, is: last}\n"
        "  - {column: E, key: keep}\n"
    )
    got = imported(ledger.book, table, said)
    assert set(fates(got).values()) == {"new"}
    assert sum(values[0] in each for each in got.told) <= 1
    answered = imported(ledger.book, table, f'{said}remarks: {{"{heading}": harmless}}\n')
    assert not any("nobody judged" in t or "no remark says" in t for t in answered.told)
    assert "nobody judged" not in whys(answered)


def test_what_holds_a_row_is_told_in_one_line(ledger: Shop) -> None:
    table = HEADS.replace("Remarks", "Remarks,Faults") + "".join(
        f"K{n},Works,232,04/2022,valve leaks,cracked\n" for n in range(6)
    )
    got = imported(ledger.book, table)
    assert isinstance(got.planned, Act)
    held = [each for each in got.planned.notes if "held until looked at" in each]
    assert len(held) == 6
    assert all("leak" in each and "crack" in each for each in held)


def test_what_is_asked_of_a_column_without_heading_is_answered_as_asked(ledger: Shop) -> None:
    table = HEADS.strip() + ",\nK1,Works,232,04/2022,,scrap!\nK2,Works,232,04/2022,,\n"
    (asked,) = guessed(table).gone
    said = mapping(table).replace(f'"{asked}": ?', f'"{asked}": leave-out')
    got = imported(ledger.book, table, said)
    assert fates(got) == {2: "left out", 3: "new"}


@pytest.mark.parametrize(
    ("heading", "cell", "fate"),
    [
        ("Maker", "Works 6351", "new and held"), ("Maker", "Works (cracked neck)", "new and held"), ("Size", "12 L, dented", "new and held"),
        ("Make", "do not fill", "new and held"), ("Tag", "7 failed", "new and held"), ("Spec", "EN 1964-1, no CE", "new and held"),
        ("Maker", "Works & Sons", "new"), ("Maker", "Vítek-Werke", "new"), ("Tag", "6351", "new"), ("Tag", "C12", "new"), ("Spec", "EN 1964-1", "new"),
        ("Maker", "Завод", "new"), ("Made in", "Germany", "new"),
    ],
)  # fmt: skip
def test_what_a_cell_of_its_maker_or_number_says_more_is_judged(
    heading: str, cell: str, fate: str, ledger: Shop
) -> None:
    table = f'Serial,WP (bar),Hydro,{heading}\nK1,232,04/2022,"{cell}"\n'
    said = mapping(table)
    if heading == "Size":
        said = re.sub(r"key: size.*", f"key: size\n    values: {{'{cell}': al80}}", said)
    assert fates(imported(ledger.book, table, said)) == {2: fate}


def test_serials_of_any_shape_tell_nothing(ledger: Shop) -> None:
    for serial in ("6351", "M 6351-2", "NG 12", "0/12/88", "A-CO-7", "12345 K", "HE 4412"):
        table = f"Serial,Maker,WP (bar),Hydro\n{serial},Works,232,04/2022\n"
        assert fates(imported(ledger.book, table)) == {2: "new"}, serial


@pytest.mark.parametrize(
    "row", ["N3,,,,,leaks", "N3,,,,31/31/2020,", "n3,S37,Works,99999 bar,,leaks"]
)
def test_a_row_that_cannot_be_read_is_not_lost_on_the_other_of_its_id(
    row: str, ledger: Shop
) -> None:
    got = imported(ledger.book, SEVEN + row + "\n", mapping(SEVEN), good=True)
    cannot = [r for r, comes in fates(got).items() if comes == "CANNOT"]
    assert cannot == [4, 9]
    assert "stands in row 9 as well" in whys(got)


VALVES = "Serial,Maker,WP (bar),Hydro,Valve\n" + "".join(
    f"K{n},Works,232,04/2022,{'A clamp' if n == 9 else 'DIN'}\n" for n in range(16)
)


def test_a_word_of_many_rows_that_is_none_of_its_key_is_told_once(ledger: Shop) -> None:
    said = mapping(VALVES)
    assert '"DIN": ?' in said
    assert "din-200, din-300, convertible, m26; or keep, in the note" in said
    wrong = imported(ledger.book, VALVES, said.replace('"DIN": ?', '"DIN": din'))
    assert isinstance(wrong.planned, Refusal)
    assert [f.code for f in wrong.planned.findings] == ["unknown-word"]
    got = imported(ledger.book, VALVES, said.replace('      "DIN": ?\n', ""))
    assert isinstance(got.planned, Refusal)
    [one_] = got.planned.findings
    assert "`DIN` is none of its words (and in row 3, 4, " in one_.text
    assert output.text(got, (), Page()).count("as row 2") == 14
    for answer, note in (
        ("keep", "Valve: DIN"),
        ('""', None),
        ("din-200", None),
        ("DIN 300", None),
    ):
        got = imported(ledger.book, VALVES, said.replace('"DIN": ?', f'"DIN": {answer}'))
        assert set(fates(got).values()) == {"new"}
        assert {c.note for c in got.book.cylinders.values() if c.serial == "K3"} == {note}


@pytest.mark.parametrize(
    ("heading", "cell"), [("Hydro result", "dunno"), ("Metal", "bronze"), ("Use", "fun")]
)
def test_a_word_that_is_none_is_refused_and_kept_where_the_mapping_says_so(
    heading: str, cell: str, ledger: Shop
) -> None:
    table = f"Serial,Maker,WP (bar),Hydro,{heading}\nK1,Works,232,04/2022,{cell}\n"
    said = mapping(table)
    assert f'"{cell}": ?' in said
    got = imported(ledger.book, table, said.replace(f'"{cell}": ?', f'"{cell}": nonsense'))
    assert isinstance(got.planned, Refusal)
    assert [f.code for f in got.planned.findings] == ["unknown-word"]


def test_the_odd_value_of_a_kept_column_is_named_before_its_heading_is_answered(
    ledger: Shop,
) -> None:
    heads = "Serial,Maker,WP (bar),Hydro,Ampel\n"
    cells = [*["gr\u00fcn"] * 9, "rot", "x7"]
    rows = "".join(f"K{n},Works,232,04/2022,{c}\n" for n, c in enumerate(cells))
    told = " ".join(imported(ledger.book, heads + rows).told)
    assert "`Ampel` (11 cells, such as `rot`, `gr\u00fcn`, `x7`, row 2, 3," in told


def test_what_the_mapping_calls_harmless_is_judged_on_the_card(ledger: Shop) -> None:
    table = HEADS + "K1,Works,232,04/2022,flomps sideways\nK2,Works,232,04/2022,flomps\n"
    said = mapping(table) + '\nremarks: {"flomps sideways": harmless}\n'
    ledger.fact(imported(ledger.book, table, said).planned)
    [one_, two] = [c for c in ledger.book.cylinders.values() if c.serial in ("K1", "K2")]
    assert [(f"{j.on}", j.by, j.text) for j in one_.note_judged] == [
        (f"{TODAY}", "MV", "flomps sideways")
    ]

    def unjudged(id_: str) -> bool:
        reasons_ = may_fill(ledger.book, id_, TODAY, station=False).reasons
        return any(r.code == "note-not-judged" for r in reasons_)

    assert (unjudged(one_.id), unjudged(two.id)) == (False, True)
    more = said.replace("harmless}", 'harmless, "flomps": harmless}') + "on_file: complete\n"
    ledger.fact(imported(ledger.book, table, more).planned)
    assert not unjudged(two.id)
    again = imported(ledger.book, table, more)
    assert isinstance(again.planned, Act)
    assert not again.planned.edits


@pytest.mark.parametrize(
    ("pressure", "day", "note"),
    [
        ("2400+", "8/2025", "WP psi: 2400+"), ("2400 +", "8/2025", "WP psi: 2400 +"), ("2400+ psi", "8/2025", "WP psi: 2400+ psi"),
        ("2400", "8/2025+", "Hydro: 8/2025+"), ("2400+", "8/2025 +", "WP psi: 2400+; Hydro: 8/2025 +"), ("2400", "8/2025", None),
    ],
)  # fmt: skip
def test_a_plus_is_kept_and_no_value_refused_for_it(
    pressure: str, day: str, note: str | None, ledger: Shop
) -> None:
    table = f"Serial,Maker,WP psi,Hydro\nK1,Works,{pressure},{day}\n"
    got = imported(ledger.book, table)
    assert fates(got) == {2: "new"}, whys(got)
    [card] = [c for c in got.book.cylinders.values() if c.serial == "K1"]
    assert (str(card.service_pressure), card.note) == ("2400 psi", note)
    assert [(str(t.on), t.plus) for t in card.requalified] == [("2025-08", False)]


FOOT_HEADS = "No,Serial,Maker,WP (bar),Hydro,Remarks\n"
FOOT_ROWS = "".join(f"G{n},BQ10{n},Works,232,04/2022,\n" for n in range(1, 5))


@pytest.mark.parametrize(
    ("above", "below", "of"),
    [
        ("", "G2: see Dave before use", {"G2": "row 6: G2: see Dave before use"}),
        ("", "* G2 = ask first", {"G2": "row 6: * G2 = ask first"}),
        ("", "G2!", {"G2": "row 6: G2!"}),
        ("", "see Dave about BQ103", {"G3": "row 6: see Dave about BQ103"}),
        ("", "G2,see Dave", {"G2": "row 6: see Dave"}),
        ("", "G2-G3 swapped valves", dict.fromkeys(("G2", "G3"), "row 6: G2-G3 swapped valves")),
        ("G4 is the one that fell over", "", {"G4": "row 1: G4 is the one that fell over"}),
        ("G4 is Zoe's now", "", {"G4": "row 1: G4 is Zoe's now"}),
        ("Harbour Divers", "Total 4", {}),
        ("Club list 2026", "G1 and G2: blue boot", {}),
        ("", "Signed: ______", {}),
        ("", "see Dave before use", {}),
    ],
)
def test_a_row_of_no_cylinder_is_of_those_that_it_names(
    above: str, below: str, of: dict[str, str], ledger: Shop
) -> None:
    """Whatever is not plain stands on their cards, as what nobody judged or as what holds them."""
    table = (
        (f"{above}\n" if above else "") + FOOT_HEADS + FOOT_ROWS + (f"{below}\n" if below else "")
    )
    got = imported(ledger.book, table)
    assert Comes.CANNOT not in {f.comes for f in got.fates}, whys(got)
    assert [
        t for i in of for t in (*got.told, whys(got)) if "names no cylinder" in t and i in t
    ] == []
    ledger.fact(got.planned)
    cards = {i: c for i, c in ledger.book.cylinders.items() if i.startswith("G")}
    said = {
        i: c.note or "; ".join(h.why for h in c.held) for i, c in cards.items() if c.note or c.held
    }
    assert said == of
    for id_ in of:
        reasons = may_fill(ledger.book, id_, TODAY, station=False).reasons
        assert any("row " in r.text for r in reasons), reasons


@pytest.mark.parametrize("where", ["above", "below"])
def test_what_a_row_of_no_entry_says_of_a_cylinder_is_beside_its_newest(
    where: str, old: Shop
) -> None:
    line = "K118204: see Dave\n"
    rows = "Serial,Date,What,Notes\nK118204,09/2026,VIP,\nK118204,10/2026,VIP,\n"
    got = imported(old.book, line + rows if where == "above" else rows + line)
    old.fact(got.planned)
    assert "see Dave" in (old["RB-014"].inspected[-1].note or "")
    told = may_fill(old.book, "RB-014", TODAY, station=False).reasons
    assert any("see Dave" in r.text for r in told)


SECOND = [
    ("No,Problem", "G2,knob stiff"),
    ("Bottle,Defect", "G2,knob stiff"),
    ("Nr,Mangel", "G2,knob stiff"),
    ("N°,Défaut", "G2,knob stiff"),
    ("Bottle,Fault seen,On", "G2,returned wet inside,03/2026"),
    ("No,Date,Fault", "G2,30/03/2026,hissing at the valve"),
]


@pytest.mark.parametrize(("heads", "row"), SECOND)
@pytest.mark.parametrize("last_row", [False, True])
def test_a_second_table_beneath_is_seen_by_the_heading_of_its_ids(
    heads: str, row: str, last_row: bool, ledger: Shop
) -> None:
    """Its heading is no cylinder, no row of the first is lost on it, and what it says of them is
    judged, also where the mapping ends above it."""
    table = FOOT_HEADS + FOOT_ROWS + heads + "\n" + row + "\n"
    said = mapping(table) + ("last_row: 5\n" if last_row else "")
    got = imported(ledger.book, table, said, good=True)
    cannot = [r for r, comes in fates(got).items() if comes == "CANNOT"]
    assert cannot == ([] if last_row else [6, 7]), whys(got)
    assert last_row or "here stand headings again" in whys(got)
    assert any("below `last_row: 5`" in t and "row 6, 7" in t for t in got.told) is last_row
    ledger.fact(got.planned)
    assert sorted(i for i in ledger.book.cylinders if i != "RB-014") == ["G1", "G2", "G3", "G4"]
    assert [i for i, c in ledger.book.cylinders.items() if c.status is Status.HELD] == ["G2"]


def test_many_rows_below_the_last_that_name_one_fill_no_note(ledger: Shop) -> None:
    rows = "".join(f"G2,0{n % 9 + 1}/03/2026,Northside {n}\n" for n in range(40))
    table = FOOT_HEADS + FOOT_ROWS + "No,Date,By\n" + rows
    got = imported(ledger.book, table, mapping(table) + "last_row: 5\n")
    assert Comes.CANNOT not in {f.comes for f in got.fates}, whys(got)
    ledger.fact(got.planned)
    assert "see the sheet, row 9, 10" in (ledger["G2"].note or "")


@pytest.mark.parametrize("key", ["leave-out", "keep"])
def test_a_table_to_the_right_is_asked_and_never_laid_onto_the_rows_beside_it(
    key: str, ledger: Shop
) -> None:
    left = (FOOT_HEADS + FOOT_ROWS).splitlines()
    right = ["No,Fault", "G3,returned wet inside", "G9,x", ",", ","]
    table = "".join(f"{a},,{b}\n" for a, b in zip(left, right, strict=True))
    assert [c.key for c in clubs.guessed(table).columns][-2:] == ["?", "?"]
    said = re.sub(r"key: \?.*", f"key: {key}", mapping(table))
    ledger.fact(imported(ledger.book, table, said).planned)
    held = {i for i, c in ledger.book.cylinders.items() if c.status is Status.HELD}
    assert held == ({"G3"} if key == "leave-out" else {"G1", "G2"})


def test_a_table_by_id_of_what_is_on_file_needs_no_serial(ledger: Shop) -> None:
    ledger.fact(imported(ledger.book, FOOT_HEADS + FOOT_ROWS).planned)
    faults = "No,Fault\ng2,hissing at the valve\nG3,ask Anna\nG9,bent\n"
    got = imported(ledger.book, faults, good=True)
    assert fates(got) == {2: "there already", 3: "there already", 4: "CANNOT"}
    assert "tankbook hold G2 --why 'Fault: hissing at the valve'" in whys(got)
    assert "`Fault: ask Anna`" in whys(got)
    got = imported(ledger.book, faults, mapping(faults) + "on_file: complete\n", good=True)
    ledger.fact(got.planned)
    assert ledger["G2"].status is Status.HELD
    lent = "No,Lent to,Since\nG3,Bob,03/11/2026\n"
    said = mapping(lent, **{'"Bob": ?': '"Bob": M-01'})
    assert "out to M-01 is not on its card" in whys(imported(ledger.book, lent, said))


@pytest.mark.parametrize(
    ("cell", "held", "told"),
    [
        ("good", False, False), ("fair", False, True), ("B", False, True), ("ok-ish", False, True),
        ("poor", True, False), ("yes", True, False), ("05/2023", True, False),
        ("condemned", True, False), ("dented", True, False),
    ],
)  # fmt: skip
def test_a_heading_that_is_short_for_condition_is_no_finding(
    cell: str, held: bool, told: bool, ledger: Shop
) -> None:
    """What stands below it is judged, and `harmless` settles what holds nothing."""
    table = f"Serial,Maker,WP (bar),Hydro,Cond\nK1,Works,232,04/2022,{cell}\n"
    said = re.sub(r"key: \?.*", "key: keep", mapping(table)).replace('": ?', '": hold')
    got = imported(ledger.book, table, said)
    assert fates(got) == {2: "new and held" if held else "new"}, whys(got)
    assert any("nobody judged" in t for t in (*got.told, whys(got))) is told
    more = imported(ledger.book, table, said + f'remarks: {{"Cond: {cell}": harmless}}\n')
    assert fates(more) == fates(got)
    assert not any("nobody judged" in t for t in more.told)
