"""Renting out and taking back: all or none, and what each leaves in the records."""

from __future__ import annotations

import datetime as dt

import books
import pytest
from acting import Shelf, shelf
from changing import replace

from tankbook.acts.away import send
from tankbook.acts.rent import Going, Lot, choose, rent
from tankbook.acts.return_ import Back, return_
from tankbook.acts.station_upkeep import raise_bank
from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.edits import Act, AddEntry, Refusal, SetValue
from tankbook.records.log import Booking
from tankbook.records.words import Isolator, Status, ValvePosition
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.status import status_of
from tankbook.units import GaugePressure, Temperature

ZONE = dt.timezone(dt.timedelta(hours=1))
HEADER = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note"
FILLS = "\n".join(
    [
        HEADER,
        *(
            f"2026-11-{day}T09:30:00+01:00,{id_},fill,500 psi,3000 psi,70 degF,air,,,MV,,B1,,,,"
            for id_, day in (("RB-014", 12), ("DB-02", 10), ("RB-017", 11))
        ),
        "",
    ]
)
CLOSED, OPEN = ValvePosition.CLOSED, ValvePosition.OPEN


def at(text: str = "2026-11-25T10:00") -> dt.datetime:
    return dt.datetime.fromisoformat(f"{text}:00").replace(tzinfo=ZONE)


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def rack(**changes: str) -> Shelf:
    """RB-014 and RB-017 alone, RB-015 and RB-016 as DB-02, all filled."""
    made = shelf(RB_017=books.GOOD.replace("K118204", "K118299"), **changes)
    made.texts["sets/DB-02.yaml"] = "cylinders: [RB-015, RB-016]\nisolator: open\nuse: rental\n"
    made.texts["fills/2026.csv"] = FILLS
    return made


def out(
    *ids: str, on: str = "2026-11-25", until: str = "2026-11-27", made: Shelf | None = None
) -> Shelf:
    made = made or rack()
    day, then = dt.date.fromisoformat(until), at(f"{on}T10:00")
    made.do(rent, [Going(i) for i in ids], to="B-4471", until=day, by="MV", at=then)
    return made


# --- out


def test_going_out_leaves_an_entry_and_a_status() -> None:
    act = out("RB-014", "RB-017").last
    assert act is not None
    assert act.sentence == "Sent RB-014, RB-017 out to B-4471, back 2026-11-27, by MV"
    made = out("RB-014")
    (entry,) = made["RB-014"].rented
    assert (str(entry.on), entry.by, entry.to, str(entry.until)) == (
        "2026-11-25",
        "MV",
        "B-4471",
        "2026-11-27",
    )
    assert status_of(made.book, made["RB-014"]) is Status.OUT
    assert "status: out" in made.texts["cylinders/RB-014.yaml"]


def test_a_pressure_read_as_it_goes_is_logged_with_its_temperature() -> None:
    made = rack()
    made.do(
        rent, [Going("RB-014", psi(2950))], to="B-1", until=None, by="MV", at=at(),
        temperature=Temperature.of(66, "degF"),
    )  # fmt: skip
    line = made.book.log[-1]
    assert (line.cylinder, line.act, str(line.to), str(line.temperature), line.note) == (
        "RB-014",
        "reading",
        "2950 psi",
        "66 degF",
        "going out to B-1",
    )


def test_doubles_go_out_as_one_and_their_sides_are_not_filled_meanwhile() -> None:
    made = out("DB-02")
    assert made["DB-02"].rented[0].to == "B-4471"
    assert "standing-out" in {r.code for r in may_fill(made.book, "RB-015", books.TODAY).refusals}
    assert "is one side of DB-02" in rack().refuse(
        rent, [Going("RB-015")], to="B-1", until=None, by="MV", at=at()
    )


def test_one_that_may_not_go_keeps_all_in() -> None:
    made = rack(RB_014=books.GOOD.replace("2026-02-09", "2025-11-26"))
    said = made.refuse(
        rent, [Going("RB-014"), Going("RB-017")], to="B-1", until=dt.date(2026, 11, 28), by="MV",
        at=at(),
    )  # fmt: skip
    assert said == (
        "RB-014: its visual lapses after 2026-11-26, and it would be out until 2026-11-28"
    )
    assert made.book.cylinders["RB-017"].rented == ()


