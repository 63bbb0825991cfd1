"""Reading stamp marks.

Each case names where its line comes from: `178.35` and `180.213` are 49 CFR, 2015 edition (read);
`ISO 13769` fields are from memory; `invented` lines use shapes of those and serve as fixtures.
"""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger.events import parse
from tankbook.ledger.shipped import _data
from tankbook.records.fields import NodeReader, read
from tankbook.records.markevidence import could_be
from tankbook.records.marks import Evidence, MarkedDate, MarkKind, MarkTable, read_marks, read_stamp
from tankbook.units import GaugePressure, Length, Mass, PartialDate, Volume

K = MarkKind


def kinds(line: str) -> list[tuple[str, str]]:
    return [(t.kind.value, t.text) for t in read_marks(line).tokens if t.kind is not K.JOINT]


# The one-line example of 178.35(f)(1)(iv): specification, pressure, serial, maker, inspector, date.
def test_the_example_of_the_us_regulation() -> None:
    marks = read_marks("DOT-3A1800-1234-XY AB 5-95")
    assert kinds(marks.line) == [
        ("specification", "DOT-3A"),
        ("service-pressure", "1800"),
        ("serial", "1234"),
        ("maker", "XY"),
        ("inspector", "AB"),
        ("first-test", "5-95"),
    ]
    assert marks.specifications == ("DOT-3A",)
    assert marks.service_pressure == GaugePressure.of(1800, "psi")
    assert marks.serial == "1234"
    assert marks.first_date == PartialDate(1995, 5)
    assert marks.doubts == ()


# The drawing of 180.213(d): month 9, RIN A123, year 06, X where a suffix stands.
def test_the_example_of_a_requalification_stamp() -> None:
    (stamp,) = read_marks("9 A123 06 X").retests
    assert (stamp.month, stamp.rin, stamp.year, stamp.suffixes) == (9, "A123", 2006, ("X",))


@pytest.mark.parametrize(
    ("suffix", "kind"),
    [  # 180.213(f)(2) to (9)
        ("*", K.STAR),
        ("★", K.STAR),
        ("+", K.PLUS),
        ("S", K.PROOF),
        ("E", K.EXTERNAL),
        ("FS", K.SHELL),
        ("UE", K.ULTRASONIC),
        ("AE", K.ACOUSTIC),
        ("VE", K.EDDY_CURRENT),
    ],
)
@pytest.mark.parametrize("gap", ["", " "])
def test_suffixes(suffix: str, kind: MarkKind, gap: str) -> None:
    marks = read_marks(f"09 A123 26{gap}{suffix}")
    assert [t.kind for t in marks.tokens] == [K.RETEST, kind]
    assert marks.retests[0].suffixes == (suffix.replace("★", "*"),)
    assert marks.retests[0].plus is (kind is K.PLUS)
    assert marks.retests[0].star is (kind is K.STAR)


def test_a_suffix_belongs_to_the_date_before_it() -> None:
    older, newer = read_marks("DOT-3AA2250 B7 5-95 05 C234 00 + 06 C234 05 VE").retests
    assert (older.plus, older.suffixes) == (True, ("+",))
    assert (newer.plus, newer.suffixes) == (False, ("VE",))


@pytest.mark.parametrize("letter", ["S", "E", "X", "F", "VE"])
def test_a_letter_away_from_a_date_is_no_suffix(letter: str) -> None:
    assert [t.kind for t in read_marks(f"{letter} DOT-3AL").tokens] == [K.UNREAD, K.SPECIFICATION]


@pytest.mark.parametrize(
    ("line", "specs", "pressure"),
    [
        ("DOT-3AL 3000 K118204 09A21", ("DOT-3AL",), "3000 psi"),  # invented, 178.35 order
        ("DOT-3AL3000", ("DOT-3AL",), "3000 psi"),  # 178.35: SP at once
        ("DOT3AL 3000 PSI", ("DOT-3AL",), "3000 psi"),
        ("dot 3aa 2250", ("DOT-3AA",), "2250 psi"),
        ("ICC-3AA2250", ("ICC-3AA",), "2250 psi"),
        ("DOT-4B240ET", ("DOT-4B240ET",), None),  # 180.209 Table 1 names it
        ("TC-3ALM 207", ("TC-3ALM",), "207 bar"),  # bar on TC marks: memory
        ("CTC/TC-3ALM 207", ("CTC-3ALM", "TC-3ALM"), "207 bar"),
        ("CTC/DOT-3AL3000", ("CTC-3AL", "DOT-3AL"), "3000 psi"),
        ("TC-3ALM207 DOT-3AL3000", ("TC-3ALM", "DOT-3AL"), "207 bar"),
        (
            "DOT-SP12079-3442",
            ("DOT-SP 12079",),
            "3442 psi",
        ),  # number and mark: a maker's note, read
        ("DOT-SP 12079 3442", ("DOT-SP 12079",), "3442 psi"),
        ("E 9791-3500", ("DOT-E 9791",), "3500 psi"),
        ("TC-SU 5134-310", ("TC-SU 5134",), "310 bar"),
        ("UN ISO 7866 PW 232 BAR", ("UN ISO 7866",), "232 bar"),  # ISO 13769 fields: memory
        ("ISO 9809-1 PW232", ("ISO 9809-1",), "232 bar"),
        ("EN ISO 9809-1:2019 PW300BAR", ("EN ISO 9809-1",), "300 bar"),
        ("EN 1964 PW200", ("EN 1964",), "200 bar"),
        ("EN 12245 PW 300", ("EN 12245",), "300 bar"),
        ("UN PW 300", ("UN",), "300 bar"),
    ],
)
def test_specification_and_service_pressure(
    line: str, specs: tuple[str, ...], pressure: str | None
) -> None:
    marks = read_marks(line)
    assert marks.specifications == specs
    assert marks.service_pressure == (GaugePressure.parse(pressure) if pressure else None)
    assert marks.unread == ()


