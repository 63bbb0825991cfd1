"""What a table says is read as whoever wrote it meant it: by its headings, and by what stands beside."""

from __future__ import annotations

import re

import pytest
from books import GOOD, SETTINGS, TODAY
from clubs import fates, guessed, imported, mapping, read, told, typed
from msgspec.structs import replace
from shop import Shop, reasons, shop

from tankbook.acts.import_ import Imported, import_table, what_is_left
from tankbook.records.edits import Act
from tankbook.records.node import Mark
from tankbook.records.tab import OtherSheet, Tab, TabCell, TabRow, letter_of

BAR = SETTINGS.replace("units: psi", "units: bar")


@pytest.fixture(name="ledger")
def _ledger() -> Shop:
    return shop(settings=BAR, RB_014=GOOD)


def column_of(heading: str, values: list[str], beside: str = "") -> str:
    """A table of cylinders with a column, one cylinder to a value."""
    rows = (f"K{n},Works,232,04/2022,{v}{',' if beside else ''}\n" for n, v in enumerate(values))
    return f"Serial,Maker,WP (bar),Hydro,{heading}{beside}\n" + "".join(rows)


# --- how good one is -----------------------------------------------------------------------------

GRADES = {
    "Cond": ["good", "fair", "ok", "new", "very good", "as new", "used", "B", "3"],
    "Condition": ["v. good", "fair", "fair", "acceptable", "A-"],
    "Zustand": ["gut", "gebraucht", "neuwertig", "Note 2", "sehr gut"],
    "\u00c9tat": ["bon", "correct", "tr\u00e8s bon"],
    "Estado": ["bueno", "regular", "muy bueno"],
    "Stato": ["buono", "discreto"],
    "Staat": ["goed", "redelijk"],
}


@pytest.mark.parametrize("heading", GRADES)
def test_how_good_each_is_is_asked_once_for_all(heading: str, ledger: Shop) -> None:
    table = column_of(heading, GRADES[heading])
    got = imported(ledger.book, table)
    assert set(fates(got).values()) == {"new"}
    assert told(got).count("nobody judged") == 1, told(got)
    answered = mapping(table) + f'remarks: {{"{heading}": harmless}}\n'
    assert "nobody judged" not in told(imported(ledger.book, table, answered))


@pytest.mark.parametrize("heading", ["Cond", "Condition", "Cond."])
@pytest.mark.parametrize("values", [["good", "ok", "new"], ["excellent", "very good"]])
def test_what_is_plainly_good_is_not_asked(heading: str, values: list[str], ledger: Shop) -> None:
    assert "nobody judged" not in told(imported(ledger.book, column_of(heading, values)))


@pytest.mark.parametrize("value", ["bad", "poor", "damaged", "worn", "failed", "leaks"])
def test_what_is_bad_holds_whatever_is_said_of_the_column(value: str, ledger: Shop) -> None:
    table = column_of("Cond", ["good", "fair", value])
    answered = mapping(table) + 'remarks: {"Cond": harmless}\n'
    for got in (imported(ledger.book, table), imported(ledger.book, table, answered)):
        assert fates(got)[4] in ("new and held", "CANNOT")


# --- since when ----------------------------------------------------------------------------------


@pytest.mark.parametrize("bare", ["Since", "Depuis", "Desde", "Until", "Back"])
@pytest.mark.parametrize("before", ["Fault", "Remarks", "What is wrong"])
def test_days_beside_a_fault_are_of_that(bare: str, before: str, ledger: Shop) -> None:
    table = column_of(before, ["valve sticks,03/2026", "ask Dave,02/2026", ","], f",{bare}")
    table = table.replace("\n,", ",").replace(",\n", "\n")
    assert [c.key for c in guessed(table).columns][-1] == "keep"
    got = imported(ledger.book, table)
    assert "CANNOT" not in fates(got).values(), told(got)
    assert f"{bare}: 03/2026" in "".join(
        str(e) for e in getattr(got.planned, "edits", ())
    ) or f"`{bare}`" in told(got)


