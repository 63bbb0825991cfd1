"""What is guessed of a table, and what is asked instead: which number of a date is its day."""

from __future__ import annotations

import datetime as dt

import books
import clubs
import pytest

from tankbook.acts.tab_cells import seem_swapped
from tankbook.acts.tab_guess import guess, one_order, orders_by_column
from tankbook.output import mapping_file
from tankbook.rules.harmless import is_plain_title

TODAY = dt.date(2026, 11, 25)


@pytest.mark.parametrize(
    ("columns", "order"),
    [
        ([["13/04/2021", "14/04/2021", "3/4/2021"]], "day-first"),
        ([["04/13/2021", "04/14/2021", "3/4/2021"]], "month-first"),
        ([["13/04/2021", "04/2021"]], "day-first"),
        ([["2021-04-13", "2022-04-14"]], ""),  # the year before them says itself which is which
        ([["2021-04-13", "2022-04-14", "3/4/2021"]], "?"),
        ([["2021.04.13 10:30", "3/4/2021"]], "?"),
        ([["13/04/2021", "3/4/2021"]], "?"),  # one alone may be a slip of the hand
        ([["13/04/2021", "14/04/2021"], ["3/4/2021"]], "?"),  # another column, another hand
        ([["13/04/2021", "14/04/2021"], ["4/13/2021"]], "?"),
        ([["4/4/2021", "5.5.21"]], ""),
        ([["24-03-11", "24-05-12"]], "?"),  # the year may stand first or last
        ([["98-03-11", "99-05-12", "03-05-12"]], "year-first"),
        ([["98-03-11", "03-05-12"]], "?"),
        ([["13/04/21", "14/04/21"]], "?"),
        ([["13/04/21", "14/04/21", "3/4/2021", "5/4/2021"]], "day-first"),
        ([["13/04/21", "14/04/21", "3-4-2021", "5-4-2021"]], "?"),  # another hand
        ([["4/13/22", "10/14/22", "05/06/22"]], "month-first"),
        ([["13/04/2021", "14/04/2021"], ["24-03-11"]], "?"),
        ([["13/04/2021", "14/04/2021"], ["98-03-11", "99-03-11"]], "?"),
        ([["31/04/22", "31/06/22"]], ""),  # slips, and not days of 2031
        ([["04/22", "05/23", "03/04"]], "month-first"),
        ([["03/04", "05/06"]], "?"),
        ([["04/2022", "05/2023"]], ""),
        ([["24/03", "23/05", "03/04"]], "?"),
        ([["98-Mar-11", "24-Mar-11"]], "?"),
        ([["3/4/2021"]], "?"),
        ([], ""),
    ],
)
def test_an_order_is_said_only_where_each_column_shows_it(
    columns: list[list[str]], order: str
) -> None:
    assert one_order(orders_by_column(columns, TODAY)) == order


@pytest.mark.parametrize(
    ("cells", "swapped"),
    [
        (["2022-05-04", "13/04/2022", "2022-03-09", "25/06/2022"], True),
        (["2022-05-04", "04/13/2022", "2022-03-09", "06/25/2022", "?"], True),
        (["2022-05-13", "13/04/2022", "2022-03-09", "25/06/2022"], False),
        (["2022-05-04", "13/04/2022", "2022-03-09", "05/06/2022"], False),
        (["2022-05-04", "2022-03-09", "04/2022", "06/2022"], False),
        (["2022-05-04", "13/04/2022"], False),
        ([], False),
    ],
)
def test_dates_that_a_spreadsheet_read_in_the_other_order(cells: list[str], swapped: bool) -> None:
    assert seem_swapped(cells) == swapped


COLUMNS = {
    "W.P.": ("232", "300", "service_pressure"),
    "Size": ("12L", "11.1", "water_volume"),
    "Size (cuft)": ("80", "63", "size"),
    "Type": ("Steel", "Ali", "material"),
    "Model": ("al80", "Ali", "size"),
    "Holder": ("Jane P", "", "out_to"),
}


@pytest.mark.parametrize("heading", COLUMNS)
def test_a_column_is_known_by_its_heading_and_by_what_stands_in_it(heading: str) -> None:
    *cells, key = COLUMNS[heading]
    table = f"Serial;{heading}\n" + "".join(f"A{i};{cell}\n" for i, cell in enumerate(cells))
    assert guess(clubs.read(table), books.TODAY).columns[1].key == key


