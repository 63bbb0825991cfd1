"""What a number, a date or a word in somebody's own table says; what may be two is refused."""

from __future__ import annotations

import datetime as dt
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.acts.tab_cells import (
    HEADS_OF_CARDS,
    DateReading,
    begins_foot,
    date_of,
    day_numbered,
    is_here,
    key_by,
    less,
    plain_word,
    plain_words,
    quantity_of,
    says_gone,
    word_meant,
)
from tankbook.records.sheet_mapping import DateOrder, DayNumbers, DecimalSign
from tankbook.units import PartialDate, Period

TODAY = dt.date(2026, 11, 25)
DAY, MONTH, YEAR = DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST, DateOrder.YEAR_FIRST


@pytest.mark.parametrize(
    ("text", "order", "read"),
    [
        ("2021-04-03", None, "2021-04-03"), ("2021-04", None, "2021-04"), ("2021/4", None, "2021-04"),
        ("2021-04-01 00:00:00", None, "2021-04-01"), ("20210403", None, "2021-04-03"),
        ("13/4/2021", None, "2021-04-13"), ("4/13/2021", None, "2021-04-13"), ("4/4/2021", None, "2021-04-04"),
        ("3/4/2021", DAY, "2021-04-03"), ("3/4/2021", MONTH, "2021-03-04"), ("3.4.21", DAY, "2021-04-03"),
        ("3-4-21", DAY, "2021-04-03"), ("04/2021", None, "2021-04"), ("4/21", None, "2021-04"),
        ("04-21", None, "2021-04"), ("Apr-21", None, "2021-04"), ("Apr 2021", None, "2021-04"),
        ("2021 April", None, "2021-04"), ("3 Apr 2021", None, "2021-04-03"), ("April 3rd, 2021", None, "2021-04-03"),
        ("3. März 2021", None, "2021-03-03"), ("août 2021", None, "2021-08"), ("ene 2021", None, "2021-01"),
        ("gen. 2021", None, "2021-01"), ("mei 2021", None, "2021-05"), ("12/68", None, "1968-12"),
        ("06/46", None, "2046-06"), ("06/47", None, "1947-06"),
        ("3/4/2021", None, "may be two days"), ("31/04/2021", None, "is no calendar date"),
        ("29/02/2023", None, "is no calendar date"), ("4/13/2021", DAY, "is no date where `dates: day-first`"),
        ("13/13/2021", None, "is no calendar date"), ("2021", None, "says no month"), ("44287", None, "day_numbers"),
        ("21-Apr", None, "has no year, or no day"), ("3/4", None, "is no date"), ("3/45", None, "2045-03"), ("13/21", None, "is no calendar date"),
        ("24-03-11", None, r"may be two days: write `dates: day-first` \(2011-03-24\) or `dates: year-first` \(2024-03-11\)"),
        ("24-03-11", YEAR, "2024-03-11"), ("24-03-11", DAY, "2011-03-24"), ("24-03-11", MONTH, "is no date where"),
        ("05-06-07", None, "may be three days"), ("98-03-11", None, "1998-03-11"), ("98-03-11", DAY, "is no date where"),
        ("13/04/21", None, "may be two days"), ("31/04/22", None, "only with its year first"), ("31/04/22", DAY, "no calendar date"),
        ("03/24", None, "2024-03"), ("24/03", None, "has no year, or has it first"), ("24/03", YEAR, "2024-03"),
        ("03/04", None, "may be two months"), ("03/04", MONTH, "2004-03"), ("03/04", YEAR, "2003-04"), ("3/4/2021", YEAR, "may be two days"),
        ("11-Mar-24", None, "2024-03-11"), ("24-Mar-11", YEAR, "2024-03-11"), ("98-Mar-11", None, "1998-03-11"),
        ("98-Mar-11", DAY, "is no date where"), ("44287", None, r"day_numbers: 1900` \(2021-04-01\) or `day_numbers: 1904` \(2025-04-02\)"),
        ("março 2021", None, "2021-03"), ("maj 2021", None, "2021-05"), ("październik 2021", None, "2021-10"),
        ("listopad 2021", None, "is no date"), ("kesäkuu 2021", None, "2021-06"), ("des. 2021", None, "2021-12"),
        ("soon", None, "is no date"), ("?", None, "is no date"), ("1/1/1", DAY, "is no date"), ("", None, "is no date"),
        ("١٢/٢٠٢١", None, "is no date"), ("²/2/2021", DAY, "is no date"), ("1/2/3/4", DAY, "is no date"),
        ("0000-00-00", None, "year 0"), ("123456789", None, "is no date"), ("99/99/99", DAY, "is no"),
    ],
)  # fmt: skip
def test_dates(text: str, order: DateOrder | None, read: str) -> None:
    how = DateReading(TODAY, order)
    if read[:1].isdigit():
        assert str(date_of(text, how)) == read
    else:
        with pytest.raises(ValueError, match=read):
            date_of(text, how)


