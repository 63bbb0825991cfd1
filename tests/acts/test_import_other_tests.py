"""What names one test, or something that is none, is taken for no other; and what a list asks has
its true answer among those that are offered."""

from __future__ import annotations

import datetime as dt
import re
from io import BytesIO

import pytest
from books import GOOD, SETTINGS, TODAY
from clubs import fates, guessed, imported, mapping, read, told, typed
from msgspec.structs import replace
from shop import Shop, reasons, shop

from tankbook.acts.import_ import import_table
from tankbook.acts.tab_rows import WHAT
from tankbook.ledger.mapping import mapping_of
from tankbook.ledger.tables import table_of
from tankbook.records.edits import Refusal
from tankbook.records.node import Mark
from tankbook.records.sheet_mapping import RowsAre
from tankbook.records.tab import OtherSheet, Tab, TabCell
from tankbook.records.words import Method

BAR = SETTINGS.replace("units: psi", "units: bar")


@pytest.fixture(name="ledger")
def _ledger() -> Shop:
    return shop(settings=BAR, RB_014=GOOD)


# --- a list of tests of several kinds ------------------------------------------------------------

HEADS = {
    "us": "Tank,Test,Tested,Tester,P/F",
    "uk": "Cylinder No,Type of test,Date,By,Result",
    "de": "Flasche,Prüfung,Datum,Prüfer,Ergebnis",
    "de2": "Flasche,Prüfart,Datum,Prüfer,Ergebnis",
    "fr": "Bloc,Nature,Date,Contrôlé par,Résultat",
    "fr2": "Bouteille,Épreuve,Date,Contrôlé par,Résultat",
    "es": "Botella,Tipo,Fecha,Revisado por,Resultado",
    "it": "Bombola,Prova,Data,Controllato da,Esito",
    "nl": "Flesnr,Keuring,Datum,Gekeurd door,Uitslag",
}
KINDS = {
    "us": (["Hydro", "HYD", "Requal", "Hydrostatic test"], ["VIP", "Visual", "Vis"], "O2 clean"),
    "uk": (["Hydraulic test", "Hydrotest", "HT"], ["Visual inspection", "Internal"], "Leak test"),
    "de": (["Druckprüfung", "DP", "Wasserdruckprüfung"], ["Sichtprüfung", "SP"], "Dichtprüfung"),
    "de2": (["Festigkeitsprüfung", "TÜV"], ["Innere Prüfung", "Sichtpruefung"], "O2-rein"),
    "fr": (["Requalification", "Ré-épreuve"], ["TIV", "Visite", "Visuelle"], "Nettoyage O2"),
    "fr2": (["Hydraulique", "Épreuve hydraulique"], ["Inspection visuelle"], "Étanchéité"),
    "es": (["Hidrostática", "Retimbrado"], ["Visual", "Inspección visual"], "Limpieza O2"),
    "it": (["Collaudo", "Idrostatica"], ["Visiva", "Ispezione visiva"], "Pulizia ossigeno"),
    "nl": (["Herkeuring", "Persproef"], ["Visueel", "Visuele inspectie"], "Zuurstofreiniging"),
}


def of_tests(tongue: str, *, other: bool = True) -> str:
    hydro, visual, else_ = KINDS[tongue]
    each = [*hydro, *visual, *([else_] if other else [])]
    rows = (f"RB-014,{kind},{n + 13}/02/2025,Northside,ok\n" for n, kind in enumerate(each))
    return f"{HEADS[tongue]}\n" + "".join(rows)