@pytest.mark.parametrize(
    ("heads", "row", "keys"),
    [
        ("Who has it,Since", "Bob,03/2026", ["out_to", "out_since"]),
        ("Since,Who has it", "03/2026,Bob", ["out_since", "out_to"]),
        ("Who has it,Since,Until", "Bob,03/2026,04/2026", ["out_to", "out_since", "out_until"]),
        ("Who has it,Fault,Since", "Bob,leaks,03/2026", ["out_to", "keep", "?"]),
        ("Date out", "03/2026", ["out_since"]),
        ("Withdrawn since", "03/2026", ["keep"]),
        ("Out of use since", "03/2026", ["keep"]),
    ],
)
def test_days_of_a_rental_are_those_beside_whoever_has_it(
    heads: str, row: str, keys: list[str]
) -> None:
    table = f"Serial,Maker,{heads}\nK1,Works,{row}\n"
    assert [c.key for c in guessed(table).columns][2:] == keys


def test_the_way_out_that_is_named_of_days_of_nobody_works(ledger: Shop) -> None:
    table = "Serial,Maker,WP (bar),Hydro,Date out\nK1,Works,232,04/2022,03/2026\n"
    said = mapping(table)
    refused = imported(ledger.book, table, said)
    assert "`key: keep` for column E" in reasons(refused.planned)
    kept = said.replace("key: out_since", "key: keep")
    ledger.fact(imported(ledger.book, table, kept).planned)


# --- the words of the sheet ----------------------------------------------------------------------


@pytest.mark.parametrize("value", ["no", "nein", "\u2717", "yes", "good"])
def test_what_is_kept_has_the_words_of_the_sheet(value: str, ledger: Shop) -> None:
    table = column_of("OK to fill", [value])
    said = mapping(table).replace("key: ?", "key: keep").replace("key: hydro_result", "key: keep")
    assert "key: keep" in said
    got = imported(ledger.book, table, said)
    ledger.fact(got.planned)
    card = next(t for p, t in ledger.files.items() if "K0" in t and p.startswith("cylinders"))
    assert f"OK to fill: {value}" in card
    assert (fates(got)[2] == "new and held") is (value not in ("yes", "good"))


# --- the metal decides ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("metal", "spec", "offered"),
    [
        ("steel", "DOT-3AA", "hp80"),
        ("", "DOT-3AA", "hp80"),
        ("aluminium", "DOT-3AL", "al80"),
        ("", "DOT-3AL", "al80"),
    ],
)
def test_a_size_is_offered_of_the_metal_of_its_row(
    metal: str, spec: str, offered: str, ledger: Shop
) -> None:
    table = f"Serial,Maker,Spec,Material,Size\nK1,Works,{spec},{metal},80\n"
    said = reasons(imported(ledger.book, table).planned)
    assert f'{{"80": {offered}}}' in said, said
    other = "al80" if offered == "hp80" else "hp80"
    assert other not in said
    right = mapping(table).replace("key: size", f'key: size\n    values: {{"80": {offered}}}')
    ledger.fact(imported(ledger.book, table, right).planned)


# --- struck out in a workbook --------------------------------------------------------------------

STRUCK = (
    "Serial,Maker,WP (bar),Hydro,Remarks,Colour of boot\nK1,Works,232,04/2022,valve leaks,red\n"
)


@pytest.mark.parametrize(
    ("column", "remark", "comes", "said"),
    [
        (0, "", "new and held", "struck out in the sheet"),
        (2, "", "CANNOT", "`232` is struck out in the sheet; empty it"),
        (3, "", "CANNOT", "`04/2022` is struck out in the sheet; empty it"),
        (4, "valve leaks", "new and held", "leaks"),
        (4, "new boot", "new", "`new boot (a line through it)`"),
        (5, "", "new", "`Colour of boot: red (a line through it)`"),
    ],
)
def test_a_cell_that_is_struck_out_holds_or_is_asked(
    column: int, remark: str, comes: str, said: str, ledger: Shop
) -> None:
    table = STRUCK.replace("valve leaks", remark)
    tab = read(table)
    head, row = tab.rows
    cells = tuple(replace(c, struck=n == column) for n, c in enumerate(row.cells))
    tab = replace(tab, rows=(head, replace(row, cells=cells)))
    got = import_table(ledger.book, TODAY, tab, typed(mapping(table)), by="MV")
    assert fates(got) == {2: comes}
    assert said in told(got)