def test_a_dual_mark_gives_both_pressures() -> None:
    both = read_marks("TC-3ALM207 DOT-3AL3000").service_pressures
    assert [str(p) for p in both] == ["207 bar", "3000 psi"]


def test_an_iso_line() -> None:  # fields of ISO 13769 Table 1, memory; values invented
    line = "UN ISO 7866 GB ABC 123456 PH348BAR 2021/06 PW 232 BAR 14.2KG 11,1L M25×2 8.5MM π 0036"
    marks = read_marks(line)
    value = {t.kind: t.value for t in marks.tokens}
    assert marks.test_pressure == GaugePressure.of(348, "bar")
    assert marks.service_pressure == GaugePressure.of(232, "bar")
    assert (marks.serial, marks.first_date) == ("123456", PartialDate(2021, 6))
    assert value[K.MASS] == Mass.of(14.2, "kg")
    assert value[K.WATER_VOLUME] == Volume.of(11.1, "L")
    assert value[K.WALL] == Length.of(8.5, "mm")
    assert value[K.THREAD] == "M25x2"
    assert value[K.CONFORMITY] == "π 0036"
    assert value[K.COUNTRY] == "GB"
    assert [t.text for t in marks.unread] == ["ABC"]


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("12.2 L", K.WATER_VOLUME, Volume.of(12.2, "L")),
        ("10.15 KG", K.MASS, Mass.of(10.15, "kg")),
        ("8.5 MM", K.WALL, Length.of(8.5, "mm")),
    ],
)
def test_a_measure_with_a_blank_before_its_unit_is_no_date(
    text: str, kind: K, value: object
) -> None:
    (*_, token) = read_marks(f"UN ISO 7866 PW232 {text}").tokens
    assert (token.kind, token.text, token.value) == (kind, text, value)


@pytest.mark.parametrize(
    ("line", "pressure"),
    [
        ("PH 348 BAR", "348 bar"),
        ("PT300", "300 bar"),
        ("DOT-E 9791-3500 A1 TP 5250", "5250 psi"),  # TP 5250 on this permit: forum, read
        ("ISO 9809-1 TP 300", "300 bar"),
        ("TP 300", None),  # no unit and no specification: not guessed
    ],
)
def test_test_pressure(line: str, pressure: str | None) -> None:
    marks = read_marks(line)
    assert marks.test_pressure == (GaugePressure.parse(pressure) if pressure else None)
    assert len(marks.unread) == (pressure is None)


@pytest.mark.parametrize(
    "text", ["25P", "18P", "25E", "3/4-14 NPSM", "3/4 NPSM", "M18x1.5", "SP12", "7/8-14 UNF"]
)
def test_threads(text: str) -> None:
    assert kinds(text) == [("thread", text)]


def test_maker_inspector_ree_and_underwater() -> None:  # M1004 and IA02: handbook, read
    assert kinds("M1004 IA02 REE 58.4 UW") == [
        ("maker", "M1004"),
        ("inspector", "IA02"),
        ("ree", "REE 58.4"),
        ("underwater", "UW"),
    ]