@pytest.mark.parametrize(
    ("going", "to", "until", "said"),
    [
        (["RB-014", "RB-014"], "B-1", None, "RB-014 is named twice"),
        ([], "B-1", None, "name at least one cylinder"),
        (["RB-014"], "B-1", "2026-11-24", "--until 2026-11-24 is before 2026-11-25"),
        (["RB-014"], "Jo Bloggs", None, "reads like a name"),
        (["RB-014"], " ", None, "--to is empty"),
        (["DB-02", "RB-015"], "B-1", None, "is one side of DB-02, which is named as well"),
    ],
)
def test_a_request_that_makes_no_sense_is_refused(
    going: list[str], to: str, until: str | None, said: str
) -> None:
    day = dt.date.fromisoformat(until) if until else None
    assert said in rack().refuse(
        rent, [Going(i) for i in going], to=to, until=day, by="MV", at=at()
    )


def test_what_is_out_does_not_go_out_again() -> None:
    said = out("RB-014").refuse(rent, [Going("RB-014")], to="B-2", until=None, by="MV", at=at())
    assert said == "RB-014 is out to B-4471 since 2026-11-25: record its return first"


def test_what_went_out_all_the_same_is_logged_as_a_fact_with_what_stood_against_it() -> None:
    made = rack(RB_014=books.GOOD.replace("2026-02-09", "2025-11-09"))
    made.do(
        rent, [Going("RB-014")], to="B-1", until=None, by="MV", at=at(), happened="handed out early"
    )
    note = made["RB-014"].rented[0].note
    assert note.startswith("happened: handed out early; against it: visual lapsed")


def test_what_is_not_full_and_what_is_no_air_is_said() -> None:
    made = rack()
    made.do(rent, [Going("RB-014", psi(1200))], to="B-1", until=None, by="MV", at=at())
    assert made.last is not None
    assert "RB-014: WARNING: not full, 1200 psi" in made.last.notes


def test_what_is_stamped_on_it_and_was_not_read_is_said() -> None:
    made = rack(RB_014=books.GOOD + "marks: DOT-3AL 3000 K118204 4350 03A24\n")
    made.do(rent, [Going("RB-014")], to="B-1", until=None, by="MV", at=at())
    assert made.last is not None
    assert any("WARNING: its marks carry `4350`, not read" in n for n in made.last.notes)


# --- choosing


def with_bookings(book: Book, *rows: tuple[str, int, str | None]) -> Book:
    lines = tuple(
        Booking(date=books.TODAY, reference=ref, count=count, gas=Gas.parse(gas) if gas else None)
        for ref, count, gas in rows
    )
    return replace(book, bookings=lines)


def test_the_bookings_count_says_how_many_are_chosen() -> None:
    book = with_bookings(rack().book, ("B-4471", 2, None))
    chosen, missing = choose(book, Lot(), "B-4471", None, books.TODAY)
    assert ([c.id for c in chosen], missing) == (["DB-02", "RB-017"], ())


def test_what_went_out_already_is_taken_off() -> None:
    book = with_bookings(out("RB-017").book, ("B-4471", 2, None))
    chosen, _ = choose(book, Lot(), "B-4471", None, books.TODAY)
    assert [c.id for c in chosen] == ["DB-02"]


def test_a_lot_that_cannot_be_met_says_so() -> None:
    _, missing = choose(rack().book, Lot(5, "11.1 L", Gas.parse("air")), "C-1", None, books.TODAY)
    assert missing == ("5 11.1 L air wanted, and 2 are full and may go",)
    one = out("RB-017").book
    _, missing = choose(one, Lot(5, "11.1 L", Gas.parse("air")), "C-1", None, books.TODAY)
    assert missing == ("5 11.1 L air wanted, and 1 is full and may go",)
    _, missing = choose(rack().book, Lot(), "B-9", None, books.TODAY)
    assert missing == ("nothing is booked for B-9 today: name cylinders, or say how many: --count",)


# --- back


def test_coming_back_asks_for_pressure_and_valve() -> None:
    said = out("RB-014").refuse(return_, [Back("RB-014")], by="MV", at=at())
    assert said == (
        "RB-014: say its pressure, as in RB-014=500; "
        "RB-014: say whether its valve was found closed or open: --valve"
    )


