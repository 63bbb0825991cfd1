"""What a sheet says once in two places, or of many in one, is taken for neither by itself."""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS, TODAY
from clubs import fates, guessed, imported, mapping, read, told, typed
from msgspec.structs import replace
from shop import Shop, shop

from tankbook.acts.import_ import import_table
from tankbook.records.sheet_mapping import RowsAre
from tankbook.records.words import Status

BAR = SETTINGS.replace("units: psi", "units: bar")


@pytest.fixture(name="ledger")
def _ledger() -> Shop:
    return shop(settings=BAR, RB_014=GOOD)


def keys_of(heads: str, rows: list[str]) -> dict[str, str]:
    """What each column seems to be, by its heading."""
    table = f"{heads}\n" + "".join(f"{row}\n" for row in rows)
    return {c.heading: c.key for c in guessed(table).columns}


# --- two columns for one key ---------------------------------------------------------------------

PRESSURES = [
    ("Service pressure (bar)", "Working pressure (bar)"),
    ("PW (bar)", "PS (bar)"),
    ("Rated (bar)", "Max pressure (bar)"),
    ("Rated pressure (bar)", "Nenndruck (bar)"),
    ("WP (bar)", "SP (bar)"),
    ("Betriebsdruck (bar)", "Arbeitsdruck (bar)"),
    ("Pression de service (bar)", "Pression de travail (bar)"),
]


@pytest.mark.parametrize("heads", PRESSURES)
@pytest.mark.parametrize("turned", [False, True])
def test_of_two_pressures_that_differ_neither_is_taken(
    heads: tuple[str, str], turned: bool
) -> None:
    one, two = reversed(heads) if turned else heads
    found = keys_of(f"Serial,Maker,{one},{two}", ["K1,Works,300,232", "K2,Works,232,232"])
    if (one, two) == ("PS (bar)", "PW (bar)"):  # that of the trade is the less of them
        assert found == {"Serial": "serial", "Maker": "maker", one: "keep", two: "service_pressure"}
        return
    assert found[one] == found[two] == "?"


@pytest.mark.parametrize("heads", PRESSURES)
def test_of_two_pressures_that_agree_one_is_taken(heads: tuple[str, str]) -> None:
    rows = ["K1,Works,232,232", "K2,Works,232,", "K3,Works,,200", "K4,Works,300 bar,300"]
    found = keys_of(f"Serial,Maker,{','.join(heads)}", rows)
    assert sorted(found.values()) == ["keep", "maker", "serial", "service_pressure"]


@pytest.mark.parametrize(
    ("units", "cells", "asked"),
    [
        (("bar", "psi"), ["207,3000", "232,3365", "300,4350"], False),
        (("bar", "psi"), ["207,3000", "232,4350"], True),
        (("psi", "bar"), ["3000,207", "2250,155"], False),
    ],
)
def test_one_pressure_in_two_units_is_no_question(
    units: tuple[str, str], cells: list[str], asked: bool
) -> None:
    heads = [f"WP ({unit})" for unit in units]
    rows = [f"K{n},{each}" for n, each in enumerate(cells)]
    found = keys_of(f"Serial,{','.join(heads)}", rows)
    assert (found[heads[0]] == found[heads[1]] == "?") is asked
    assert ("service_pressure" in found.values()) is not asked


WEAK = ["Max pressure (bar)", "Rated (bar)", "Nenndruck (bar)", "PS (bar)"]
STRONG = [
    "WP (bar)",
    "Working pressure (bar)",
    "Service pressure (bar)",
    "Betriebsdruck (bar)",
    "Pression de service (bar)",
    "Presi\u00f3n de trabajo (bar)",
    "Pressione di esercizio (bar)",
    "Werkdruk (bar)",
]