class TestDates:
    @pytest.mark.parametrize(
        ("line", "first"),
        [
            ("DOT-3AL 3000 K1 09A21", (2021, 9)),
            ("DOT-3AL 3000 K1 9A98", (1998, 9)),
            ("DOT-3AL 3000 K1 06/21", (2021, 6)),  # 21 is no month
            ("ISO 7866 2021/06", (2021, 6)),
            ("ISO 7866 06/2021", (2021, 6)),
            ("ISO 7866 98/05", (1998, 5)),  # 98 is no month
            ("ISO 7866 06/06", (2006, 6)),
            ("DOT-3AL 3000 K1 6-07", (2007, 6)),  # US order, 178.35(f)(1)(iv)
            ("DOT-3AA 2250 K1 5-67", (1967, 5)),
            ("DOT-3AA 2250 K1 5-59", (2059, 5)),  # no DOT mark is older than 1967 (memory)
            ("ICC-3AA 2250 K1 7-56", (1956, 7)),
        ],
    )
    def test_first_test(self, line: str, first: tuple[int, int]) -> None:
        assert read_marks(line).first_date == PartialDate(*first)

    def test_either_order_is_stated_and_not_chosen(self) -> None:
        marks = read_marks("ISO 7866 06/07")
        (token,) = marks.of(K.FIRST_TEST)
        assert marks.first_date is None
        assert "2007-06 or 2006-07" in token.note
        assert len(marks.doubts) == 1

    def test_century_is_stated_where_nothing_tells(self) -> None:
        (token,) = read_marks("5-95").of(K.DATE)
        assert token.note == "the century is not marked: 1995-05 or 2095-05"
        (token,) = read_marks("DOT-3AA 2250 K1 5-64").of(K.FIRST_TEST)
        assert token.note == "the century is not marked: 1964-05 or 2064-05"

    @pytest.mark.parametrize(
        ("first", "stamp", "year"),
        [
            ("1955-05", "09 A123 06", 2006),
            ("1955-05", "09 A123 60", 1960),
            ("2021-09", "09 A123 26", 2026),
            ("1915-05", "06 A123 95", 1995),  # 80 years on; a century earlier is out of range
            ("2199-05", "06 A123 10", 2110),
        ],
    )
    def test_the_first_test_places_a_retest(self, first: str, stamp: str, year: int) -> None:
        (retest,) = read_marks(stamp, first=PartialDate.parse(first)).retests
        assert retest.year == year

    def test_a_retest_before_the_first_test_is_noted(self) -> None:
        marks = read_marks("DOT-3AL 3000 K1 09A21 05 A123 20")
        (token,) = marks.of(K.RETEST)
        assert "before the first test of 2021-09" in token.note

    def test_a_lone_date_after_a_known_first_test_is_a_retest(self) -> None:
        (retest,) = read_marks("06/26", first=PartialDate.parse("2021-09")).retests
        assert (retest.month, retest.year, retest.rin) == (6, 2026, None)

    @pytest.mark.parametrize(
        ("line", "kind"),
        [
            ("09A12326", K.UNREAD),  # a serial number has this shape too
            ("DOT-3AL3000-K1 09A21 09A12326", K.RETEST),
            ("13 A123 26", K.UNREAD),  # no month 13
        ],
    )
    def test_joined_retests(self, line: str, kind: MarkKind) -> None:
        last = read_marks(line).tokens[-1]
        assert last.kind is kind
        assert (kind is K.RETEST) or last.note != ""


@pytest.mark.parametrize(
    "text",
    ["232 BAR", "SP 6688", "QQQ", "3000", "DOT-9ZZ", "DOT-3900", "~", "12345678901234567890123"],
)
def test_what_fits_no_shape_is_named_unread(text: str) -> None:
    marks = read_marks(text)
    assert "".join(t.text for t in marks.unread).replace(" ", "") == text.replace(" ", "")
    assert len(marks.doubts) == len(marks.unread) >= 1


TODAY = dt.date(2026, 11, 25)