def test_coming_back_leaves_pressure_valve_and_status() -> None:
    made = out("RB-014", on="2026-11-20")
    made.do(
        return_, [Back("RB-014", (psi(600),), CLOSED)], by="MV", at=at("2026-11-22T16:00"),
        temperature=Temperature.of(60, "degF"),
    )  # fmt: skip
    (entry,) = made["RB-014"].rented
    assert (str(entry.back), str(entry.pressure), entry.valve) == ("2026-11-22", "600 psi", CLOSED)
    assert status_of(made.book, made["RB-014"]) is Status.IN_SERVICE
    assert made.book.log[-1].note == "back from B-4471"
    assert str(contents_of(made.book, "RB-014").temperature) == "60 degF"


@pytest.mark.parametrize(
    ("back", "code"),
    [
        (Back("RB-014", (psi(0),), OPEN), "returned-empty"),
        (Back("RB-014", (psi(0),), CLOSED), "returned-empty"),
        (Back("RB-014", (psi(600),), OPEN), "returned-valve-open"),
        (Back("RB-014", (psi(600),), CLOSED, "handwheel cracked"), "damage-noted"),
    ],
)
def test_what_came_back_badly_is_not_filled_before_somebody_looked(back: Back, code: str) -> None:
    made = out("RB-014")
    act = made.do(return_, [back], by="MV", at=at())
    assert code in {r.code for r in may_fill(made.book, "RB-014", books.TODAY).refusals}
    assert any("before it is filled" in note for note in act.notes)


def test_what_comes_back_above_its_limit_is_held() -> None:
    made = out("RB-014", on="2026-11-20")
    act = return_(made.book, [Back("RB-014", (psi(4800),), CLOSED)], by="MV", at=at())
    assert isinstance(act, Act)
    assert "RB-014 is held now" in act.notes
    assert any("RB-014 read 4800 psi, above the 3360 psi" in note for note in act.notes)
    writes = [e for e in act.edits if isinstance(e, SetValue) and e.trail == ("status",)]
    assert [e.value for e in writes] == ["held"]
    (entered,) = (e for e in act.edits if isinstance(e, AddEntry))
    assert entered.trail == ("held",)


def test_late_ones_are_told() -> None:
    made = out("RB-014", on="2026-11-20", until="2026-11-21")
    back = [Back("RB-014", (psi(600),), CLOSED)]
    act = made.do(return_, back, by="MV", at=at("2026-11-23T09:00"))
    assert act.notes == ("RB-014: LATE by 2 days (B-4471)",)


def test_a_held_cylinder_stays_held_when_it_is_back() -> None:
    held = books.GOOD.replace(
        "status: in-service",
        "status: held\nheld: [{on: 2026-11-25, by: MV, why: bad air}]\n"
        "rented: [{on: 2026-11-24, to: B-9}]",
    )
    made = rack(RB_014=held)
    act = made.do(return_, [Back("RB-014", (psi(600),), CLOSED)], by="MV", at=at())
    assert status_of(made.book, made["RB-014"]) is Status.HELD
    assert act.notes == ("RB-014 stays held",)


def test_one_that_lapsed_meanwhile_is_in_service_and_is_not_filled() -> None:
    """A date that passes writes nothing on a card; the gate tells it."""
    lapsing = rack(RB_014=books.GOOD.replace("2026-02-09", "2025-11-22"))
    made = out("RB-014", on="2026-11-20", until="2026-11-22", made=lapsing)
    made.do(return_, [Back("RB-014", (psi(600),), CLOSED)], by="MV", at=at("2026-11-24T09:00"))
    assert status_of(made.book, made["RB-014"]) is Status.IN_SERVICE
    refusals = may_fill(made.book, "RB-014", dt.date(2026, 11, 24), station=False).refusals
    assert [r.code for r in refusals] == ["visual-overdue"]


# --- doubles back


def test_doubles_with_the_isolator_open_have_one_reading() -> None:
    made = out("DB-02")
    said = made.refuse(return_, [Back("DB-02", (psi(600), psi(700)), CLOSED)], by="MV", at=at())
    assert "one reading serves both sides" in said
    made.do(return_, [Back("DB-02", (psi(600),), CLOSED)], by="MV", at=at())
    assert [str(contents_of(made.book, i).pressure) for i in ("DB-02", "RB-015")] == ["600 psi"] * 2