@pytest.mark.parametrize("strong", STRONG)
@pytest.mark.parametrize("weak", WEAK)
@pytest.mark.parametrize("turned", [False, True])
def test_the_name_of_the_trade_is_the_working_pressure_unless_it_is_the_more(
    strong: str, weak: str, turned: bool
) -> None:
    def found(own: int, other: int) -> dict[str, str]:
        pairs = [(strong, own), (weak, other)]
        (one, a), (two, b) = reversed(pairs) if turned else pairs
        return keys_of(f"Serial,Maker,{one},{two}", [f"K1,Works,{a},{b}", f"K2,Works,{a},{b}"])

    assert found(232, 300)[strong] == "service_pressure"
    assert found(232, 300)[weak] == "keep"
    assert found(300, 232)[strong] == found(300, 232)[weak] == "?"


@pytest.mark.parametrize(
    ("heads", "a", "b"),
    [
        (("Test pressure (bar)", "TP (bar)"), "348", "450"),
        (("Water volume (L)", "Litres"), "12", "12.2"),
        (("Serial", "Maker's no"), "K1", "BD77"),
        (("Made", "Built"), "2010", "2012"),
        (("First test", "Original hydro"), "03/2010", "04/2011"),
        (("Weight kg", "Tare kg"), "14.1", "15.2"),
        (("Valve rating (bar)", "Valve pressure (bar)"), "300", "232"),
        (("Size", "Type"), "AL80", "AL100"),
    ],
)
def test_of_two_figures_or_days_that_differ_neither_is_taken(
    heads: tuple[str, str], a: str, b: str
) -> None:
    before = "Club no,Maker"
    found = keys_of(f"{before},{','.join(heads)}", [f"N1,Works,{a},{b}"])
    assert [found[h] for h in heads] == ["?", "?"]
    if heads[0] != "Serial":
        found = keys_of(f"{before},{','.join(heads)}", [f"N1,Works,{a},{a}"])
        assert "?" not in [found[h] for h in heads]


def test_the_answer_to_which_of_two_works(ledger: Shop) -> None:
    table = (
        "Serial,Maker,Service pressure (bar),Working pressure (bar),Hydro\nK1,Works,300,232,04/2022"
    )
    said = mapping(table)
    assert "`Service pressure (bar)` and `Working pressure (bar)`" in said
    mine = said.replace("key: ?", "key: keep", 1).replace("key: ?", "key: service_pressure", 1)
    got = imported(ledger.book, table, mine)
    assert "CANNOT" not in fates(got).values(), told(got)
    assert "service_pressure: 232 bar" in str(got.planned)


# --- rows of few cells that are no cylinders -----------------------------------------------------

LIST = "No;Serial;Maker;WP (bar);Litres;Metal;Hydro;Remarks\n"


def a_row(number: int) -> str:
    return f"{number};PQ{number}01X;Works;232;12;steel;04/2022;\n"


TITLES = [
    "SOLD;2 pcs",
    "SOLD;12",
    "Sold 2024;;2 pcs",
    "Condemned;;;;;;;see file",
    "Out of use;3",
    "Away for test;;;;;;March 2026",
    "Verkauft;3 Stück",
    "Hors service;2",
    "Vendues;2 bouteilles;2025",
    "Fuera de servicio;;;;;;2025",
    "Fuori uso;2",
    "Buiten gebruik;2 stuks",
    "Do not fill;all",
]


@pytest.mark.parametrize("title", TITLES)
def test_a_title_of_several_cells_is_of_those_beneath(title: str, ledger: Shop) -> None:
    table = LIST + a_row(1) + a_row(2) + "\n" + f"{title}\n" + a_row(3) + a_row(4)
    said = mapping(table)
    got = imported(ledger.book, table, said, good=True)
    assert fates(got) == {2: "new", 3: "new", 5: "CANNOT", 6: "CANNOT", 7: "CANNOT"}, told(got)
    whole = "; ".join(filter(None, title.split(";")))
    held = imported(ledger.book, table, said + f'gone: {{"{whole}": hold}}\n')
    assert list(fates(held).values())[3:] == ["new and held", "new and held"], told(held)