SHORT_HEADS = {
    "Herst.-Nr.": ("A1", "serial"), "Sichtpr.": ("04/2025", "visual"), "Inventar": ("7", "id"), "PE (bar)": ("348", "?"),
    "Litros": ("12", "water_volume"), "Visiva": ("04/2025", "visual"), "Annotazioni": ("blu", "remark"), "Anmerkungen": ("blau", "remark"),
}  # fmt: skip


@pytest.mark.parametrize("heading", SHORT_HEADS)
def test_a_heading_that_is_shortened_or_of_another_tongue_is_known(heading: str) -> None:
    cell, key = SHORT_HEADS[heading]
    assert (
        clubs.guess(clubs.read(f"{heading};Maker\n{cell};Works\n"), books.TODAY).columns[0].key
        == key
    )


@pytest.mark.parametrize(
    "heading", ["Zustand", "Condition", "Faults", "Defects", "Problems", "État"]
)
def test_a_heading_that_asks_how_it_is_is_kept_with_what_stands_below(heading: str) -> None:
    table = f"Serial;{heading}\nA1;blue boot\nA2;3\n"
    assert clubs.guessed(table).columns[1].key == "keep"


PRESSURES = ["3000", "2400", "3442"]
CUBIC_FEET = ["80", "LP95", "100"]
ASKED = {
    **dict.fromkeys(
        ["Press", "Pressure", "PRESSURE (psi)", "Press. psi", "psi", "Bar", "Druck", "Druck [bar]", "Pression", "Presión",
         "Pressione (bar)", "Druk", "Fülldruck", "Fill pressure", "Fill press", "Charge pressure", "Vuldruk"],
        (PRESSURES, "what is stamped for filling, or what was in it"),
    ),
    **dict.fromkeys(
        ["Cap", "Cap.", "Capacity", "Vol", "Volume", "Volume (cu ft)", "Capacité", "Inhalt", "Volumen"],
        (CUBIC_FEET, "the cubic feet of gas, or the litres of water"),
    ),
    "CAP": (["80", "63", "40"], "the cubic feet of gas, or the litres of water"),
    "VOL": (["AL80", "LP95", "HP100"], "the cubic feet of gas, or the litres of water"),
    "Capacity ": (["80 cu ft", "12 L"], "the cubic feet of gas, or the litres of water"),
}  # fmt: skip
GUESSED = {
    "Service pressure": (PRESSURES, "service_pressure"), "WP": (PRESSURES, "service_pressure"),
    "Working press (bar)": (["232"], "service_pressure"), "Nenndruck": (["200"], "service_pressure"),
    "Betriebsdruck": (["200"], "service_pressure"), "Prüfdruck": (["300"], "test_pressure"),
    "Test pressure": (["5000"], "test_pressure"), "Pression d'épreuve": (["300"], "test_pressure"),
    "Cap": (["12", "15", "10.5"], "water_volume"), "Vol (L)": (["12", "50"], "water_volume"),
    "Capacity": (["12 l", "7 L"], "water_volume"), "Litres": (["50", "40"], "water_volume"),
    "Water volume": (["11.1"], "water_volume"), "Inhalt": (["12", "15"], "water_volume"),
    "Size": (["80", "LP95"], "size"), "cu ft": (["80", "95"], "size"), "Size (l)": (["12", "15"], "water_volume"),
    "Cap cuft": (["80", "95"], "size"), "Volume (cubic feet)": (["12", "13"], "size"),
    "Vol ": (["10,5", "12"], "water_volume"), "Pressure test": (["04/2022", "05/2021"], "hydro"),
    "Press": (["ok", "yes"], "keep"),
}  # fmt: skip


@pytest.mark.parametrize("heading", ASKED)
def test_a_heading_that_names_two_things_is_asked_about(heading: str) -> None:
    cells, asked = ASKED[heading]
    rows = "".join(f"K{n},Works,{cell}\n" for n, cell in enumerate(cells))
    found = clubs.guessed(f'Serial,Maker,"{heading}"\n{rows}').columns[2]
    assert found.key == "?"
    assert asked in found.told


@pytest.mark.parametrize("heading", GUESSED)
def test_a_heading_that_names_one_thing_is_not(heading: str) -> None:
    cells, key = GUESSED[heading]
    rows = "".join(f'K{n},Works,"{cell}"\n' for n, cell in enumerate(cells))
    found = clubs.guessed(f'Serial,Maker,"{heading}"\n{rows}').columns[2]
    assert found.key == key