@pytest.mark.parametrize(
    ("line", "serial", "first", "unread"),
    [  # invented lines: what a reader could take for a serial or a first test, and is none
        ("UN ISO 7866 AA6061 PH 348 PW 232 S 11.1 2018/04", None, "2018-04", ["S 11.1"]),
        ("UN ISO 7866 AA 6351 PW 232 WN-88213 2018/04", "WN-88213", "2018-04", []),
        ("UN ISO 7866 PW 232 14.1 12.2", None, None, ["14.1", "12.2"]),
        ("UN ISO 7866 PW 232 10.15 04.2018", None, "2018-04", ["10.15"]),
        ("DOT-3AL 6061-T6 3000 09A21", None, "2021-09", ["3000"]),
        ("DOT-3AL 6061 3000 09A21", None, "2021-09", ["6061", "3000"]),
        ("EN 12245 PW300 PH450 FIN 2030/05", None, None, []),
        ("EN 12245 PW300 2015/05 FIN 05/30", None, "2015-05", []),
        ("EN 12245 PW300 FIN NLL", None, None, ["FIN", "NLL"]),
        ("EN 12245 PW300 EXP 2020/05 2015/03", None, "2015-03", ["EXP 2020/05"]),
        ("DOT-3AL 3000 V10L 09A21", None, "2021-09", []),
        ("DOT-3AL 3000 8 KG 25 09A21", None, "2021-09", ["25"]),
        ("DOT-3HT 1850 12345 REE 52 1 77", None, None, ["12345", "1 77"]),
        ("DOT-3HT 1850 REE 52 77", None, None, ["77"]),
        ("DOT-3AL3000-S40 09A21", None, "2021-09", ["S40"]),
        ("DOT-3AL 30OO 09A21", None, "2021-09", ["30OO"]),
        ("DOT-3AL 30OO K118204 09A21", None, "2021-09", ["30OO", "K118204"]),
        ("UN ISO 7866 232 348 WN-88213", None, None, ["232", "348", "WN-88213"]),
        ("DOT-3AL QQQ 3000 09A21", None, "2021-09", ["QQQ", "3000"]),
        ("DOT-3AL 3000 QQQ 45678 09A21", None, "2021-09", ["QQQ", "45678"]),
        ("DOT-3AL 3000 5000 09A21", None, "2021-09", ["5000"]),  # 5/3 of 3000: a test pressure?
        ("TC-3ALM 207 3000 09A21", None, "2021-09", ["3000"]),  # 207 bar is 3000 psi
        ("DOT-3AL 3000 2018 09A21", None, "2021-09", ["2018"]),
        ("DOT-3AL 3000 45678 09A21", "45678", "2021-09", []),
        ("DOT-3AL 3000 K118204 B77123 09A21", "K118204", "2021-09", ["B77123"]),
        ("DOT-3AA2250 K123456 3 67 + 3-72+", None, None, ["K123456", "3 67", "+"]),
        ("DOT-3AA2250 K123456 3 1967 3-72+", None, None, ["K123456", "3 1967"]),
        ("DOT-3AA2250 K123456 3-?7 3-72+", None, None, ["K123456", "3-?7"]),
        ("DOT-3AA2250 K123456 3 67 05B98", None, None, ["K123456", "3 67"]),
        ("DOT-3AA2250 3-72+ 3 77", None, "1972-03", ["3 77"]),
        ("DOT-3AA2250 K123456 05 A123 20 6-25", None, None, ["K123456"]),
        ("DOT-3AA2250 K123456 09 A12 26", None, None, ["K123456", "09 A12 26"]),
        ("EN 12245 PW300 XK55123 09A27", None, None, ["XK55123"]),
        ("EN 12245 PW300 2027/09 2022/06", None, None, []),
    ],
)
def test_nothing_is_guessed(
    line: str, serial: str | None, first: str | None, unread: list[str]
) -> None:
    marks = read_marks(line, today=TODAY)
    assert marks.serial == serial
    assert marks.first_date == (PartialDate.parse(first) if first else None)
    assert [t.text for t in marks.unread] == unread
    assert len(marks.doubts) >= len(unread)


@pytest.mark.parametrize("text", ["AA6061", "AA 6351", "AL6061-T6", "6061-T6", "34CrMo4", "CRMO"])
def test_alloys(text: str) -> None:
    assert kinds(text) == [("alloy", text)]


def test_a_life_end_is_no_test() -> None:
    (token,) = read_marks("EN 12245 PW300 PH450 FIN 2030/05", today=TODAY).of(K.LIFE_END)
    assert isinstance(token.value, MarkedDate)
    assert token.value.date == PartialDate(2030, 5)
    assert not token.doubt


@pytest.mark.parametrize(
    ("line", "kind", "doubted"),
    [
        ("EN 12245 PW300 09A27", K.FIRST_TEST, "2027-09"),
        ("EN 12245 PW300 2027/09", K.FIRST_TEST, "2027-09"),
        ("EN 12245 PW300 2026/12", K.FIRST_TEST, "2026-12"),
        ("EN 12245 PW300 2026/11", K.FIRST_TEST, None),
        ("DOT-3AA 2250 K118204 09A21 09 A123 27", K.RETEST, "2027-09"),
        ("DOT-3AA 2250 K118204 09A21 11 A123 26", K.RETEST, None),
    ],
)
def test_a_date_to_come_is_in_doubt(line: str, kind: MarkKind, doubted: str | None) -> None:
    (token,) = read_marks(line, today=TODAY).of(kind)
    assert token.open_date is (doubted is not None)
    assert doubted is None or f"in doubt: {doubted} is later than today, 2026-11-25" in token.note
    (undated,) = read_marks(line).of(kind)
    assert not undated.open_date


def test_a_date_after_a_missed_one_is_not_called_the_first() -> None:
    marks = read_marks("DOT-3AA2250 K123456 3 67 + 3-72+")
    (token,) = marks.of(K.DATE)
    assert token.text == "3-72"
    assert "the first test, or a later one" in token.note
    assert [t.kind for t in marks.tokens][-1] is K.PLUS


@pytest.mark.parametrize(
    ("line", "doubted"),
    [  # 49 CFR 173.302a(b): steel alone (secondary copy read)
        ("DOT-3AL3000 K123456 3-92 05 A123 20 +", True),
        ("TC-3ALM207 K123456 3-92 05 A123 20 +", True),
        ("UN ISO 7866 PW232 2018/04 05 A123 23+", True),
        ("DOT-3AA2250 K123456 3-92 05 A123 20 +", False),
    ],
)
def test_a_plus_on_aluminium_is_in_doubt(line: str, doubted: bool) -> None:
    marks = read_marks(line)
    (plus,) = marks.of(K.PLUS)
    assert plus.doubt is doubted
    assert any("aluminium" in d for d in marks.doubts) is doubted
    assert marks.retests[0].plus


