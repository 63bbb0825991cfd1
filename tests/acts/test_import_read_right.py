"""What a table says is read as whoever wrote it meant it: by its headings, and by what stands beside."""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS
from clubs import guessed, imported, mapping
from shop import Shop, reasons, shop

from tankbook.acts.import_ import Imported

BAR = SETTINGS.replace("units: psi", "units: bar")


@pytest.fixture(name="ledger")
def _ledger() -> Shop:
    return shop(settings=BAR, RB_014=GOOD)


def fates(got: Imported) -> dict[int, str]:
    return {f.row: f.comes.value for f in got.fates}


def told(got: Imported) -> str:
    return "\n".join([*got.told, *(text for f in got.fates for text in f.says)])


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