DAYS = st.dates(dt.date(1950, 1, 1), dt.date(2045, 12, 31))


@given(DAYS, st.sampled_from(DateOrder), st.sampled_from("./-"))
def test_a_day_is_read_as_it_was_written(day: dt.date, order: DateOrder, sign: str) -> None:
    shapes = {DAY: "%d{0}%m{0}%Y", MONTH: "%m{0}%d{0}%Y", YEAR: "%y{0}%m{0}%d"}
    shape = shapes[order]
    read = date_of(day.strftime(shape.format(sign)), DateReading(TODAY, order))
    assert read == PartialDate.of(day)
    with_name = f"{day.day} {day:%B} {day.year}"
    assert date_of(with_name, DateReading(TODAY)) == PartialDate.of(day)


@given(DAYS)
def test_without_an_order_no_day_is_taken_for_another(day: dt.date) -> None:
    """What is read at all without one is the day that was meant, whichever way it was written."""
    for shape in ("%d/%m/%Y", "%m/%d/%Y", "%d.%m.%y", "%m/%d/%y", "%y-%m-%d"):
        try:
            read = date_of(day.strftime(shape), DateReading(TODAY))
        except ValueError:
            assert day.day <= 12 or "y" in shape
            continue
        assert read == PartialDate.of(day), shape


@given(DAYS)
def test_without_an_order_no_month_is_taken_for_another(day: dt.date) -> None:
    for shape in ("%m/%y", "%y/%m"):
        with suppress(ValueError):
            read = date_of(day.strftime(shape), DateReading(TODAY))
            assert read == PartialDate(day.year, day.month), shape


@pytest.mark.parametrize(
    ("text", "hand", "read"),
    [
        ("24-03-11", "/", "is written otherwise than the other dates, and may be 2011-03-24 or 2024-03-11"),
        ("24/03/11", "/", "2011-03-24"), ("4-3-11", "/", "2011-03-04"), ("24-03-2011", "/", "2011-03-24"),
        ("24-03-11", "", "2011-03-24"),
    ],
)  # fmt: skip
def test_an_order_holds_for_dates_of_one_hand(text: str, hand: str, read: str) -> None:
    how = DateReading(TODAY, DAY, hand=frozenset(hand))
    if read[:1].isdigit():
        assert str(date_of(text, how)) == read
    else:
        with pytest.raises(ValueError, match=read):
            date_of(text, how)


@given(st.text(max_size=20))
def test_any_text_is_a_date_or_a_refusal(text: str) -> None:
    read: object = None
    with suppress(ValueError):
        read = date_of(text, DateReading(TODAY, DAY, DayNumbers.SINCE_1900))
    assert read is None or isinstance(read, PartialDate)


@pytest.mark.parametrize(
    ("number", "since", "day"),
    [  # ECMA-376 part 1, 18.17.4: 1 January 1900 is 1, and 1 January 1904 is 0; from memory
        (61, DayNumbers.SINCE_1900, "1900-03-01"), (44287, DayNumbers.SINCE_1900, "2021-04-01"),
        (0, DayNumbers.SINCE_1904, "1904-01-01"), (42825, DayNumbers.SINCE_1904, "2021-04-01"),
    ],
)  # fmt: skip
def test_days_that_a_spreadsheet_counts(number: int, since: DayNumbers, day: str) -> None:
    assert str(day_numbered(number, since)) == day


@given(DAYS, st.integers(1, 240))
def test_a_period_taken_off_and_added_is_the_same_month(day: dt.date, months: int) -> None:
    month = PartialDate(day.year, day.month)
    period = Period.of(months, "month")
    if (12 * day.year + day.month - 1 - months) // 12 >= 1900:
        assert less(month, period).plus(period) == month


POINT, COMMA = DecimalSign.POINT, DecimalSign.COMMA