@pytest.mark.parametrize(
    ("line", "condemned"),
    [  # 49 CFR 180.205(i)(2), 2015 annual edition, read
        ("DOT-3AL 3000 K118204 09A21 CONDEMNED", True),
        ("condemned", True),
        ("XXXXXXX", True),
        ("XXXXXXX XXXX K118204 09A21", True),
        ("X X X X 3000 K118204", True),
        ("DOT-XXXX 3000", True),
        ("DOT-3AL3000XXXX K118204", True),
        ("9 A123 06 X", False),  # the place of a suffix, 180.213(d)
        ("DOT-3AX2400 K118204 5-95", False),
        ("DOT-3AL 3000 EXX4411 09A21", False),
    ],
)
def test_condemned(line: str, condemned: bool) -> None:
    assert read_marks(line).condemned is condemned


@pytest.mark.parametrize(
    ("more", "name", "condemned"),
    [
        ("VOIDS DIVING", "Voids Diving", False),
        ("THE VOIDS DIVING CLUB", "Voids Diving", False),
        ("VOIDS", "Voids Diving", True),
        ("VOID", "Void", False),
        ("REJ.", "Rej", False),
        ("OUT OF SERVICE", "out of service", True),  # no longer than what condemns
        ("CONDEMNED DIVERS", "Condemned Divers", True),
        ("XXX DIVERS", "XXX Divers", True),
        ("SCRAPPED", "Scrap", True),
    ],
)
def test_a_word_of_a_known_name_condemns_nothing(more: str, name: str, condemned: bool) -> None:
    marks = read_marks(f"DOT-3AL 3000 K118204 09A21 {more}", names=(name,))
    assert marks.condemned is condemned


def test_a_doubt_shows_no_control_characters() -> None:
    (token,) = read_marks("\x1b[2J").tokens
    assert (token.text, token.shown) == ("\x1b[2J", "\\x1b[2J")
    assert read_marks("\x1b[2J").doubts == ("`\\x1b[2J`: fits no known mark",)


def test_two_numbers_that_could_be_the_serial_are_both_left() -> None:
    marks = read_marks("DOT-3AL 3000 AB 997 12345 6-07")
    assert marks.serial is None
    assert [t.text for t in marks.unread] == ["AB", "997", "12345"]


PIECES = st.sampled_from(
    [
        "DOT-3AL",
        "DOT3AA",
        "ICC-3A",
        "TC-3ALM",
        "CTC/TC",
        "UN",
        "ISO",
        "7866",
        "9809-1",
        "3000",
        "207",
        "232",
        "BAR",
        "PSI",
        "PW",
        "PH",
        "TP",
        "09A21",
        "5-95",
        "06/07",
        "2021/06",
        "09",
        "A123",
        "26",
        "+",
        "*",
        "X",
        "S",
        "VE",
        "K118204",
        "M1004",
        "IA02",
        "25P",
        "M25x2",
        "14.2KG",
        "11.1L",
        "REE",
        "58",
        "E",
        "9791",
        "DOT-SP12079-3442",
        "00",
        "0",
        "99",
        "13",
        "-",
        "/",
        "13/13",
        "XXXX",
        "CONDEMNED",
        "AA6061",
        "FIN",
        "EXP",
        "3 67",
        "11.1",
        "V10L",
        "DOT-30000",
        "DOT-3A0",
        "٣",
        "DOT-3AA2400+",
        "DOT-3AL/TC-3ALM",
        "3000/207",
        "232/348",
        "3AA2400",
        "EN 1964-2",
        "12/3456/789",
        "PS 232",
        "PE 348",
        "WP",
        "CP",
        "4500",
        "10 Z4 18 21",
        "Z4/10 21/81",
        "10Z41821",
        "9*21",
        "10^00",
        "2021/09 XY",
        "EXAMPLE CYLINDER CO",
        "GB",
        "S80",
        "C100",
        "3,000",
        "3OOO",
        "XX",
        "×",
        "REJECT",
        "ſ",
        "ß",
        "|",
    ]
)
LINES = st.lists(PIECES | st.text(max_size=4), max_size=12).flatmap(
    lambda ws: st.sampled_from([" ", " ", "  ", "", "-", "/"]).map(lambda g: g.join(ws))
)