def test_doubles_found_with_the_isolator_shut_have_two() -> None:
    made = out("DB-02")
    shut = Isolator.SHUT
    said = made.refuse(
        return_, [Back("DB-02", (psi(600),), CLOSED)], by="MV", at=at(), isolator=shut
    )
    assert said == "DB-02: its isolator is shut: read both sides, as in DB-02=600+600"
    back = [Back("DB-02", (psi(600), psi(900)), CLOSED)]
    made.do(return_, back, by="MV", at=at(), isolator=shut)
    book = made.book
    assert made["DB-02"].isolator is shut
    assert [str(contents_of(book, i).pressure) for i in ("RB-015", "RB-016", "DB-02")] == [
        "600 psi",
        "900 psi",
        "600 psi",
    ]
    assert str(made["DB-02"].rented[0].pressure) == "600 psi"


def test_a_side_does_not_come_back_alone() -> None:
    said = out("DB-02").refuse(return_, [Back("RB-015", (psi(1),), CLOSED)], by="MV", at=at())
    assert said == "RB-015 is out in DB-02: the two come back as one"


@pytest.mark.parametrize(
    ("backs", "said"),
    [
        ([Back("RB-017", (psi(600),), CLOSED)], "RB-017 is not out"),
        ([], "name at least one cylinder"),
        ([Back("RB-014", (psi(1), psi(2)), CLOSED)], "it is one cylinder, and has one reading"),
        ([Back("RB-014", (psi(1),), CLOSED, "a\nb")], "is not one line of plain text"),
        ([Back("RB-014", (psi(1),), CLOSED)] * 2, "RB-014 is named twice"),
    ],
)
def test_a_return_that_makes_no_sense_is_refused(backs: list[Back], said: str) -> None:
    assert said in out("RB-014").refuse(return_, backs, by="MV", at=at())


@pytest.mark.parametrize(
    ("read", "told"), [(3600, "no fill between"), (4800, "above"), (0, "empty"), (2900, "")]
)
def test_what_the_gauge_shows_as_it_goes_is_judged_before_it_goes(read: float, told: str) -> None:
    made = rack()
    asked = {"to": "B-1", "until": None, "by": "MV", "at": at()}
    if told:
        assert told in made.refuse(rent, [Going("RB-014", psi(read))], **asked)
    else:
        made.do(rent, [Going("RB-014", psi(read))], **asked)


BAD_AIR = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, working_pressure: 5000 psi, period: 10 years,
     readings: [{on: 2026-11-18, pressure: 4400 psi}],
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
compressor: {name: C1}
positions: [{name: P1, kind: enclosed}]
regulator_set: 3000 psi
air_tests:
  - {on: 2026-10-12, by: Lab, source: C1, standard: cga-grade-e, result: pass}
  - {on: 2026-11-22, by: Lab, source: C1, standard: cga-grade-e, co: 14 ppm, result: fail}