WHO = [
    "Ausleiher", "Verliehen an", "Entliehen von", "Wer hat sie", "Wer hat sie?", "Nutzer", "Mieter", "Qui l'a", "Qui l’a ?", "Emprunteur", "Détenteur",
    "Détenu par", "Prêtée à", "Utilisateur", "Custodian", "Diver", "Borrower", "Who has it", "Holder", "With", "Given to", "Student",
    "Quién la tiene", "Prestada a", "Prestatario", "Usuario", "Chi ce l'ha", "Chi la ha", "Prestata a", "Affidata a", "Detentore",
    "Wie heeft hem", "Uitgeleend aan", "Lener", "Gebruiker", "In bezit van",
]  # fmt: skip


@pytest.mark.parametrize("heading", WHO)
def test_who_has_it_in_other_words(heading: str) -> None:
    found = clubs.guessed(f'Serial,Maker,"{heading}"\nK1,Works,Jörg Müller\nK2,Works,\n').columns[2]
    assert found.key == "out_to"
    assert found.values == (("Jörg Müller", "?"),)


@pytest.mark.parametrize(
    ("cells", "asked"),
    [
        (["Jörg Müller", "Sue O'Hara"], True),
        (["Jim", "Sue", "Bob"], True),
        (["Müller, Jörg", "J. van den Berg"], True),
        (["Ana María López", "José"], True),
        (["Jean-Luc Petit (tel. soir)", "Anne"], True),
        (["Jim Smith 0151 2345678", "Sue"], True),
        (["Blue", "Yellow", "Black boot"], False),
        (["Blau", "Gelb"], False),
        (["7", "12"], False),
        (["yes", "ok"], False),
        (["see the long list on the wall of the shed", "k"], False),
        (["Steel", "Aluminium"], False),
    ],
)
def test_what_looks_like_names_is_asked_about(cells: list[str], asked: bool) -> None:
    """Under a heading that nobody knows: names that are kept go into git."""
    rows = "".join(f'K{n},Works,"{c}"\n' for n, c in enumerate(cells))
    found = clubs.guess(clubs.read(f"Serial,Maker,Flomp\n{rows}"), books.TODAY).columns[2]
    assert (found.key == "?", "names of people" in found.told) == (asked, asked), found


@pytest.mark.parametrize("sign", ["?", "*", " (1)", "\u2020", " [2]"])
@pytest.mark.parametrize(
    ("heading", "word", "key"),
    [
        ("Status", "ok", "stands"),
        ("Hydro result", "pass", "hydro_result"),
        ("Visual ok?", "yes", "visual_result"),
    ],
)
def test_a_word_with_a_sign_beside_it_is_asked(
    heading: str, word: str, key: str, sign: str
) -> None:
    table = f"Serial,Hydro,Visual,{heading}\nA1,04/2022,03/2026,{word}\nA2,04/2022,03/2026,{word}{sign}\n"
    column = clubs.guessed(table).columns[3]
    assert column.key == key
    assert dict(column.values).get(f"{word}{sign}") == "?"
    assert dict(column.values).get(word) != "?"


@pytest.mark.parametrize(
    "heading",
    [
        "Last leak test", "Test d'\u00e9tanch\u00e9it\u00e9", "Hydro booked", "Last oxygen test", "Last air test", "Last test fill",
        "Prueba de fugas", "Last pressure test of valve", "Hydro sent", "Hydro quote", "Visual booked", "Visual overdue since",
        "Dichtheit Pr\u00fcfung", "Ventil-Pr\u00fcfung", "T\u00dcV-Termin", "\u00c9preuve pr\u00e9vue", "Collaudo prenotato", "Keuring gepland",
    ],
)  # fmt: skip
def test_a_test_of_something_else_or_yet_to_be_is_asked(heading: str) -> None:
    table = f"Serial,Hydro,{heading}\nA1,04/2022,20/02/2026\nA2,04/2022,21/02/2026\n"
    columns = clubs.guessed(table).columns
    assert columns[1].key == "hydro"
    assert columns[2].key in ("?", "keep", "out_until")


@pytest.mark.parametrize(
    ("heading", "key"),
    [
        ("Last hydro", "hydro"), ("Hydro due", "hydro"), ("Pressure test", "hydro"), ("Visual", "visual"), ("T\u00dcV", "hydro"),
        ("Letzte Pr\u00fcfung", "hydro"), ("Internal inspection", "visual"),
    ],
)  # fmt: skip
def test_a_test_that_counts_is_known(heading: str, key: str) -> None:
    table = f"Serial,{heading}\nA1,20/02/2026\nA2,21/02/2026\n"
    assert clubs.guessed(table).columns[1].key == key