def test_a_cell_struck_out_is_kept_where_the_mapping_says_so(ledger: Shop) -> None:
    tab = read(STRUCK.replace("valve leaks", ""))
    head, row = tab.rows
    cells = tuple(replace(c, struck=n == 3) for n, c in enumerate(row.cells))
    said = mapping(STRUCK).replace("is: last", "is: last\n    otherwise: remark")
    tab = replace(tab, rows=(head, replace(row, cells=cells)))
    got = import_table(ledger.book, TODAY, tab, typed(said), by="MV")
    ledger.fact(got.planned)
    assert "`04/2022` is struck out in the sheet; kept as a remark" in told(got)
    assert "requalified" not in next(t for t in ledger.files.values() if "serial: K1\n" in t)


# --- a row of another table, and that table by itself --------------------------------------------

OWN = "No,Serial,Maker,WP (bar),Hydro\nN1,K1,Works,232,04/2022\nN2,K2,Works,232,04/2022\nN3,K3,Works,232,04/2022\n"
BESIDES = [
    ("No,Date,Fault", "N2,03/2026,ask Dave"),
    ("No,Date,Fault", "N2,03/2026,valve sticks"),
    ("No,Fault", "N2,see book"),
    ("No,Withdrawn", "N2,03/2025"),
    ("No,Do not fill", "N2,x"),
    ("No,Colour", "N2,blue"),
    ("No,Remarks", "N2,blue boot"),
    ("No,Remarks", "N2,see Dave"),
    ("Bottle,Defect", "N2,flomps"),
    ("Which one,Remarks", "N2,see Dave"),
    ("No,Fault", "N2,none"),
]


@pytest.mark.parametrize(("heads", "row"), BESIDES)
@pytest.mark.parametrize("where", ["below last_row", "to the right"])
def test_a_row_of_another_table_is_judged_as_in_a_file_of_its_own(
    heads: str, row: str, where: str, ledger: Shop
) -> None:
    def verdict(got: Imported, number: int) -> str:
        of = [f for f in got.fates if f.row == number]
        text = " ".join(text for f in of for text in f.says)
        if "tells against it" in text or any(f.comes.value == "new and held" for f in of):
            return "against"
        return "told" if "nobody judged" in text else "nothing"

    lines = OWN.splitlines()
    if where == "to the right":
        wide = [f"{line},,{more}" for line, more in zip(lines[:2], (heads, row), strict=True)]
        table = "\n".join([*wide, *(f"{line},,{',' * heads.count(',')}" for line in lines[2:])])
        said = mapping(table)
        letters = [letter_of(6 + n) for n in range(heads.count(",") + 1)]
        for letter in letters:
            said = re.sub(
                rf"(column: {letter} .*\n(?:    .*\n)*?    key:) \S+", r"\1 leave-out", said
            )
    else:
        table = OWN + f",,,,\n{heads},,,\n{row},,,\n"
        said = mapping(table) + "last_row: 4\n"
    beside = verdict(imported(ledger.book, table, said), 3)

    first = imported(ledger.book, OWN, mapping(OWN))
    ledger.fact(first.planned)
    alone = f"{heads}\n{row}\n"
    got = imported(ledger.book, alone, mapping(alone))
    assert beside == verdict(got, 2), (told(got), beside)


# --- what a row says that cannot be taken --------------------------------------------------------

LIST = (
    "No,Serial,Maker,WP (bar),Hydro,Remarks\nF6,K6,Works,232,04/2022,\nF7,K7,Works,232,04/2022,\n"
)