@given(LINES | st.text(max_size=120), st.sampled_from([None, "1900-01", "1955-05", "2199-12"]))
def test_never_raises_and_every_mark_is_in_one_token(line: str, made: str | None) -> None:
    first = PartialDate.parse(made) if made else None
    marks = read_marks(line, first=first, today=TODAY)
    place = 0
    for token in marks.tokens:
        assert not line[place : token.start].strip()
        assert token.text == line[token.start : token.end] == token.text.strip() != ""
        place = token.end
    assert not line[place:].strip()
    for retest in (*marks.retests, *filter(None, [read_stamp(line, first).retest])):
        assert retest.year is None or 1900 <= retest.year <= 2200
        assert retest.year is None or retest.when.date == PartialDate(
            retest.year, retest.month or 0
        )


def reading(line: str) -> list[object]:
    """All that is read of a line, but not where."""
    tokens = read_marks(line).tokens
    return [(t.kind, t.value, t.note, t.doubt, t.could_be) for t in tokens]


@given(LINES)
def test_case_and_blanks_have_no_say(line: str) -> None:
    other = "".join(c.swapcase() if c.isascii() else c for c in line)
    assert reading(other) == reading(line)
    assert reading("\t" + "".join(c * 2 if c.isspace() else c for c in line) + "\n") == reading(
        line
    )


@given(LINES, LINES, st.sampled_from(["", " ", "-"]))
def test_nothing_written_behind_it_takes_a_condemned_mark_away(
    line: str, more: str, gap: str
) -> None:
    assert not read_marks(line).condemned or read_marks(line + gap + more).condemned


@given(
    st.sampled_from(
        ["DOT-3AL", "DOT-3AA 2250", "TC-3ALM207", "EN 1964-1", "UN ISO 7866 PW 232", ""]
    ),
    st.sampled_from(["PH", "PT", "PE", "TP"]),
    st.sampled_from(["", " ", ": "]),
    st.integers(100, 9999),
    st.sampled_from(["", "BAR", " PSI"]),
    LINES,
)
def test_a_test_pressure_is_never_a_working_pressure(
    before: str, name: str, gap: str, number: int, unit: str, after: str
) -> None:
    line = f"{before} {name}{gap}{number}{unit}"
    at = len(before) + 1, len(line)
    for token in read_marks(f"{line} {after}").of(K.SERVICE_PRESSURE):
        assert token.end <= at[0] or token.start >= at[1]


ASKED = {Evidence.PRESSURE, Evidence.DATE, Evidence.SPECIFICATION}
BY_PLACE = {K.SERIAL, K.MAKER, K.NAME, K.STATION, K.INSPECTOR}


@given(LINES)
def test_nothing_is_told_by_its_place_that_could_be_asked_about(line: str) -> None:
    for token in read_marks(line).tokens:
        if token.kind in BY_PLACE and "178.35(f)(1)" not in token.note:
            assert not could_be(str(token.value)) & ASKED


P, D, S, X = Evidence.PRESSURE, Evidence.DATE, Evidence.SPECIFICATION, Evidence.CONDEMNED


@pytest.mark.parametrize(
    ("line", "evidence"),
    [  # own shapes: what an unread mark may hide
        ("DOT-3AL 3000 4500", {"4500": {P}}),
        ("EN 1964-1 300/450", {"300/450": {P}}),
        ("EN 1964-1 232 BAR", {"232 BAR": {P}}),
        ("DOT-3AL 3O00", {"3O00": {P, D}}),
        ("DOT-3AL 3.000", {"3.000": {P}}),
        ("DOT-3AL 3000 1098", {"1098": {P, D}}),
        ("DOT-3AL 3000 2018", {"2018": {P, D}}),
        ("DOT-3AL 3000 0921", {"0921": {D}}),
        ("DOT-3AL3OOO", {"DOT-3AL3OOO": {P, S}}),
        ("D0T-3AL", {"D0T-3AL": {S}}),
        ("DOT-3AL 3000 3A4411", {"3A4411": {P, D, S}}),
        ("DOT-3AL 3000 K1 3-?7", {"3-?7": {D}}),
        ("DOT-3AL 3000 K1 13 A123 26", {"13 A123 26": {D}}),
        ("DOT-3AL 3000 K1 SEP 1 2021", {"SEP": {D}, "1 2021": {D}}),
        ("DOT-3AL 3000 K1 02-15-K", {"02-15-K": {D}}),
        ("DOT-3AL 3000 K1 MFD02-15", {"MFD02-15": {D}}),
        ("DOT-3AL 3000 K1 V/2019", {"V/2019": {D}}),
        ("XDOT-3AL3000X K1", {"XDOT-3AL3000X": {P, S, X}}),
        ("DOT-3AL 3000 K1 X-X", {"X-X": {X}}),
        ("DOT-3AL 3000 K1 ╳", {"╳": {X}}),
        ("DOT-3AL 3000 K1 XX", {"XX": {X}}),
        ("DOT-3AL XX00", {"XX00": {P, X}}),
        ("DOT-3AL 3000 K118204 QQQ 77 S 12.1 @@", {}),
    ],
)
def test_an_unread_mark_says_what_it_could_be(
    line: str, evidence: dict[str, set[Evidence]]
) -> None:
    assert {t.text: set(t.could_be) for t in read_marks(line).unread_evidence} == evidence