@pytest.mark.parametrize(
    ("heading", "cell", "key"),
    [
        ("Filetage robinet", "M25x2", "valve.thread"), ("Filetage col", "M25x2", "neck_thread"), ("Filetage", "M25x2", "neck_thread"),
        ("Rosca v\u00e1lvula", "M25x2", "valve.thread"), ("Filettatura rubinetto", "M25x2", "valve.thread"),
        ("Schroefdraad kraan", "M25x2", "valve.thread"),
        ("PT (bar)", "232", "?"), ("PE bar", "232", "?"), ("P.T.", "232 bar", "?"), ("WD", "232", "?"), ("TP", "348 bar", "test_pressure"),
        ("PH (bar)", "348", "test_pressure"), ("PW", "232 bar", "service_pressure"), ("Pression d'\u00e9preuve", "348 bar", "test_pressure"),
        ("Hidrost\u00e1tica", "04/2022", "hydro"), ("Requalif", "04/2022", "hydro"), ("Visueel", "04/2022", "visual"),
        ("Serienr", "K77", "serial"),
    ],
)  # fmt: skip
def test_what_headings_of_six_languages_are(heading: str, cell: str, key: str) -> None:
    table = f"No,{heading}\nA1,{cell}\nA2,{cell}\n"
    assert clubs.guessed(table).columns[1].key == key


@pytest.mark.parametrize(
    "heading", ["Stamp", "Stamp ok?", "Sticker", "Last stamp", "Plakette", "Poin\u00e7on", "Sello", "Cert", "Hydro stamp"]
)  # fmt: skip
@pytest.mark.parametrize("cells", [("ok", "ok"), ("Y", "N"), ("\u2713", "\u2713")])
def test_whether_a_mark_is_there_is_no_result_of_a_test(
    heading: str, cells: tuple[str, str]
) -> None:
    table = f"Serial,{heading},Hydro\nA1,{cells[0]},04/2022\nA2,{cells[1]},04/2023\n"
    assert clubs.guessed(table).columns[1].key in ("?", "keep")


def test_a_reference_is_one_already_and_a_question_tells_how_many() -> None:
    rows = "".join(f"A{n},{who}\n" for n, who in enumerate(["C-11", "M7", "Bob", "07700 900123"]))
    [_, column] = clubs.guessed("Serial,Hirer\n" + rows).columns
    assert dict(column.values) == {"C-11": "C-11", "M7": "M7", "Bob": "?", "07700 900123": "?"}
    rows = "".join(f"A{n},Diver {chr(65 + n)}\n" for n in range(8))
    found = clubs.guessed("Serial,Hirer\n" + rows)
    assert any("and 2 more?" in each for each in mapping_file.questions(found))


def test_litres_are_litres_in_each_tongue() -> None:
    for heading in ("Litros", "Litri", "Litres", "Liter", "L"):
        assert (
            clubs.guess(clubs.read(f"Serial,{heading}\nA1,12\nA2,10\n"), books.TODAY)
            .columns[1]
            .unit
            == "L"
        ), heading


@pytest.mark.parametrize(
    "heading",
    [
        "Hydro not done", "No hydro since", "Hydro waived", "Visual skipped", "No visual since",
        "Hydro letter", "Ret. from test", "Hydro tried", "Hydro delayed to", "Hydro abgebrochen",
        "Requalification annulée", "Hydro cert lost", "Hydro (not done)", "At hydro since",
        "Hydro grumbled at", "Sichtprüfung verschoben", "Collaudo rinviato", "Check hydro",
        "Visual without light", "VIP fakey",
    ],
)  # fmt: skip
def test_a_heading_of_tests_that_says_more_than_is_understood_is_asked(heading: str) -> None:
    table = f'Serial,"{heading}"\nK1,05/02/2026\nK2,06/02/2026\n'
    [column] = [c for c in clubs.guessed(table).columns if c.heading == heading]
    assert column.key in ("?", "keep"), column
    assert column.key == "keep" or "keep" in column.told