def test_a_title_that_counts_names_none_of_the_numbers(ledger: Shop) -> None:
    rows = "".join(map(a_row, range(10, 14)))
    table = f"{LIST}{rows}\nSOLD;12 pcs\n" + a_row(14)
    got = imported(ledger.book, table, mapping(table), good=True)
    assert [fates(got)[n] for n in (4, 8)] == ["new", "CANNOT"]


def test_a_title_that_names_some_is_of_these(ledger: Shop) -> None:
    table = LIST + "".join(map(a_row, range(1, 6))) + "\nNot for hire;No. 2 to 3\n"
    got = imported(ledger.book, table, mapping(table), good=True)
    assert [fates(got)[n] for n in range(2, 7)] == ["new", *["new and held"] * 2, "new", "new"]


@pytest.mark.parametrize("short", ["3;", "K 3;", "03;", "9;PQ901X", "Pony;PQ901X", "A3;?"])
def test_a_row_of_few_cells_that_names_a_cylinder_is_one(short: str, ledger: Shop) -> None:
    table = LIST + a_row(1) + a_row(2) + f"{short}\n" + a_row(4)
    got = imported(ledger.book, table, mapping(table), good=True)
    assert "names no cylinder" not in told(got)
    assert fates(got)[5] == "new"


COLOURS = [
    "Amber",
    "Pink",
    "RED tanks",
    "Highlighted",
    "rood",
    "oranje",
    "ambre",
    "hellrot",
    "Lime",
]


@pytest.mark.parametrize("colour", [*COLOURS, "orange row", "R", "*", "X", "#"])
def test_a_legend_is_no_cylinder_and_no_small_thing(colour: str, ledger: Shop) -> None:
    table = LIST + a_row(1) + a_row(2) + f"\n{colour};Do not fill\n{colour};due in 3 months\n"
    got = imported(ledger.book, table, mapping(table), good=True)
    assert fates(got) == {2: "new", 3: "new", 5: "CANNOT", 6: "left out"}, told(got)


@pytest.mark.parametrize("says", ["Do not fill", "condemned", "at test", "kaputt"])
def test_a_legend_holds_those_of_its_colour(says: str, ledger: Shop) -> None:
    tab = read(LIST + a_row(1) + a_row(2) + a_row(3) + f"\nAmber;{says}\n")
    amber = ("#FFC000",)
    rows = [
        replace(r, cells=tuple(replace(c, colours=amber) for c in r.cells))
        if r.number in (3, 6)
        else r
        for r in tab.rows
    ]
    said = typed(mapping(LIST + a_row(1) + a_row(2) + a_row(3)))
    got = import_table(ledger.book, TODAY, replace(tab, rows=tuple(rows)), said, by="MV")
    assert fates(got) == {2: "new", 3: "new and held", 4: "new", 6: "left out"}, told(got)


# --- what is said beside a test ------------------------------------------------------------------

FAILED = [
    "failed",
    "failed neck",
    "rejected - neck crack",
    "did not pass",
    "nicht bestanden",
    "refus\u00e9",
    "no apta",
    "non superato",
    "afgekeurd",
]
NOT_DONE = [
    "VI done not hydro",
    "postponed",
    "sent, not back yet",
    "cancelled",
    "abgesagt",
    "niet gekeurd",
]


def listed(remark: str, by: str) -> str:
    by, names = (f",{by}", ",By") if by else ("", "")
    return (
        f"Cylinder,Date,What{names},Notes\n"
        f'RB-014,14/03/2025,Hydro{by},"{remark}"\n'
        f"RB-014,20/09/2026,VIP{by},\n"
    )