@pytest.mark.parametrize("tongue", HEADS)
def test_kinds_of_tests_are_read_as_what_they_are(tongue: str, ledger: Shop) -> None:
    table = of_tests(tongue)
    found = guessed(table)
    assert found.rows is RowsAre.ENTRIES
    assert not found.what
    column = next(c for c in found.columns if c.key == WHAT)
    hydro, visual, else_ = KINDS[tongue]
    kinds = {old.casefold(): new for old, new in column.values}
    assert {kinds.get(k.casefold(), k.casefold()) for k in hydro} == {"hydro"}
    assert {kinds.get(k.casefold(), k.casefold()) for k in visual} == {"visual"}
    assert kinds[else_.casefold()] == "?"
    answered = re.sub(rf'("{re.escape(else_)}": )\?', r"\1leave-out", mapping(table))
    got = imported(ledger.book, table, answered)
    assert list(fates(got).values()) == ["added to"] * len(hydro + visual) + ["left out"], told(got)


@pytest.mark.parametrize("heading", ["Test", "Prüfung", "Prueba", "Keuring"])
def test_kinds_that_nobody_here_knows_are_asked(heading: str) -> None:
    table = f"No,{heading},Date,By\n1,Teste hidrostático,14/03/2024,N\n1,Ispit,15/03/2024,N\n"
    found = guessed(table)
    kinds = next(c for c in found.columns if c.key == WHAT)
    assert [new for _, new in kinds.values] == ["?", "?"]


OTHERS = ["VIP", "O2 clean", "Leak test", "Sichtprüfung", "TIV", "visual, ok", "VIP at Northside"]


@pytest.mark.parametrize("key", ["keep", "leave-out", "remark"])
@pytest.mark.parametrize("other", OTHERS)
@pytest.mark.parametrize("rows", ["entries", "cylinders"])
def test_a_cell_that_names_another_test_than_is_entered_is_asked(
    rows: str, other: str, key: str, ledger: Shop
) -> None:
    if key == "leave-out" and other == OTHERS[-1]:
        pytest.skip("what is left out and says more is nothing of this")
    table = f'Tank,Test,Tested,By\nRB-014,"{other}",14/03/2026,N\nRB-014,Hydro,15/02/2025,N\n'
    if rows == "cylinders":
        table = (
            "Serial,Maker,Test,Tested\n"
            + f'Q1,Works,"{other}",14/03/2026\nQ2,Works,Hydro,14/03/2026\n'
        )
    names = ("serial", "maker") if rows == "cylinders" else ("id", "")
    columns = f"  - {{column: A, key: {names[0]}}}\n  - {{column: B, key: {key}}}\n  - {{column: C, key: on}}\n"
    said = f"headings: 1\nrows: entries\nwhat: hydro\ndates: day-first\ncolumns:\n{columns}"
    if rows == "cylinders":
        columns = (
            "  - {column: A, key: serial}\n  - {column: B, key: maker}\n"
            f"  - {{column: C, key: {key}}}\n  - {{column: D, key: hydro, is: last}}\n"
        )
        said = f"headings: 1\nuse: pool\ndates: day-first\ncolumns:\n{columns}"
    got = imported(ledger.book, table, said)
    assert fates(got)[2] == "CANNOT"
    assert fates(got)[3] != "CANNOT", told(got)
    assert "names another test" in reasons(got.planned)
    letter = "C" if rows == "cylinders" else "B"
    if key != "leave-out":  # the mends that it names
        mine = said.replace(f"key: {key}", f'key: {key}, values: {{"{other}": hydro}}')
        assert "CANNOT" not in fates(imported(ledger.book, table, mine)).values()
    mine = said.replace(
        f"{letter}, key: {key}", f'{letter}, key: what, values: {{"{other}": visual}}'
    )
    got = imported(ledger.book, table, mine)
    assert "CANNOT" not in fates(got).values(), told(got)
    assert str(got.planned).count("hydrostatic") == 1


@pytest.mark.parametrize(
    "remark",
    [
        "hydro due 2029",
        "next hydro 2029",
        "blue boot",
        "Northside Hydro",
        "prochaine requalification 2028",
    ],
)
def test_a_remark_of_the_next_test_or_of_a_firm_says_nothing_of_this_one(
    remark: str, ledger: Shop
) -> None:
    table = f"Tank,Test,Tested,By,Remarks\nRB-014,VIP,14/03/2026,N,{remark}\n"
    got = imported(ledger.book, table)
    assert fates(got) == {2: "added to"}, told(got)