def test_a_read_mark_hides_nothing() -> None:
    assert all(not t.could_be for t in read_marks("DOT-3AL3000 K118204 09A21 CONDEMNED").tokens)


class TestOneStamp:
    """A stamp as typed beside a test: 180.213(d), (f); station marks and due dates memory."""

    @pytest.mark.parametrize(
        ("text", "month", "year", "rin", "station", "suffixes"),
        [
            ("09 A123 26 +", 9, 2026, "A123", None, ("+",)),
            ("9A12326+", 9, 2026, "A123", None, ("+",)),
            ("10-z418-21", 10, 2021, "Z418", None, ()),
            ("10 Z 418 2021 VE", 10, 2021, "Z418", None, ("VE",)),
            ("10 Z418 21 * S", 10, 2021, "Z418", None, ("*", "S")),
            ("10 V12345 21", 10, 2021, "V12345", None, ()),
            ("2021/09 XY", 9, 2021, None, "XY", ()),
            ("XY 2021/09", 9, 2021, None, "XY", ()),
            ("2021-09 <AB1>", 9, 2021, None, "<AB1>", ()),
            ("26/05 F", 5, 2026, None, None, ("F",)),
            ("06/21", 6, 2021, None, None, ()),
            ("09A21", 9, 2021, None, "A", ()),
            ("2024 05 Q12", 5, 2024, None, "Q12", ()),
            ("5.24", 5, 2024, None, None, ()),
        ],
    )
    def test_read(
        self, text: str, month: int, year: int, rin: str | None, station: str | None, suffixes: tuple[str, ...]
    ) -> None:  # fmt: skip
        stamp = read_stamp(text, PartialDate(2015, 6))
        assert stamp.doubts == ()
        assert stamp.retest is not None
        got = stamp.retest
        assert (got.month, got.year, got.rin, got.station, got.suffixes) == (
            month,
            year,
            rin,
            station,
            suffixes,
        )
        assert got.plus is ("+" in suffixes)
        assert got.star is ("*" in suffixes)
        assert got.when.date == PartialDate(year, month)

    @pytest.mark.parametrize(
        ("text", "first", "could_be"),
        [
            ("06/07", "2001-03", ["2007-06", "2006-07"]),
            ("06/07", None, ["1907-06", "2007-06", "1906-07", "2006-07"]),
            ("06/21", None, ["1921-06", "2021-06"]),
        ],
    )
    def test_two_readings_are_both_kept(
        self, text: str, first: str | None, could_be: list[str]
    ) -> None:
        stamp = read_stamp(text, PartialDate.parse(first) if first else None)
        assert stamp.retest is not None
        assert stamp.retest.when.date is None
        assert [str(d) for d in stamp.retest.when.could_be] == could_be
        assert len(stamp.doubts) == 1

    @pytest.mark.parametrize(
        ("text", "rins"),
        [
            ("10 Z4 18 21", ("Z481", "Z418")),  # clockwise, 180.213(d), or typed in order
            ("Z4/10 21/81", ("Z418", "Z481")),
            ("10 Z4 11 21", ("Z411",)),
        ],
    )
    def test_the_square_leaves_the_order_of_its_lower_row_open(
        self, text: str, rins: tuple[str, ...]
    ) -> None:
        stamp = read_stamp(text)
        assert stamp.retest is not None
        assert (stamp.retest.when.date, stamp.retest.rin) == (PartialDate(2021, 10), None)
        assert stamp.retest.rin_could_be == rins
        assert bool(stamp.doubts) is (len(rins) > 1)

    @pytest.mark.parametrize(
        ("text", "why"),
        [
            ("", "no month and year"),
            ("3000", "no month and year"),
            ("10 Z418", "no month and year"),
            ("13 A123 21", "there is no month 13"),
            ("09 A12 26", "a RIN has one letter and three digits"),
            ("09 A123 ?6", "a RIN has one letter and three digits"),
            ("FIN 2030/05", "no month and year"),
            ("09 A123 26 05 B123 31", "more than one test"),
            ("XXXX", "no month and year"),
        ],
    )
    def test_why_not(self, text: str, why: str) -> None:
        stamp = read_stamp(text, PartialDate(2015, 6))
        assert stamp.retest is None
        assert any(why in doubt for doubt in stamp.doubts)

    @pytest.mark.parametrize(
        ("text", "why"),
        [
            ("09 A123 26 foo", "`foo`"),
            ("09 A123 26 4500", "`4500`"),
            ("05 A123 14", "before the first test of 2015-06"),
            ("9*21", "may stand for a RIN"),
        ],
    )
    def test_what_else_is_in_doubt(self, text: str, why: str) -> None:
        stamp = read_stamp(text, PartialDate(2015, 6))
        assert stamp.retest is not None
        assert any(why in doubt for doubt in stamp.doubts)

    def test_condemned(self) -> None:
        assert read_stamp("09 A123 26 CONDEMNED").condemned
        assert not read_stamp("09 A123 26 X").condemned

    def test_a_known_sign_beside_its_date_condemns_nothing(self) -> None:
        signs = ("2024 05 REJ", "24 05 REJ")
        assert not read_stamp("2024/05 REJ", names=signs).condemned
        assert not read_stamp("24/05 rej.", names=signs).condemned
        assert read_stamp("2024/06 REJ", names=signs).condemned
        assert read_stamp("REJ 2024/05", names=signs).condemned
        assert read_stamp("2024/05 REJECTED", names=signs).condemned

    def test_a_due_date_may_lie_ahead_unless_today_is_given(self) -> None:
        assert read_stamp("05/30 F", PartialDate(2015, 6)).doubts == ()
        ahead = read_stamp("05/30 F", PartialDate(2015, 6), today=TODAY)
        assert "later than today" in ahead.doubts[0]