@pytest.mark.parametrize(
    ("heading", "key"),
    [
        ("Last hydro (mm/yy)", "hydro"), ("Date of last hydrostatic test", "hydro"),
        ("Nächste Prüfung (TÜV)", "hydro"), ("5 yr hydro", "hydro"), ("Hydro stamp", "hydro"),
        ("Hydro exp. date", "hydro"), ("Prochaine réépreuve", "hydro"), ("Keuring tot", "hydro"),
        ("Fecha prueba hidráulica", "hydro"), ("Data ultimo collaudo", "hydro"),
        ("Visual check", "visual"), ("VIP 2023", "visual"), ("Sichtprüfung (innen)", "visual"),
        ("Inspection visuelle annuelle", "visual"), ("Next visual due", "visual"),
    ],
)  # fmt: skip
def test_a_plain_heading_of_tests_is_no_question_but_of_last_or_next(
    heading: str, key: str
) -> None:
    table = f'Serial,"{heading}"\nK1,05/02/2026\nK2,06/02/2026\n'
    [column] = [c for c in clubs.guessed(table).columns if c.heading == heading]
    assert (column.key, column.asks) == (key, True)


MAKERS = ["Example Steel", "Works, Sheffield"]
METALS = ["steel", "alu"]
MADE = ["10/2013", "2014"]
SHORTENED = {
    **dict.fromkeys(
        ["Mat'l", "Mat\u2019l", "Matl", "Matl.", "Mat.", "Mtl", "St/Alu", "Werkst.", "Metallo", "Acier/alu"], (METALS, "material")
    ),
    **dict.fromkeys(
        ["Manuf.", "Manuf", "Manuf'r", "Mfr", "Mfr.", "Mfgr", "Mfg", "Made by", "Costruttore", "Fabricant", "Hersteller", "Herst.",
         "Constructeur", "Casa costruttrice", "Produzent", "Fabbricante", "Made", "Manufactured"],
        (MAKERS, "maker"),
    ),
    **dict.fromkeys(
        ["Manuf.", "Mfg", "Mfd", "Mfg'd", "Manuf'd", "Made", "Date of manuf.", "Herstellung", "Fabbricazione", "Bouwjaar"], (MADE, "made")
    ),
    **dict.fromkeys(
        ["Maker's no.", "Manuf. no", "Fabr.-Nr.", "Herst.-Nr.", "Numero fabricant", "N\u00b0 di fabbrica", "Matr."], (["BX12", "BX13"], "serial")
    ),
    **dict.fromkeys(["Ventil (bar)", "Robinet (bar)", "Valve psi", "Rubinetto bar"], (["232", "300"], "valve.rating")),
    **dict.fromkeys(["Halsgewinde", "Flaschengewinde"], (["M25x2", "M18x1.5"], "neck_thread")),
    **dict.fromkeys(["Date d'achat"], (["2014", "2015"], "bought")),
}  # fmt: skip


@pytest.mark.parametrize(
    ("heading", "cells", "key"),
    [(heading, cells, key) for heading, (cells, key) in SHORTENED.items()]
    + [(h, MADE, "made") for h in ("Manuf.", "Mfg", "Made", "Manufactured")]
    + [(h, MAKERS, "maker") for h in ("Manuf.", "Mfg", "Made", "Manufactured")],
)
def test_a_maker_a_metal_and_a_day_in_whatever_short_form(
    heading: str, cells: list[str], key: str
) -> None:
    table = f"Tank id;{heading}\n" + "".join(f"A{i};{cell}\n" for i, cell in enumerate(cells))
    column = clubs.guessed(table).columns[1]
    assert (column.key, column.unit) == (
        key,
        "bar" if "bar" in heading else "psi" if "psi" in heading else "",
    )


QUALIFIED = [
    "Valve rated (bar)", "Pressure tested to (bar)", "Fill pressure last (bar)", "Presi\u00f3n grifer\u00eda (bar)", "Pression manom\u00e8tre (bar)",
    "Pressione riduttore (bar)", "WP of valve", "Working pressure of manifold", "Burst pressure", "WP old", "Filled to pressure", "Pressure left",
]  # fmt: skip


@pytest.mark.parametrize("heading", QUALIFIED)
@pytest.mark.parametrize("first", [True, False])
def test_a_pressure_of_something_else_is_not_what_it_is_filled_to(
    heading: str, first: bool
) -> None:
    heads = f"{heading};WP (bar)" if first else f"WP (bar);{heading}"
    cells = "300;232" if first else "232;300"
    found = {
        c.heading: c.key
        for c in clubs.guess(clubs.read(f"Serial;{heads}\nA1;{cells}\n"), books.TODAY).columns
    }
    assert found["WP (bar)"] == "service_pressure"
    assert found[heading] in ("?", "keep", "valve.rating", "test_pressure")
    alone = clubs.guess(clubs.read(f"Serial;{heading}\nA1;300\n"), books.TODAY).columns[1]
    assert alone.key != "service_pressure"