@pytest.mark.parametrize("remark", ["O2 clean", "VIP 2025", "needs VIP", "visual ok", "blue boot"])
def test_a_remark_in_a_list_of_cylinders_is_no_kind_of_its_test(remark: str, ledger: Shop) -> None:
    table = (
        "Serial,Maker,Keuring,Remarks\n"
        f"Q1,Works,14/03/2026,{remark}\nQ2,Works,14/03/2026,ask Bob\nQ3,Works,14/03/2026,old\n"
    )
    assert "CANNOT" not in fates(imported(ledger.book, table)).values()


@pytest.mark.parametrize("heading", ["Test", "Prüfung", "Épreuve", "Prueba", "Keuring", "Collaudo"])
def test_a_date_of_any_test_is_of_the_kind_beside_it(heading: str, ledger: Shop) -> None:
    """The word for a test of any kind is in no language that of a hydro, where its kind is told."""
    table = (
        f"Serial,Maker,WP (bar),{heading},Kind\n"
        "Q1,Works,232,14/03/2026,Visual\nQ2,Works,232,14/03/2026,Hydro\n"
    )
    assert [c.key for c in guessed(table).columns][3:] == ["hydro", "what"]
    got = imported(ledger.book, table)
    ledger.fact(got.planned)
    cards = {s: next(t for t in ledger.files.values() if f"serial: {s}" in t) for s in ("Q1", "Q2")}
    assert "hydrostatic" not in cards["Q1"]
    assert "2026-03-14" in cards["Q1"]
    assert "hydrostatic" in cards["Q2"]


# --- the true answer is among those that are offered ---------------------------------------------


@pytest.mark.parametrize(
    ("table", "answer"),
    [
        ("Serial,Constructor name,WP\nK1,Hollis,232\nK2,Acme,232\n", "maker"),
        (
            "Serial,Maker,OK to fill,Last hydro,Last VIP\nK1,W,yes,1/2024,1/2024\nK2,W,no,1/2024,1/2024\n",
            "stands",
        ),
        ("Tank,Test,Tested,Firm\n1,Hydro,14/03/2026,Norte\n1,VIP,15/03/2026,Sur\n", "by"),
    ],
)
def test_what_is_asked_offers_the_true_answer(table: str, answer: str) -> None:
    asked = [c.told for c in guessed(table).columns if c.key == "?"]
    assert all(re.search(rf"\b{answer}\b", each) for each in asked), asked


# --- another sheet of the same workbook ----------------------------------------------------------

LIST = "No,Serial,Maker,WP (bar),Hydro\n1,Q101,Works,232,04/2022\n2,Q202,Works,232,04/2022\nN3,Q303,Works,232,04/2022\n"
AGAINST = [
    "Condemned 2026", "Scrapped", "Sold", "Out of service", "Do not use", "Quarantine", "Retired", "Lost or stolen", "Ausgesondert",
    "Gesperrt", "Réformées", "Hors service", "Bajas", "Fuera de servicio", "Fuori uso", "Buiten gebruik", "Afgekeurd",
]  # fmt: skip
NAMES = {
    "by its serial": ("Serial,Why\nQ202,see Pat\n", {3}),
    "by its serial, spelt otherwise": ("Q-202\n", {3}),
    "by its number below a heading": ("No,Date\n2,3/2026\n", {3}),
    "by its id": ("N3\n", {4}),
    "not by a figure": ("How many,Price\n2,1\n", set()),
}


def with_sheet(title: str, table: str) -> Tab:
    rows = read(table).rows
    return replace(read(LIST), others=(OtherSheet(title, rows),))