@pytest.mark.parametrize("mode", ["leave", "complete"])
@pytest.mark.parametrize(
    "row",
    [
        "F6,K6,Works,200,04/2022,gesperrt",  # another pressure than its card has
        "F6,K96,Works,232,04/2022,gesperrt",  # its id is on file, of another serial
        "F6,K6,Works,232,31/04/2022,gesperrt",  # a day that is none
        "F6,,Works,232,04/2022,gesperrt",
    ],
)
def test_what_tells_against_one_is_told_whatever_else_is_wrong_with_its_row(
    row: str, mode: str, ledger: Shop
) -> None:
    ledger.fact(imported(ledger.book, LIST).planned)
    amended = LIST.replace("F6,K6,Works,232,04/2022,", row).replace("F7,K7", "F8,K8")
    said = mapping(amended) + f"on_file: {mode}\nuse: pool\n"
    said = said.replace("use: pool\n", "", said.count("use: pool") - 1)
    got = imported(ledger.book, amended, said, good=True)
    assert "tankbook hold F6 --why gesperrt" in told(got)
    left = {card.id: "; ".join(what) for card, what in what_is_left(got, TODAY)}
    assert "tankbook hold F6 --why gesperrt" in left["F6"]
    assert isinstance(got.planned, Act)
    if "CANNOT" in fates(got).values():
        assert any("tankbook hold F6" in note for note in got.planned.notes)


@pytest.mark.parametrize("mode", ["leave", "complete"])
def test_a_test_that_a_table_now_says_to_be_earlier_is_told(mode: str, ledger: Shop) -> None:
    ledger.fact(imported(ledger.book, LIST).planned)
    mended = LIST.replace("F6,K6,Works,232,04/2022", "F6,K6,Works,232,03/2017")
    got = imported(ledger.book, mended, mapping(mended) + f"on_file: {mode}\n", good=True)
    left = {card.id: "; ".join(what) for card, what in what_is_left(got, TODAY)}
    assert "was on 2017-03 by this table and on 2022-04 by its card" in left["F6"]
    assert "tankbook hold F6 --why" in left["F6"]
    assert fates(got)[2] == ("there already" if mode == "leave" else "CANNOT")


def test_a_test_that_was_recorded_since_is_no_contradiction(ledger: Shop) -> None:
    ledger.fact(imported(ledger.book, LIST).planned)
    card = ledger.files["cylinders/F6.yaml"]
    again = "requalified:\n  - {on: 2026-03, method: hydrostatic, by: Northside, result: pass}\n"
    ledger.files["cylinders/F6.yaml"] = card.replace("requalified:\n", again)
    assert "by this table" not in told(imported(ledger.book, LIST, mapping(LIST)))


# --- who has it ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "heading",
    ["Alquilada a", "Cedida a", "Noleggiata a", "Vermietet an", "Lou\u00e9e \u00e0", "Verhuurd aan", "Alugada a", "Rented to", "Emprestada a"],
)  # fmt: skip
def test_who_has_it_in_any_tongue_gets_a_reference(heading: str) -> None:
    table = f"Serial,Maker,{heading}\nK1,Works,Sr. L\u00f3pez\nK2,Works,no\nK3,Works,\n"
    assert guessed(table).columns[2].key == "out_to"


# --- a title in the midst of the rows ------------------------------------------------------------

TITLES = [
    "SOLD", "Scrapped", "Condemned:", "Retired 2024", "Bajas 2023", "Do not use", "Ausgesondert", "R\u00e9form\u00e9s", "Fuori uso", "Afgekeurd",
    "dropped, do not use until seen",
]  # fmt: skip
UNSURE = ["Old ones", "Spares - untested", "Members' own", "flomps", "Not in use"]
PLAIN = [
    "Pool",
    "12 l steel",
    "Rack 3",
    "Twin sets",
    "Spares",
    "Stahlflaschen",
    "Blocs 12 l",
    "232 bar 12 l",
    "Rental fleet",
]


def under(title: str, gap: str = "") -> str:
    return f"{LIST}{gap}{title if ',' not in title else repr(title).replace(chr(39), chr(34))},,,,,\nF8,K8,Works,232,04/2022,\nF9,K9,Works,232,04/2022,\n"