@pytest.mark.parametrize(
    ("qualified", "plain", "key"),
    [
        ("Valve material", "Material", "material"), ("Boot size", "Size", "size"), ("Regulator maker", "Maker", "maker"),
        ("Old serial no", "Serial no", "serial"), ("Valve made", "Made", "made"), ("Thread of boot", "Neck thread", "neck_thread"),
    ],
)  # fmt: skip
def test_of_two_headings_of_one_key_the_plain_one_has_it(
    qualified: str, plain: str, key: str
) -> None:
    cells = {"material": "steel", "made": "10/2013"}.get(key, "M25x2")
    table = f"Tank id;{qualified};{plain}\nA1;{cells};{cells}\n"
    found = {c.heading: c.key for c in clubs.guessed(table).columns}
    assert found[plain] == key
    assert found[qualified] != key


@pytest.mark.parametrize("heading", ["Key", "Legende", ""])
def test_what_says_what_colours_mean_is_of_no_cylinder(heading: str) -> None:
    table = f"Serial,Maker,,{heading}\nK1,Works,,red = do not fill\nK2,Works,,orange: test due\nK3,Works,,\n"
    found = clubs.guessed(table).columns[-1]
    assert found.key == "?"
    assert "leave-out" in found.told


def test_a_remark_that_begins_with_a_colour_is_no_legend() -> None:
    table = "Serial,Maker,Remarks\nK1,Works,blue - boot\nK2,Works,red: dent\n"
    assert clubs.guessed(table).columns[-1].key == "remark"


@pytest.mark.parametrize(
    "heading",
    ["Gekeurd", "Geprüft", "Contrôle", "letzte SP", "last SP", "Stamped", "Controllato", "Revisado",
     "Datum", "Checked", "Was done", "Druck"],
)  # fmt: skip
@pytest.mark.parametrize("day", ["14.03.2024", "03/2024", "2024-03", "März 2024", "14 Mar 2024"])
def test_days_below_a_heading_that_nobody_knows_are_asked(heading: str, day: str) -> None:
    [column] = list(
        guess(clubs.read(f"No,WP (bar),{heading}\n1,232,{day}\n2,232,{day}\n"), books.TODAY).columns
    )[2:]
    assert column.key == "?"
    assert "hydro" in column.told


@pytest.mark.parametrize("heading", ["Withdrawn since", "Out of order"])
def test_the_day_of_a_fault_is_kept(heading: str) -> None:
    columns = guess(
        clubs.read(f"No,WP (bar),{heading},Date\n1,232,valve,03/2024\n"), books.TODAY
    ).columns
    assert [c.key for c in columns[2:]] == ["keep", "keep"]


@pytest.mark.parametrize(("cells", "key"), [(("14.2", "12.5"), "mass"), (("12", "10"), "mass")])
def test_figures_are_no_days(cells: tuple[str, str], key: str) -> None:
    rows = "".join(f"{n},232,{cell}\n" for n, cell in enumerate(cells))
    assert guess(clubs.read(f"No,WP (bar),Weight\n{rows}"), books.TODAY).columns[2].key == key
    assert guess(clubs.read(f"No,WP (bar),Foo\n{rows}"), books.TODAY).columns[2].key == "keep"


@pytest.mark.parametrize("title", ["In service", "Out of service", "In use", "Visual", "Rental"])
def test_a_title_below_the_headings_is_none_of_them(title: str) -> None:
    table = f"No,WP (bar),Hydro\n{title},,\n1,232,03/2024\n"
    assert guess(clubs.read(table), books.TODAY).headings == "1"
    below = f"No,WP,Hydro\n,bar,{title if title == 'Visual' else 'date'}\n1,232,03/2024\n"
    assert guess(clubs.read(below), books.TODAY).headings == "1-2"


@pytest.mark.parametrize("title", ["In service", "im Einsatz", "En service", "In gebruik"])
def test_a_title_that_says_they_are_used_says_nothing(title: str) -> None:
    assert is_plain_title(title)
    assert not is_plain_title(f"not {title}")
    assert not is_plain_title("Out of service")