@pytest.mark.parametrize(
    ("text", "unit", "decimal", "read"),
    [
        ("232", "bar", None, "232 bar"), ("3000 psi", "bar", None, "3000 psi"), ("3000PSI", None, None, "3000 psi"),
        ("11,1", "L", None, "11.1 L"), ("11.1", "L", None, "11.1 L"), ("12 ltr", None, None, "12 L"),
        ("3,000", "psi", POINT, "3000 psi"), ("3,000", "psi", COMMA, "3.000 psi"), ("3.000", "psi", COMMA, "3000 psi"),
        ("3.000,5", "psi", None, "3000.5 psi"), ("3,000.5", "psi", None, "3000.5 psi"), ("3 000", "psi", None, "3000 psi"),
        ("3'000", "psi", None, "3000 psi"), ("1,234,567", "psi", None, "1234567 psi"), ("0,500", "L", None, "0.500 L"),
        ("3,000", "psi", None, "may be thousands"), ("232", None, None, "has no unit"), ("-5 bar", None, None, "is no number"),
        ("full", "bar", None, "is no number"), ("1.2.3", "bar", None, "is no number"), ("1,23,4", "bar", None, "is no number"),
        ("2 32", "bar", None, "is no number"),
    ],
)  # fmt: skip
def test_quantities(text: str, unit: str | None, decimal: DecimalSign | None, read: str) -> None:
    if read[:1].isdigit():
        assert quantity_of(text, unit, decimal) == read
    else:
        with pytest.raises(ValueError, match=read):
            quantity_of(text, unit, decimal)


@pytest.mark.parametrize(
    ("heading", "key"),
    [
        ("No.", "id"), ("Serial #", "serial"), ("S/N", "serial"), ("WP (bar)", "service_pressure"),
        ("Betriebsdruck [bar]", "service_pressure"), ("TEST PRESSURE", "test_pressure"), ("Hydro", "hydro"),
        ("Next hydro due", "hydro"), ("Prüfung", "hydro"), ("Réépreuve", "hydro"), ("VIP", "visual"), ("Visual insp.", "visual"),
        ("Who has it?", "out_to"), ("On loan to", "out_to"), ("Ausgeliehen an", "out_to"), ("Remarks", "remark"),
        ("Rated psi", "service_pressure"), ("Good until", "hydro"), ("Stamp", "hydro"), ("Stamp marks", "marks"),
        ("Stamped no", "serial"), ("Due back", "out_until"), ("TP bar", "test_pressure"),
        ("Bemerkungen", "remark"), ("Make", "maker"), ("Material", "material"), ("Valve type", "valve.outlet"),
        ("valve_outlet", "valve.outlet"), ("Colour", ""), ("", ""), ("Zaphod", ""), ("Water vol", "water_volume"),
        ("N°", "id"), ("Nº", "id"), ("N° de série", "serial"), ("Nº de serie", "serial"), ("N° série", "serial"),
        ("Última prueba", "hydro"), ("Próxima prueba", "hydro"), ("Dueño", "owner"), ("In/Out", "stands"),
    ],
)  # fmt: skip
def test_headings(heading: str, key: str) -> None:
    assert key_by(heading, HEADS_OF_CARDS) == key


@pytest.mark.parametrize(
    "text",
    [
        "sold to Jim",
        "SOLD",
        "lost 2019",
        "written off",
        "verkauft",
        "perdue",
        "baja 2022",
        "scrapyard",
    ],
)
def test_what_says_that_a_cylinder_is_gone(text: str) -> None:
    assert says_gone(text)


@pytest.mark.parametrize("text", ["blue boot", "solder on valve", "Golds gym", "not mine"])
def test_what_says_no_such_thing(text: str) -> None:
    assert not says_gone(text)


def test_the_foot_of_a_table() -> None:
    assert begins_foot("Total 11")
    assert begins_foot("Signed: ____")
    assert not begins_foot("Totally fine")


_BESIDE = ("{}?", "{}*", "{} *", "*{}", "{}\u2020", "{}\u2021", "{}\u00b9", "{} [1]", "{} (?)", "{} (*)",
    "{} (\u2026)", "{}\u2026", "{}...", "{} \u2717", "\u274c {}", "{} \u4e0d\u5408\u683c", "{} -", "{} ()")  # fmt: skip


@pytest.mark.parametrize("beside", _BESIDE)
@pytest.mark.parametrize(
    "word", ["ok", "pass", "Passed", "\u2713", "hydro", "A-clamp", "bestanden"]
)
def test_a_word_with_a_sign_beside_it_is_not_the_word(word: str, beside: str) -> None:
    assert word_meant(word)
    assert not word_meant(beside.format(word))


@pytest.mark.parametrize("beside", _BESIDE)
@pytest.mark.parametrize("word", ["here", "rack", "in"])
def test_nor_does_it_say_that_a_cylinder_is_here(word: str, beside: str) -> None:
    assert is_here(word)
    assert not is_here(beside.format(word))


@pytest.mark.parametrize(
    "word", ["Pass.", "pass!", " OK ", "i.O.", "A-clamp", "\u00c9trier", "st\u00e4hl", "n\u00e9e"]
)
def test_a_sign_that_ends_a_word_says_nothing(word: str) -> None:
    assert plain_word(word) == plain_words(word)