"""
GOOD_SAMPLE = "  - {on: 2026-11-25, by: Lab, source: RB-014, standard: cga-grade-e, result: pass}\n"


@pytest.mark.parametrize(
    ("where", "day", "sample", "by", "kept"),
    [
        ("bank in the shed", "24", "", "JW", True),
        ("Northside", "24", "", "JW", True),
        ("bank in the shed", "24", GOOD_SAMPLE, "JW", False),
        ("bank in the shed", "24", "", "MV", False),
        ("bank in the shed", "15", "", "JW", False),  # nothing was wrong here then
    ],
)
def test_what_is_said_to_be_of_others_does_not_leave_unseen_while_ours_is_bad(
    where: str, day: str, sample: str, by: str, kept: bool
) -> None:
    """No list of words tells what is ours by another name."""
    made = rack()
    made.texts["station.yaml"] = BAD_AIR + sample
    made.texts["tankbook.yaml"] = books.SETTINGS.replace("people:\n", "people:\n  JW: {}\n")
    made.texts["fills/2026.csv"] = (
        f"{HEADER}\n2026-11-{day}T09:30:00+01:00,RB-014,fill,0 psi,3000 psi,70 degF,air,,,JW,,"
        f"elsewhere: {where},,,,\n"
    )
    book = replace(made.book, clock=dt.date(2026, 11, 25))
    going, until = [Going("RB-014")], dt.date(2026, 11, 27)
    act = rent(book, going, to="B-4471", until=until, by=by, at=at())
    assert (f"it was filled from elsewhere: {where} on 2026-11-24, while" in str(act)) is kept
    assert isinstance(act, Act) is not kept
    fact = rent(book, going, to="B-4471", until=until, by=by, at=at(), happened="gone")
    assert isinstance(fact, Act)


OTHERS = (
    "2026-11-24T09:30:00+01:00,RB-014,fill,{from_},3000 psi,70 degF,air,,,JW,,elsewhere: shed,,,,\n"
)
TOPPED = "2026-11-25T08:00:00+01:00,RB-014,fill,{from_},3000 psi,70 degF,air,,,MV,,B1,,,,\n"
DECANTED = "2026-11-25T08:30:00+01:00,RB-017,fill,0 psi,1500 psi,70 degF,air,,,MV,,RB-014,,,,\n"


def of_others(log: str, sample: str = "") -> Shelf:
    made = rack()
    made.texts["station.yaml"] = BAD_AIR + sample
    made.texts["tankbook.yaml"] = books.SETTINGS.replace("people:\n", "people:\n  JW: {}\n")
    made.texts["fills/2026.csv"] = HEADER + "\n" + log
    return made


@pytest.mark.parametrize(
    ("log", "id_", "sample", "by", "asked"),
    [
        (OTHERS.format(from_="0 psi"), "RB-014", "", "JW", True),
        # topped from our own bank it holds that gas as well
        (OTHERS.format(from_="0 psi") + TOPPED.format(from_="900 psi"), "RB-014", "", "JW", True),
        (OTHERS.format(from_="0 psi") + TOPPED.format(from_=""), "RB-014", "", "JW", True),
        # it was empty before
        (OTHERS.format(from_="0 psi") + TOPPED.format(from_="0 psi"), "RB-014", "", "JW", False),
        # another was filled from it
        (OTHERS.format(from_="0 psi") + DECANTED, "RB-017", "", "JW", True),
        (OTHERS.format(from_="0 psi") + DECANTED, "RB-017", "", "MV", False),
        # sampled since the fill, or by somebody certified
        (
            OTHERS.format(from_="0 psi") + TOPPED.format(from_="900 psi"),
            "RB-014",
            GOOD_SAMPLE,
            "JW",
            False,
        ),
        (
            OTHERS.format(from_="0 psi") + TOPPED.format(from_="900 psi"),
            "RB-014",
            GOOD_SAMPLE.replace("-25", "-23"),
            "JW",
            True,
        ),
        (OTHERS.format(from_="0 psi") + DECANTED, "RB-017", GOOD_SAMPLE, "JW", False),
        (OTHERS.format(from_="0 psi") + TOPPED.format(from_="900 psi"), "RB-014", "", "MV", False),
    ],
)
@pytest.mark.parametrize("deed", ["rented", "sent", "raised"])
def test_what_is_said_to_be_of_others_is_asked_for_until_it_is_out(
    deed: str, log: str, id_: str, sample: str, by: str, asked: bool
) -> None:
    """However often it was topped since, and by whatever way it leaves."""
    made, day = of_others(log, sample), dt.date(2026, 11, 25)
    made.texts["cylinders/RB-017.yaml"] = books.GOOD.replace("K118204", "K118217")
    book = replace(made.book, clock=day)

    def does(happened: str) -> Act | Refusal:
        if deed == "rented":
            until = dt.date(2026, 11, 27)
            return rent(
                book, [Going(id_)], to="B-1", until=until, by=by, at=at(), happened=happened
            )
        if deed == "sent":
            return send(book, [id_], to="Northside", happened=happened, by=by, on=day)
        more = {"by": by, "on": day, "happened": happened}
        return raise_bank(book, "B1", to=psi(4450), source=id_, **more)

    act = does("")
    told = "it was filled from elsewhere: shed on 2026-11-24, while" in str(act)
    told = told or "it was filled from RB-014 on 2026-11-25, while" in str(act)
    assert told is asked, act
    if asked:
        assert isinstance(act, Refusal)
        assert isinstance(does("it was done on Tuesday"), Act)


def test_a_bank_is_not_raised_unseen_with_what_is_said_to_be_of_others_while_ours_is_bad() -> None:
    made, day = of_others(""), dt.date(2026, 11, 25)
    book = replace(made.book, clock=day)
    source = "elsewhere: shed"
    act = raise_bank(book, "B1", to=psi(4450), source=source, by="JW", on=day)
    assert "it is raised from elsewhere: shed, while" in str(act)
    act = raise_bank(book, "B1", to=psi(4450), source=source, by="MV", on=day)
    assert "it is raised from elsewhere: shed" not in str(act)