@pytest.mark.parametrize("title", AGAINST)
@pytest.mark.parametrize("way", NAMES)
def test_a_cylinder_on_a_sheet_whose_name_tells_against_it_is_held(
    title: str, way: str, ledger: Shop
) -> None:
    table, rows = NAMES[way]
    tab = with_sheet(title, table)
    said = mapping(LIST)
    got = import_table(ledger.book, TODAY, tab, typed(said), by="MV")
    held = {row for row, comes in fates(got).items() if comes == "new and held"}
    assert held == rows, told(got)
    assert (title in "\n".join(got.told)) is bool(rows)
    for answer, comes in {"here": "new", "leave-out": "left out"}.items():
        mine = typed(f'{said}gone: {{"{title}": {answer}}}\n')
        got = import_table(ledger.book, TODAY, tab, mine, by="MV")
        assert {fates(got)[row] for row in rows} <= {comes}, told(got)


@pytest.mark.parametrize("title", ["Rentals", "Sheet2", "Hire log", "2025", "Prices"])
def test_a_cylinder_on_any_other_sheet_is_told_and_held_for_what_that_says(
    title: str, ledger: Shop
) -> None:
    table = "Serial,Who,What\nQ202,Bob Jones,neck crack\nQ303,Sue,blue boot\n"
    got = import_table(ledger.book, TODAY, with_sheet(title, table), typed(mapping(LIST)), by="MV")
    assert fates(got) == {2: "new", 3: "new and held", 4: "new"}
    assert f"`{title}` names 2 (row 2), N3 (row 3) as well" in told(got)
    assert "Bob" not in str(list(getattr(got.planned, "edits", ())))


def test_what_other_sheets_show_is_read_with_a_workbook() -> None:
    module = pytest.importorskip("openpyxl")
    made, data = module.Workbook(), BytesIO()
    for row in (line.split(",") for line in LIST.splitlines()):
        made.active.append(row)
    made.create_sheet("Condemned").append(["Serial", "Why"])
    made["Condemned"].append(["Q202", "neck crack"])
    made.save(data)
    (other,) = table_of(data.getvalue(), "list.xlsx").others
    assert (other.title, [r.texts for r in other.rows]) == (
        "Condemned",
        [("Serial", "Why"), ("Q202", "neck crack")],
    )


# --- sizes ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cell", "metal", "offered"),
    [
        ("80", "", ["al80", "hp80", "navy80", "al80-673", "al80-680"]),
        ("AL 80x", "", []),
        ("Alu 80", "", ["al80", "al80-673", "al80-680", "navy80"]),
        ("80 steel", "", ["hp80"]),
        ("HP 75", "aluminium", []),
        ("80 cu ft", "aluminium", ["al80", "al80-673", "al80-680", "navy80"]),
        ("12 ltr", "steel", ["12l", "12l-300"]),
        ("6,8", "steel", ["6.8l-300"]),
        ("2x7", "steel", []),
        ("2 x 12", "steel", []),
        ("D8.5", "", []),
        ("D12", "steel", []),
        ("S80", "", []),
        ("8.5", "", []),
        ("75", "", []),
        ("12/15", "", []),
    ],
)
def test_a_size_is_offered_only_where_it_is_that(
    cell: str, metal: str, offered: list[str], ledger: Shop
) -> None:
    table = f'Serial,Maker,Material,Size\nK1,Works,{metal},"{cell}"\n'
    said = mapping(table).replace("key: water_volume", "key: size").replace("key: ?", "key: size")
    refused = reasons(imported(ledger.book, table, said).planned)
    found = re.search(r'`values: \{"[^"]*": ([^}]*)\}`(?: \(or ([^)]*)\))?', refused)
    names = [found[1], *(found[2].split(", ") if found[2] else [])] if found else []
    assert set(names) == set(offered), refused
    for name in names:
        mine = re.sub(r"key: size.*", f'key: size\n    values: {{"{cell}": {name}}}', said)
        assert not isinstance(imported(ledger.book, table, mine).planned, Refusal)