def test_a_plus_behind_the_pressure_is_that_of_the_first_test() -> None:
    marks = read_marks("DOT-3AA2400+ K118204 3-98 05 A123 03 06 A123 08+")
    assert (marks.first_plus, marks.first_suffixes) == (True, ("+",))
    assert [r.plus for r in marks.retests] == [False, True]
    assert not read_marks("DOT-3AA2400 K118204 3-98 05 A123 03+").first_plus
    assert not read_marks("EN 1964-1 PW 232 + PH 348").first_plus


def test_a_first_test_behind_its_retest_is_in_doubt() -> None:
    marks = read_marks("DOT-3AA2250 K118204 5-95 05 A123 93")
    assert marks.first_date is None
    assert marks.first_test is not None
    assert marks.first_test.date == PartialDate(1995, 5)


def test_what_a_line_gives_to_be_compared() -> None:
    marks = read_marks(
        "3AL3000 S80 P45678 Example Cylinder Co 09A21 12.2 L 14.2 KG 3/4-14 NPSM FIN 05/30"
    )
    assert (marks.specifications, marks.bare_specifications) == ((), ("3AL",))
    assert marks.doubted(K.SERVICE_PRESSURE)
    assert not marks.doubted(K.FIRST_TEST)
    assert (marks.serial, marks.makers) == ("P45678", ("EXAMPLE CYLINDER CO",))
    assert (marks.sizes, marks.threads) == (("S80",), ("3/4-14 NPSM",))
    assert (marks.volume, marks.mass) == (Volume.of(12.2, "L"), Mass.of(14.2, "kg"))
    assert marks.life_end is not None
    assert marks.life_end.date == PartialDate(2030, 5)


def test_the_readings_of_a_line_left_open() -> None:
    marks = read_marks("EN 1964-1 PW232 PH348 06/07")
    assert marks.first_date is None
    assert marks.first_test is not None
    assert marks.first_test.could_be == (PartialDate(2007, 6), PartialDate(2006, 7))


def _table() -> MarkTable:
    node, findings = parse(_data().joinpath("marks.yaml").read_text(encoding="utf-8"), "marks.yaml")
    reader = NodeReader("marks.yaml", list(findings))
    table = read(MarkTable, node, reader)
    assert reader.findings == []
    assert table is not None
    return table


def test_every_kind_has_one_shipped_meaning() -> None:
    rows = [row.kind for row in _table().marks]
    assert sorted(rows) == sorted(MarkKind)


def test_a_token_carries_its_meaning() -> None:
    marks = read_marks("09 A123 26 +", _table().marks)
    plus = marks.tokens[-1].meaning
    assert plus is not None
    assert (plus.citation, plus.verified, plus.grade) == ("49 CFR 180.213(f)(3)", "read", "B")
    assert read_marks("+").tokens[0].meaning is None


@pytest.mark.parametrize(
    ("line", "working"),
    [
        ("EN 1964 12L 232 bar PT 348 2024/03", 232),
        ("EN 1964 12L 200BAR PT 300 2024/03", 200),
        ("EN 1964 12L PT 450 300 bar 2024/03", 300),
        ("EN 1964 12L 300 bar PT 348 2024/03", None),
        ("EN 1964 12L 348 bar PT 348 2024/03", None),
        ("EN 1964 12L 232 bar 2024/03", None),
        ("EN 1964 12L 232 bar 232 bar PT 348 2024/03", None),
        ("EN 1964 232 bar PW 200 PT 348", None),
        ("DOT-3AL 3000 232 bar TP 348 2024/03", 207),
        ("232 bar PT 348", None),
    ],
)
def test_a_bare_pressure_is_told_by_the_test_pressure_of_a_european_line(
    line: str, working: int | None
) -> None:
    """PH is 1.5 times PW (EN 1964-1, ISO 9809-1; from memory); else nothing is guessed."""
    got = read_marks(line).service_pressure
    assert (round(got.bar) if got is not None else None) == working