@pytest.mark.parametrize("title", TITLES)
def test_a_title_that_tells_against_those_beneath_is_asked(title: str, ledger: Shop) -> None:
    table = under(title, "\n")
    at = 5
    said = (
        mapping(table).replace('": ?', '": hold') if "gone:" in mapping(table) else mapping(table)
    )
    if "gone:" not in said:
        got = imported(ledger.book, table, said, good=True)
        assert fates(got) == {2: "new", 3: "new", at: "CANNOT", 6: "CANNOT", 7: "CANNOT"}
        assert f'gone: {{"{title}": hold}}' in told(got)
    for answer, comes in {"hold": "new and held", "leave-out": "left out", "here": "new"}.items():
        got = imported(ledger.book, table, mapping(table) + f'gone: {{"{title}": {answer}}}\n')
        assert [fates(got)[n] for n in (2, 3, 6, 7)] == ["new", "new", comes, comes], told(got)
        ledger.fact(got.planned)
        ledger.files = dict(shop(settings=BAR, RB_014=GOOD).files)


@pytest.mark.parametrize("title", UNSURE)
def test_a_title_of_which_nobody_knows_what_it_says_is_told_of_those_beneath(
    title: str, ledger: Shop
) -> None:
    got = imported(ledger.book, under(title, "\n"))
    notes = {f.row: " ".join(f.says) for f in got.fates}
    assert all(title in notes[row] for row in (6, 7)), told(got)
    assert not any(title in notes[row] for row in (2, 3))


@pytest.mark.parametrize("title", PLAIN)
def test_a_plain_title_says_nothing_of_those_beneath(title: str, ledger: Shop) -> None:
    got = imported(ledger.book, under(title, "\n"))
    assert [f.says for f in got.fates if f.row in (2, 3, 6, 7)] == [[], [], [], []]


def test_a_remark_in_a_row_of_its_own_may_be_of_the_row_above(ledger: Shop) -> None:
    got = imported(ledger.book, under("dropped, do not use until seen"), good=True)
    assert fates(got) == {2: "new", 3: "CANNOT", 4: "CANNOT", 5: "CANNOT", 6: "CANNOT"}


# --- coloured in a workbook ----------------------------------------------------------------------

FIVE = "No,Serial,Maker,WP (bar),Hydro\n" + "".join(
    f"C{n},K{n},Works,232,04/2022\n" for n in range(1, 7)
)


def coloured(table: str, colours: dict[int, str], columns: set[int]) -> Tab:
    """A table of which some rows are coloured, in some columns."""
    tab = read(table)
    rows = [
        replace(
            row,
            cells=tuple(
                replace(c, colours=(colours[row.number],))
                if row.number in colours and n in columns
                else c
                for n, c in enumerate(row.cells)
            ),
        )
        for row in tab.rows
    ]
    return replace(tab, rows=tuple(rows))


@pytest.mark.parametrize("columns", [{0}, {1}, {4}, {0, 1, 2, 3, 4}])
def test_a_row_of_another_colour_is_told_and_a_red_one_held(
    columns: set[int], ledger: Shop
) -> None:
    tab = coloured(FIVE, {3: "red", 5: "#FFC000", 6: "letters of red"}, columns)
    got = import_table(ledger.book, TODAY, tab, typed(mapping(FIVE)), by="MV")
    held = {row for row, comes in fates(got).items() if comes == "new and held"}
    assert held == {3, 6}
    assert "`coloured in the sheet` (1 cell, such as `#FFC000`, row 5)" in told(got)
    said = mapping(FIVE) + 'remarks: {"coloured in the sheet": harmless}\n'
    got = import_table(ledger.book, TODAY, tab, typed(said), by="MV")
    assert set(fates(got).values()) == {"new"}