@pytest.mark.parametrize(
    "heading", ["Cap (l)", "Capacity (litres)", "Litres", "Vol l", "Inhalt (l)"]
)
@pytest.mark.parametrize("cell", ["80", "63", "100", "72"])
def test_what_may_be_cubic_feet_is_taken_for_no_litres(
    heading: str, cell: str, ledger: Shop
) -> None:
    table = f"Serial,Maker,{heading}\nK1,Works,12\nK2,Works,{cell}\n"
    assert [c.key for c in guessed(table).columns][2] == "?"
    said = mapping(table).replace("key: ?", "key: water_volume\n    unit: L")
    got = imported(ledger.book, table, said)
    assert fates(got) == {2: "new", 3: "CANNOT"}
    assert "write the unit into the cell" in told(got)
    assert fates(imported(ledger.book, table.replace(cell, f"{cell} l"), said))[3] == "new"


# --- what needs no answer, and what has one ------------------------------------------------------


@pytest.mark.parametrize("key", ["leave-out", "keep", "remark"])
def test_what_is_left_open_of_a_column_that_is_not_read_needs_no_answer(
    key: str, ledger: Shop
) -> None:
    table = "Serial,Maker,WP,Price,Hydro,Metal\nK1,Works,232,40,04/2022,alloy5\n"
    open_ = mapping(table).replace("key: price", f"key: {key}").replace("unit: ?", "unit: bar", 1)
    assert "unit: ?" in open_
    answered = open_.replace("key: material", f"key: {key}")
    assert '"alloy5": ?' in answered
    answered = answered.replace("key: hydro", f"key: {key}").replace("is: last", "is: ?")
    assert imported(ledger.book, table, answered).planned


def test_the_unit_that_is_asked_is_one_of_its_kind() -> None:
    table = "Serial,Maker,WP,Price\nK1,Works,232,40\n"
    _, findings = mapping_of(mapping(table), "club.yaml")
    mends = [f.mend for f in findings if "`unit`" in f.text]
    assert "bar or psi" in mends[0]
    assert "EUR" in mends[1]


@pytest.mark.parametrize("more", ["", ",blue boot", ",neck crack"])
def test_a_row_that_stands_twice_is_one_row(more: str, ledger: Shop) -> None:
    row = f"K1,Works,232,04/2022{more}\n"
    table = f"Serial,Maker,WP (bar),Hydro{',Remarks' if more else ''}\n{row}K2,Works,232,04/2022{',' if more else ''}\n{row}"
    got = imported(ledger.book, table)
    assert fates(got)[4] == "left out"
    assert fates(got)[2] == ("new and held" if "crack" in more else "new")
    assert "the same as row 2" in told(got)
    other = table[: -len(row)] + row.replace("232", "200")
    assert fates(imported(ledger.book, other)) == {2: "CANNOT", 3: "new", 4: "CANNOT"}


def test_headings_of_two_rows_are_corrected_in_one_place(ledger: Shop) -> None:
    table = (
        "Serial,Maker,WP,Hydro,Other\nas stamped,works of,in bar,done in,words\n"
        "K1,Works,232,04/2022,blue boot\n"
    )
    said = mapping(table).replace("headings: 1 ", "headings: 1-2 ").replace("unit: ?", "unit: bar")
    assert "headings: 1-2" in said
    got = imported(ledger.book, table, said)
    assert fates(got) == {3: "new"}, reasons(got.planned)


@pytest.mark.parametrize("heading", ["Ref", "Flesnr", "Bloc", "N.", "Ref. no"])
def test_short_names_of_an_id_are_known(heading: str) -> None:
    table = f"{heading},Serial,Maker\n1,K1,Works\n2,K2,Works\n"
    assert guessed(table).columns[0].key == "id"


@pytest.mark.parametrize(
    ("remark", "holds"),
    [
        ("burst disc replaced 2025", False),
        ("new burst disc 2025", False),
        ("Berstscheibe ersetzt 2025", False),
        ("burst disc replaced after it blew", True),
        ("burst disc to be replaced", True),
        ("failed burst disc replaced", True),
        ("burst disc blew", True),
        ("moet nog gekeurd worden", True),
        ("muss noch geprüft werden", True),
        ("doit encore être éprouvée", True),
        ("debe pasar la prueba", True),
        ("deve fare il collaudo", True),
        ("still to be tested", True),
    ],
)
def test_what_is_done_holds_nothing_and_what_is_to_be_done_does(
    remark: str, holds: bool, ledger: Shop
) -> None:
    table = f"Serial,Maker,WP (bar),Hydro,Remarks\nK1,Works,232,04/2022,{remark}\n"
    assert fates(imported(ledger.book, table)) == {2: "new and held" if holds else "new"}