@pytest.mark.parametrize("by", ["", "Northside"])
@pytest.mark.parametrize("remark", [*FAILED, *NOT_DONE])
def test_a_test_with_words_of_failure_beside_it_is_asked(
    remark: str, by: str, ledger: Shop
) -> None:
    table = listed(remark, by)
    said = mapping(table)
    good = imported(ledger.book, table, said, good=True)
    assert fates(good) == {2: "CANNOT", 3: "CANNOT"}, told(good)  # nor what was looked at later
    whole = next(c for c in guessed(table).columns if c.heading == "Notes").letter
    assert f'`{{"{remark}": fail}}`' in told(good)
    answer = f'column: {whole}\n    values: {{"{remark}": %s}}'
    failed = imported(ledger.book, table, said.replace(f"column: {whole}", answer % "fail"))
    assert fates(failed) == {2: "added to", 3: "added to"}, told(failed)
    assert "test of 2025-03-14 failed" in str(failed.planned)
    card = failed.book.cylinders["RB-014"]
    assert card.status is Status.HELD
    passed = imported(ledger.book, table, said.replace(f"column: {whole}", answer % "pass"))
    assert "CANNOT" not in fates(passed).values(), told(passed)
    out = imported(ledger.book, table, said.replace(f"column: {whole}", answer % "leave-out"))
    assert fates(out)[2] == "left out"
    assert fates(out)[3] == "added to"


@pytest.mark.parametrize("remark", ["no failures", "passed", "ok", "new valve", "stamped", "paid"])
def test_a_test_with_nothing_against_it_beside_it_is_taken(remark: str, ledger: Shop) -> None:
    got = imported(ledger.book, listed(remark, ""))
    assert fates(got) == {2: "added to", 3: "added to"}, told(got)


def test_a_later_sticker_of_nobody_answers_no_remark(ledger: Shop) -> None:
    table = listed("leaks at the neck", "").replace("14/03/2025", "10/09/2026")
    got = imported(ledger.book, table)
    assert got.book.cylinders["RB-014"].status is Status.HELD, told(got)


@pytest.mark.parametrize("title", ["Failed", "Not done yet", "Do not fill", "Durchgefallen;2"])
def test_a_title_among_tests_is_of_those_beneath(title: str, ledger: Shop) -> None:
    table = (
        "Cylinder;Date;What;By\n"
        "RB-014;14/03/2024;Hydro;Northside\n\n"
        f"{title}\n"
        "RB-014;14/03/2025;Hydro;Northside\n"
        "RB-014;20/09/2026;VIP;Northside\n"
    )
    said = mapping(table)
    good = imported(ledger.book, table, said, good=True)
    assert set(fates(good).values()) == {"CANNOT"}, told(good)
    key = title.replace(";", "; ")
    held = imported(ledger.book, table, said + f'gone: {{"{key}": hold}}\n')
    assert fates(held)[5] == "added to", told(held)
    assert held.book.cylinders["RB-014"].status is Status.HELD
    assert ("2025-03-14 failed" in str(held.planned)) is ("Do not" not in title)
    out = imported(ledger.book, table, said + f'gone: {{"{key}": leave-out}}\n')
    assert [fates(out)[n] for n in (5, 6)] == ["left out", "left out"]
    here = imported(ledger.book, table, said + f'gone: {{"{key}": here}}\n')
    assert fates(here)[5] == "added to"


def test_a_title_among_rentals_is_of_those_beneath(ledger: Shop) -> None:
    table = (
        "Tank;Out;Returned;Hirer;Remarks\n"
        "RB-014;01/07/2026;03/07/2026;M-01;\n"
        ";;;;dropped on the pier, do not use\n"
        "July;;;;\n"
        "RB-014;13/07/2026;15/07/2026;M-03;\n"
    )
    got = imported(ledger.book, table, mapping(table), good=True)
    assert set(fates(got).values()) <= {"CANNOT", "left out"}, told(got)


@pytest.mark.parametrize("answer", ["hold", "here", ""])
def test_a_remark_that_goes_on_beneath_its_row_is_of_that_alone(answer: str, ledger: Shop) -> None:
    says = "dropped, do not use until seen"
    table = f"{LIST}{a_row(1)};;;;;;;{says}\n{a_row(2)}{a_row(3)}"
    said = mapping(table) + (f'gone: {{"{says}": {answer}}}\n' if answer else "")
    got = imported(ledger.book, table, said, good=True)
    above = {"hold": "new and held", "here": "new", "": "CANNOT"}[answer]
    assert [fates(got)[n] for n in (2, 4, 5)] == [above, "new", "new"], told(got)