@pytest.mark.parametrize(
    ("legend", "holds"),
    [("Yellow: out of service", True), ("gelb = gesperrt", True), ("Yellow: club", False)],
)
@pytest.mark.parametrize("where", ["beside", "another sheet"])
def test_a_legend_that_tells_against_its_colour_holds_all_of_it(
    legend: str, holds: bool, where: str, ledger: Shop
) -> None:
    """Wherever it stands; and the row beside which it stands is not of its colour."""
    table = FIVE.replace("Hydro\n", "Hydro,Key\n").replace("04/2022\n", "04/2022,\n")
    lone = where == "another sheet"
    table = table if lone else table.replace("04/2022,\n", f"04/2022,{legend}\n", 1)
    tab = coloured(table, {3: "#FFFF00", 5: "#FFFF00"}, {0, 1, 2})
    cell = TabCell(legend, Mark(0, 1, 1), colours=("#FFFF00",))
    if lone:
        tab = replace(tab, others=(OtherSheet("Key", (TabRow(1, (cell,)),)),))
    else:
        of_it = [replace(r, cells=(*r.cells[:5], cell)) if r.number == 2 else r for r in tab.rows]
        tab = replace(tab, rows=tuple(of_it))
    said = re.sub(r'(heading: "Key"\n    key: )\S+', r"\1leave-out", mapping(table))
    got = import_table(ledger.book, TODAY, tab, typed(said), by="MV")
    held = {row for row, comes in fates(got).items() if comes == "new and held"}
    assert held == ({3, 5} if holds else set())


def test_the_colours_of_every_other_row_say_nothing(ledger: Shop) -> None:
    tab = coloured(FIVE, dict.fromkeys((2, 4, 6), "#D9D9D9"), set(range(5)))
    got = import_table(ledger.book, TODAY, tab, typed(mapping(FIVE)), by="MV")
    assert "coloured" not in told(got)


@pytest.mark.parametrize("legend", ["RED,do not rent: see Pat,,,", "Gelb:,nicht vermieten,,,"])
def test_what_a_colour_means_is_no_cylinder(legend: str, ledger: Shop) -> None:
    got = imported(ledger.book, FIVE + legend + "\n", good=True)
    assert fates(got)[8] == "CANNOT"
    assert "names no cylinder" in told(got)
    assert len(got.ids) == 6


def test_a_remark_in_a_column_that_was_empty_is_read_the_next_time(ledger: Shop) -> None:
    said = mapping(LIST)
    ledger.fact(imported(ledger.book, LIST, said).planned)
    later = LIST.replace("F6,K6,Works,232,04/2022,", "F6,K6,Works,232,04/2022,do not fill")
    assert "tankbook hold F6" in told(imported(ledger.book, later, said))


@pytest.mark.parametrize("value", ["10x300", "2x7", "D12", "12 x"])
def test_a_number_that_is_none_can_be_kept_as_a_remark(value: str, ledger: Shop) -> None:
    table = f"Serial,Maker,WP (bar),Water volume (l)\nK1,Works,232,{value}\n"
    refused = imported(ledger.book, table)
    assert "`otherwise: remark` for column D" in reasons(refused.planned)
    said = mapping(table).replace("unit: L", "unit: L\n    otherwise: remark")
    ledger.fact(imported(ledger.book, table, said).planned)


def test_the_title_of_another_table_goes_with_it(ledger: Shop) -> None:
    table = LIST + "\nFaults reported,,,,,\nNo,Date,Fault,,,\nF6,03/2026,valve sticks,,,\n"
    got = imported(ledger.book, table)
    assert "write `last_row: 4` into the mapping" in told(got)
    assert "answer it there" not in told(got)
    ended = imported(ledger.book, table, mapping(table) + "last_row: 4\n")
    assert fates(ended)[2] == "new and held"
    ledger.fact(ended.planned)


@pytest.mark.parametrize(
    "remark", ["ne pas gonfler", "do not fill", "niet vullen", "Condemned", "quarantine", "rust"]
)
def test_why_a_remark_holds_is_told_once(remark: str, ledger: Shop) -> None:
    table = LIST.replace("F6,K6,Works,232,04/2022,", f"F6,K6,Works,232,04/2022,{remark}")
    got = imported(ledger.book, table, mapping(table).replace('": ?', '": hold'))
    [why] = [text for text in got.fates[0].says if "held until looked at" in text]
    assert why.casefold().count(remark.casefold()) == 1, why


def test_a_cylinder_that_is_called_by_a_colour_is_one(ledger: Shop) -> None:
    table = "No,Serial,Maker\nRed,K1,\nBlue,K2,Works\n"
    assert fates(imported(ledger.book, table)) == {2: "new", 3: "new"}