@pytest.mark.parametrize(
    ("comment", "said"),
    [("N3 is the one Kim wants back", "N3"), ("some failed, ask Kim", "see whom it is of")],
)
def test_a_comment_on_a_heading_is_told(comment: str, said: str, ledger: Shop) -> None:
    tab = read(LIST)
    first, *others = tab.rows
    pinned = replace(first, beside=(TabCell(comment, Mark(0, 1, 5)),))
    tab = replace(tab, rows=(pinned, *others))
    got = import_table(ledger.book, TODAY, tab, typed(mapping(LIST)), by="MV")
    assert comment in told(got)
    assert said in told(got)
    assert fates(got)[2] == "new"


# --- a list that comes again ---------------------------------------------------------------------


@pytest.mark.parametrize("on_file", ["leave", "complete"])
@pytest.mark.parametrize("cell", ["", "here", "in"])
def test_a_name_that_was_taken_out_of_a_list_is_told(cell: str, on_file: str, ledger: Shop) -> None:
    table = (
        "Serial,Maker,WP (bar),Hydro,Who has it\nK1,Works,232,04/2022,{}\nK2,Works,232,04/2022,\n"
    )
    said = mapping(table.format("Jim"))
    ledger.fact(imported(ledger.book, table.format("Jim"), said).planned)
    id_ = next(c.id for c in ledger.book.cylinders.values() if c.serial == "K1")
    again = f"on_file: {on_file}\n{said}"
    same = imported(ledger.book, table.format("Jim"), again)
    assert "with nobody" not in told(same)
    got = imported(ledger.book, table.format(cell), again)
    assert f"tankbook return {id_} --on DAY" in told(got)
    assert fates(got) == {2: "there already", 3: "there already"}


def test_a_row_that_was_taken_out_of_a_list_is_told(ledger: Shop) -> None:
    ledger.fact(imported(ledger.book, LIST).planned)
    fewer = LIST.replace("2,Q202,Works,232,04/2022\n", "")
    got = imported(ledger.book, fewer, mapping(LIST))
    assert "2: on file from a table, and not in this one" in told(got)
    for table in (LIST, "No,Serial,Maker,WP (bar),Hydro\n8,Q808,Works,232,04/2022\n"):
        assert "not in this one" not in told(imported(ledger.book, table, mapping(LIST)))


# --- day and month the other way about -----------------------------------------------------------

MADE = (
    "Serial,Maker,WP (bar),Hydro\nK1,Works,232,2022-05-04\nK2,Works,232,13/04/2022\n"
    "K3,Works,232,2022-03-09\nK4,Works,232,25/06/2022\n"
)


def test_days_that_a_spreadsheet_may_have_swapped_are_asked_and_put_right(ledger: Shop) -> None:
    assert "days: ?" in mapping(MADE)
    said = mapping(MADE).replace("    days: ?", "    # days: ?")
    assert "write `days: right` for its column, or `days: swapped`" in reasons(
        imported(ledger.book, MADE, said, good=True).planned
    )
    for answer, days in {
        "right": ["2022-05-04", "2022-04-13", "2022-03-09", "2022-06-25"],
        "swapped": ["2022-04-05", "2022-04-13", "2022-09-03", "2022-06-25"],
    }.items():
        got = imported(ledger.book, MADE, mapping(MADE).replace("days: ?", f"days: {answer}"))
        assert set(fates(got).values()) == {"new"}
        cards = [c for c in got.book.cylinders.values() if c.serial in ("K1", "K2", "K3", "K4")]
        found = [f"{c.requalified[0].on}" for c in sorted(cards, key=lambda c: c.serial)]
        assert found == days