# --- days of any test ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hydro", "other"),
    [
        ("Hydro", "Tested"),
        ("Hydro", "Test"),
        ("Hydro", "Last test"),
        ("Last hydro", "Expiry"),
        ("Hydro", "Valid until"),
        ("Druckpr\u00fcfung", "Pr\u00fcfung"),
        ("Hydro", "Keuring"),
        ("Prueba hidr\u00e1ulica", "Prueba"),
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_days_of_any_test_beside_those_of_a_hydro_are_asked(
    hydro: str, other: str, turned: bool, ledger: Shop
) -> None:
    heads = [(hydro, "14/03/2019"), (other, "20/09/2026")]
    (one, a), (two, b) = reversed(heads) if turned else heads
    table = f"Serial,Maker,WP (bar),{one},{two}\nK1,Works,232,{a},{b}\n"
    found = {c.heading: c.key for c in guessed(table).columns}
    assert (found[hydro], found[other]) == ("hydro", "?")
    said = mapping(table).replace("key: ?", "key: visual\n    is: last")
    got = imported(ledger.book, table, said)
    assert "CANNOT" not in fates(got).values(), told(got)


@pytest.mark.parametrize("beside", ["Maker", "VIP"])
@pytest.mark.parametrize(
    "heading", ["Tested", "Test", "Expiry", "Valid until", "Next test", "G\u00fcltig bis"]
)
def test_days_of_any_test_alone_ask_of_which_and_last_or_next(heading: str, beside: str) -> None:
    """A yearly look taken for a hydro would stand for years."""
    cell = "Works" if beside == "Maker" else "02/2026"
    found = guessed(f"Serial,{beside},WP (bar),{heading}\nK1,{cell},232,14/03/2019\n").columns
    assert found[-1].key == "?"
    assert "hydro, visual" in found[-1].told
    assert "is: next" in found[-1].told


# --- what is not in use --------------------------------------------------------------------------

NOT_IN_USE = [
    "Not in use",
    "no longer in use",
    "nicht in Gebrauch",
    "en panne",
    "niet in gebruik",
    "Kapotte flessen",
    "kapot",
    "Rotte",
    "\u00c0 requalifier",
    "Perdus",
    "Away",
    "no en uso",
    "non in uso",
    "Defekte",
    "Gesperrte Flaschen",
]


@pytest.mark.parametrize("said", NOT_IN_USE)
def test_what_is_not_in_use_holds_and_is_asked_as_a_title(said: str, ledger: Shop) -> None:
    beside = LIST + a_row(1).replace(";\n", f";{said}\n")
    assert fates(imported(ledger.book, beside, good=True))[2] in ("new and held", "CANNOT")
    table = LIST + a_row(1) + f"\n{said};;;;;;;\n" + a_row(2)
    got = imported(ledger.book, table, mapping(table), good=True)
    assert fates(got) == {2: "new", 4: "CANNOT", 5: "CANNOT"}, told(got)


@pytest.mark.parametrize("said", ["never used", "noch nie benutzt", "in use", "in Gebrauch"])
def test_what_was_never_used_holds_nothing(said: str, ledger: Shop) -> None:
    table = LIST + a_row(1).replace(";\n", f";{said}\n")
    assert fates(imported(ledger.book, table, good=True))[2] == "new"


def test_days_of_inspections_and_kinds_are_a_list_of_tests() -> None:
    table = "Cyl,Inspected,Kind,Passed\n1,14/03/2024,pressure,Y\n1,20/09/2026,visual,Y\n"
    found = guessed(table)
    assert found.rows is RowsAre.ENTRIES
    assert [c.key for c in found.columns] == ["id", "on", "what", "result"]
    assert ("pressure", "?") in found.columns[2].values