@pytest.mark.parametrize("unit", ["PSI", "bar", "(psi)"])
def test_units_in_a_second_row_of_headings_are_headings(unit: str) -> None:
    table = (
        f"Tag,Serial,Mfr,Valve,WP,Hydro,\n,,,{unit},{unit},Last,Due\n"
        "1,K1,Works,3000,3000,3/2024,3/2029\n2,K2,Works,3000,3000,3/2024,3/2029\n"
    )
    found = guessed(table)
    assert found.headings == "1-2"
    assert [c.key for c in found.columns] == [
        "id", "serial", "maker", "valve.rating", "service_pressure", "hydro", "hydro",
    ]  # fmt: skip
    assert {c.unit for c in found.columns[3:5]} == {unit.strip("()").lower()}


def test_one_row_may_be_of_both_tests(ledger: Shop) -> None:
    """And the same file again changes nothing."""
    table = "Tank,What,Date,By\nRB-014,V/H,14/03/2026,Northside\nRB-014,both,14/03/2025,Northside\n"
    answers = {'"V/H": ?': '"V/H": hydro and visual', '"both": ?': '"both": hydro and visual'}
    assert all(asked in mapping(table) for asked in answers)
    got = imported(ledger.book, table, mapping(table, **answers))
    ledger.fact(got.planned)
    card = ledger.book.cylinders["RB-014"]
    for day in (dt.date(2026, 3, 14), dt.date(2025, 3, 14)):
        assert any(t.on.first == day and t.method is Method.HYDROSTATIC for t in card.requalified)
        assert any(i.on.first == day for i in card.inspected)
    again = imported(ledger.book, table, mapping(table, **answers))
    assert set(fates(again).values()) == {"there already"}


def test_who_has_what_is_out_by_its_status_is_said_there(ledger: Shop) -> None:
    table = "Serial,Maker,Status,Who\nQ1,Works,Rented,\nQ2,Works,Rented,C-11\nQ3,Works,ok,\n"
    answers = {'"Rented": ?': '"Rented": out to M-001'}
    ledger.fact(imported(ledger.book, table, mapping(table, **answers)).planned)
    cards = {c.serial: c for c in ledger.book.cylinders.values()}
    assert [[r.to for r in cards[s].rented] for s in ("Q1", "Q2", "Q3")] == [
        ["M-001"],
        ["C-11"],
        [],
    ]


GROUPS = "Group,Serial,Maker,Remarks\nRental,Q1,Works,\n,Q2,Works,\nOut of service,Q3,Works,\n,Q4,Works,\n"


@pytest.mark.parametrize(
    ("answer", "held"), [("as-above", ["Q3", "Q4"]), ("nothing", ["Q3"]), ("?", None)]
)
def test_a_group_that_is_named_in_its_first_row_is_asked(
    answer: str, held: list[str] | None, ledger: Shop
) -> None:
    """Else what stands in a group that is out of service would go into use."""
    said_ = mapping(GROUPS, **{"blanks: ?": f"blanks: {answer}"})
    if held is None:
        found, findings = mapping_of(said_, "club.yaml")
        assert found is None
        assert [f.text for f in findings] == ["column A (Group): `blanks` is not answered"]
        return
    ledger.fact(imported(ledger.book, GROUPS, said_).planned)
    assert [c.serial for c in ledger.book.cylinders.values() if c.held] == held


@pytest.mark.parametrize(
    "table",
    [
        "Serial,Maker,Remarks\nQ1,Works,new boot\nQ2,Works,\n",  # behind what names it
        "Group,Serial,Maker\nRental,Q1,Works\nRental,Q2,Works\n,Q3,Works\n",  # said again
        "Group,Serial,Maker\n,Q1,Works\nRental,Q2,Works\n",  # not in the first row
    ],
)
def test_what_is_filled_in_some_rows_is_no_group(table: str) -> None:
    assert not any(c.blanks for c in guessed(table).columns)
