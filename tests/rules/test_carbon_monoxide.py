"""What a carbon monoxide alarm holds: cylinders and banks, since when, and what lets them go."""

from __future__ import annotations

import datetime as dt
from typing import Any

import acting
import books
import pytest
from books import GOOD, make_book, with_lines
from loglines import fill, line

from tankbook.acts.air_test import sampled
from tankbook.acts.correct import Wrong, correct
from tankbook.acts.station_day import bump_tested, carbon_monoxide, opened
from tankbook.records.book import Book
from tankbook.records.station import Certificate
from tankbook.records.words import CoCause, CoPlace, TestResult
from tankbook.rules.bad_air import bad_air_of, banks_of_bad_air, doubted_for_co, kept_back
from tankbook.rules.bank_held import banks_held as banks_held_aside
from tankbook.rules.bank_out import banks_out
from tankbook.rules.carbon_monoxide import co_alarms, proves
from tankbook.rules.checks import of_card
from tankbook.rules.gate import shut_by
from tankbook.rules.recall import by_source
from tankbook.units import Concentration

TODAY = acting.TODAY
C1 = "compressor: {name: C1}"
TWO = "compressor: {name: C1}\ncompressors: [{name: C2}]"
GOOD_AIR = "on: 2026-10-12, by: Lab, standard: cga-grade-e, result: pass, co: 1 ppm"
BUMPED = '{on: 2026-11-23}, {on: 2026-11-24, at: "11:00"}'
MONITOR = "instruments: [{{name: CO-1, kind: co-monitor, bumped: [{}]}}]"
ALARM = '{on: 2026-11-24, at: "10:00", alarm: yes, co: 40 ppm, place: outlet, with: CO-1}'
ANSWER = '{on: 2026-11-24, at: "12:00", co: 1 ppm, place: outlet, with: CO-1, cause: a van}'
BANKS = "{name: B1, water_volume: 48 L, gas: air, period: 5 years, requalified: [{on: 2024-03, method: hydrostatic, by: Lab}]%s}"
OLD = ', readings: [{on: 2026-10-01, pressure: 4000 psi}, {on: 2026-11-25, at: "08:00", pressure: 3800 psi}]'
RAISED = ", readings: [{on: 2026-10-01, pressure: 4000 psi}]"
RAISED += ", raised: [{on: 2026-11-20, to: 4400 psi, source: C1}]"


def at(hour: str, more: str, on: str = "2026-11-24") -> str:
    return f'{{on: {on}, at: "{hour}", {more}, with: CO-1}}'


def of(name: str, co: str = "1 ppm", hour: str = "13:00", on: str = "2026-11-24") -> str:
    return at(hour, f"co: {co}, of: {name}", on)


def station(
    *readings: str, bumped: str = BUMPED, bank: str = "", pumps: str = C1, tests: str = ""
) -> str:
    where = ", source: C1" if pumps == C1 else ""
    good = f"{{{GOOD_AIR}{where}}}"
    if pumps == TWO:
        good = f"{{{GOOD_AIR}, source: C1}}, {{{GOOD_AIR}, source: C2}}"
    return "\n".join(
        (
            pumps,
            f"banks: [{BANKS % bank}]",
            f"air_tests: [{good}{tests}]",
            MONITOR.format(bumped),
            f"co_readings: [{', '.join(readings)}]",
            "",
        )
    )


def book_of(*log: str, text: str) -> Book:
    cards = {"A": with_lines(GOOD), "B": with_lines(GOOD, serial="K2")}
    return make_book(cards, log="\n".join(log), station=text)


def is_held(book: Book, id_: str = "A") -> bool:
    """Whether a card is at fault for its air: no door lets it through then."""
    told = [f for f in of_card(book, book.cylinders[id_], TODAY) if f.code == "bad-air"]
    assert all(f.severity == "fault" for f in told)
    bad = bad_air_of(book, book.cylinders[id_])
    assert (bad is not None) is bool(told)
    assert (id_ in doubted_for_co(book, TODAY).cylinders) is bool(told)
    return bool(told)


def banks_held(book: Book) -> list[str]:
    """The banks that are out; they are told of to whoever asks for any."""
    out = [o.name for o in banks_out(book, TODAY) if o.state == "bad-air"]
    assert out == [b.bank.name for b in banks_of_bad_air(book, TODAY)]
    return out


MORNING = at("08:00", "co: 1 ppm, place: outlet")
"""A reading of the day of the alarm, before it."""


@pytest.mark.parametrize(
    ("log", "readings", "held"),
    [
        # since the last good sample, straight and by a bank, before the alarm and after it
        ([fill("2026-10-13", source="C1")], [ALARM], True),
        ([fill("2026-11-24T09", source="B1")], [ALARM], True),
        ([fill("2026-11-24T11", source="C1")], [ALARM], True),
        ([fill("2026-11-24T09")], [ALARM], True),  # what says no source
        ([fill("2026-10-11", source="C1")], [ALARM], False),
        ([fill("2026-11-24T09", source="elsewhere: Quay")], [ALARM], False),
        # wherever it sounded, and whether it sounded or was read
        ([fill("2026-11-24T09", source="C1")], [ALARM.replace("outlet", "intake")], True),
        ([fill("2026-11-24T09", source="C1")], [ALARM.replace("outlet", "room")], True),
        ([fill("2026-11-24T09", source="C1")], [ALARM.replace("alarm: yes, ", "")], True),
        # that the station is open again clears nothing of what was filled before
        ([fill("2026-11-24T09", source="C1")], [ALARM, ANSWER], True),
        ([fill("2026-11-24T11", source="C1")], [ALARM, ANSWER], True),
        ([fill("2026-11-24T13", source="C1")], [ALARM, ANSWER], False),
        # without an hour nobody knows that a fill of the day was after it
        ([fill("2026-11-24T13", source="C1")], [ALARM, ANSWER.replace('at: "12:00", ', "")], True),
        # a reading at the outlet says that the air was good till then
        ([fill("2026-11-24T07", source="C1")], [MORNING, ALARM], False),
        ([fill("2026-11-24T09", source="C1")], [MORNING, ALARM], True),
        ([fill("2026-11-24T07", source="C1")], [MORNING.replace("08:00", "10:30"), ALARM], True),
        ([fill("2026-11-24T07", source="C1")], [MORNING.replace("outlet", "room"), ALARM], True),
        ([fill("2026-11-24T07", source="C1")], [MORNING.replace("CO-1", "CO-9"), ALARM], True),
        ([fill("2026-11-24T07", source="C1")], [MORNING.replace("1 ppm", "30 ppm"), ALARM], True),
        # one that is entered late, or an answer that is, lets nothing go
        ([fill("2026-11-24T07", source="C1")], [ALARM, MORNING], True),
        ([fill("2026-11-24T11", source="C1")],
         [ALARM, ANSWER, ANSWER.replace("12:00", "10:30")], True),
        # an analysis of its gas after the alarm clears it, and no other does
        ([fill("2026-11-24T09", source="C1")], [ALARM, of("A")], False),
        ([fill("2026-11-24T09", source="C1")], [ALARM, of("B")], True),
        ([fill("2026-11-24T09", source="C1")], [of("A", hour="09:30"), ALARM], True),
        ([fill("2026-11-24T09", source="C1")], [ALARM, of("A", "30 ppm")], True),
        ([fill("2026-11-24T09", source="C1")], [ALARM, of("A", hour="10:30")], False),
        ([fill("2026-11-24T09", source="C1")], [ALARM, of("A").replace("CO-1", "CO-9")], True),
        # nor one of before a fill; nor does one undo what was found
        ([fill("2026-11-24T11", source="C1")], [ALARM, of("A", hour="10:30")], True),
        ([fill("2026-11-24T09", source="C1")],
         [ALARM, of("A", "30 ppm", "12:30"), of("A")], True),
        ([fill("2026-11-24T09", source="C1")], [ALARM, of("A"), of("A", "30 ppm", "14:00")], True),
        # drained, and filled from what is good
        ([fill("2026-11-24T09", source="C1"), line("2026-11-24T14", "drain", to="0 psi")],
         [ALARM, ANSWER], False),
        ([fill("2026-11-24T09", source="C1"), line("2026-11-24T14", "drain", to="0 psi"),
          fill("2026-11-24T15", source="C1", from_="0 psi")], [ALARM, ANSWER], False),
        ([fill("2026-11-24T09", source="C1"), fill("2026-11-24T15", source="C1", from_="900 psi")],
         [ALARM, ANSWER], True),
        ([fill("2026-11-24T09", source="C1", from_="0 psi"),
          fill("2026-11-24T10", source="A", cylinder="B")], [ALARM], True),
        # of two alarms each holds its own, though one was answered, and an analysis between them
        ([fill("2026-11-24T09", source="C1")],
         [ALARM, ANSWER, at("14:00", "alarm: yes, place: outlet")], True),
        ([fill("2026-11-24T13", source="C1")],
         [ALARM, ANSWER, at("14:00", "alarm: yes, place: outlet")], True),
        ([fill("2026-11-24T09", source="C1")],
         [ALARM, of("A", hour="10:30"), at("11:00", "alarm: yes, place: outlet")], True),
        # one that was entered late, of an earlier day
        ([fill("2026-11-24T13", source="C1")],
         [ALARM, ANSWER, '{on: 2026-11-24, at: "12:30", alarm: yes, place: outlet}'], True),
        # by mass, which these limits do not give: nobody knows that it is within them
        ([fill("2026-11-24T09", source="C1")], [ALARM.replace("alarm: yes, co: 40 ppm", "co: 1 mg/m3")], True),
        ([fill("2026-11-24T09", source="C1")], [ALARM, of("A", "1 mg/m3")], True),
    ],
)  # fmt: skip
def test_what_an_alarm_holds(log: list[str], readings: list[str], held: bool) -> None:
    book = book_of(*log, text=station(*readings))
    assert is_held(book, "B" if "cylinder=B" in log[-1] else "A") is held


def test_what_ended_with_the_year_is_held_in_the_next() -> None:
    text = station(ALARM.replace("2026-11-24", "2026-01-02")).replace("2026-10-12", "2025-12-01")
    seen = "[{on: 2025-02-09, by: MV, checklist: annual, result: pass, sticker: issued}]"
    card = {"A": with_lines(GOOD, inspected=seen)}
    assert is_held(make_book(card, log=fill("2025-12-30", source="C1"), station=text))
    assert not is_held(make_book(card, log=fill("2025-11-30", source="C1"), station=text))


@pytest.mark.parametrize(
    ("pumps", "alarm", "source", "held"),
    [
        (TWO, "", "C1", True),  # it does not say of which: of either
        (TWO, "", "C2", True),
        (TWO, "of: C1, ", "C1", True),
        (TWO, "of: C1, ", "C2", False),
        (TWO, "of: C1, ", "C1+C2", True),
        (TWO, "of: C1, ", "compressor", True),
        (TWO, "of: C1, ", "", True),
        (TWO, "of: B1, ", "B1", True),
        (C1, "of: A, ", "C1", True),
    ],
)
def test_an_alarm_of_one_compressor_holds_nothing_of_another(
    pumps: str, alarm: str, source: str, held: bool
) -> None:
    text = station(ALARM.replace("alarm", f"{alarm}alarm"), pumps=pumps)
    assert is_held(book_of(fill("2026-11-24T09", source=source), text=text)) is held


def test_each_of_several_compressors_is_answered_by_a_reading_of_it() -> None:
    def shut(*readings: str) -> str:
        book = book_of(text=station(*readings, pumps=TWO))
        return "; ".join(r.text for r in shut_by(book, TODAY) if r.code == "co-alarm-open")

    first = ANSWER.replace("cause", "of: C1, cause")
    second = ANSWER.replace("cause", "of: C2, cause").replace("12:00", "12:10")
    assert not shut(ALARM, ANSWER)
    assert "was not of C2, which the alarm may be of" in shut(ALARM, first)
    assert not shut(ALARM, first, second)
    assert not shut(ALARM.replace("alarm", "of: C1, alarm"), first)
    assert "was not of C1" in shut(ALARM.replace("alarm", "of: C1, alarm"), second)


@pytest.mark.parametrize(
    ("bank", "readings", "held"),
    [
        (RAISED, [ALARM], True),
        (RAISED, [ALARM, ANSWER], True),
        (RAISED, [ALARM, ANSWER, of("B1")], False),
        (RAISED, [of("B1", hour="09:00"), ALARM, ANSWER], True),
        (RAISED, [ALARM, ANSWER, of("B1", "25 ppm")], True),
        (RAISED, [ALARM, ANSWER, of("B1", "25 ppm", "12:30"), of("B1")], True),
        (RAISED, [ALARM, ANSWER, of("A")], True),
        # nobody read it: nobody knows what was pumped into it
        ("", [ALARM, ANSWER], True),
        ("", [ALARM, ANSWER, of("B1")], False),
        # read as low as it can be that nothing was
        (OLD, [ALARM, ANSWER], False),
        # topped after it was analysed, while nobody knows that the air was good
        (RAISED.replace("C1}]", 'C1}, {on: 2026-11-24, at: "13:30", to: 4400 psi, source: C1}]'),
         [ALARM, of("B1")], True),
        # raised from others alone
        (RAISED.replace("C1", "'elsewhere: Quay'")
         .replace("4000 psi}]", '4000 psi}, {on: 2026-11-25, at: "08:00", pressure: 4400 psi}]'),
         [ALARM, ANSWER], False),
        # emptied since, and raised anew on a later day
        (RAISED.replace("4000 psi}]", '4000 psi}, {on: 2026-11-25, at: "08:00", pressure: 0 psi}]'),
         [ALARM, ANSWER], False),
        # its own gas was read over the limit, whenever that was pumped
        (OLD.replace("2026-11-25", "2026-11-23"), [of("B1", "25 ppm")], True),
    ],
)  # fmt: skip
def test_a_bank_of_such_air_is_out_until_it_was_analysed(
    bank: str, readings: list[str], held: bool
) -> None:
    book = book_of(text=station(*readings, bank=bank))
    assert banks_held(book) == (["B1"] if held else [])
    assert (doubted_for_co(book, TODAY).banks == ("B1",)) is held
    # what is filled from it afterwards has the same gas
    later = book_of(fill("2026-11-25T09", source="B1"), text=station(*readings, ANSWER, bank=bank))
    assert is_held(later) is bool(banks_held(later))


FAIL, MENDED = "result: fail, note: dead", "repaired: a new cell"


@pytest.mark.parametrize(
    ("bumped", "answer", "told"),
    [
        ('{on: 2026-11-24, at: "11:00"}', ANSWER, ""),
        ("{on: 2026-11-24}", ANSWER, ""),  # it passed that day, before it or after it
        ('{on: 2026-11-24, at: "12:30"}', ANSWER, "which no bump test passed before it"),
        ('{on: 2026-11-24, at: "12:00"}', ANSWER, ""),
        (f'{{on: 2026-11-24, at: "11:00", {FAIL}}}, {{on: 2026-11-24, at: "12:30", {MENDED}}}',
         ANSWER, "which no bump test passed before it"),
        (f'{{on: 2026-11-24, at: "11:00", {FAIL}}}, {{on: 2026-11-24, at: "11:30", {MENDED}}}',
         ANSWER, ""),
        # entered in another order than it happened
        (f'{{on: 2026-11-24, at: "11:30", {MENDED}}}, {{on: 2026-11-24, at: "11:00", {FAIL}}}',
         ANSWER, ""),
        (f"{{on: 2026-11-24, {FAIL}}}, {{on: 2026-11-24, {MENDED}}}", ANSWER,
         "`tankbook station co CO --with CO-1 --place outlet --kind KIND --cause WHAT --done WHAT --at HH:MM`"),
        (f"{{on: 2026-11-23, {FAIL}}}, {{on: 2026-11-24, {MENDED}}}", ANSWER, "--at HH:MM"),
        (f"{{on: 2026-11-23, {FAIL}}}, {{on: 2026-11-24}}", ANSWER, "was not repaired"),
        (f'{{on: 2026-11-23}}, {{on: 2026-11-24, at: "15:00", {FAIL}}}', ANSWER,
         "failed its next bump test"),
        ("{on: 2026-11-20}", ANSWER, "last bump-tested 2026-11-20"),
        ("{on: 2026-11-23}", ANSWER, ""),
        ("{on: 2026-11-25}", ANSWER, "which no bump test passed"),
    ],
)  # fmt: skip
def test_a_monitor_is_proved_before_it_answers(bumped: str, answer: str, told: str) -> None:
    book = book_of(text=station(ALARM, answer, bumped=bumped))
    reasons = "; ".join(r.text for r in shut_by(book, TODAY) if r.code == "co-alarm-open")
    assert told in reasons
    assert bool(reasons) is bool(told)
    assert book.station is not None
    assert proves(book, book.station.co_readings[1]) is not bool(told)
    assert (co_alarms(book)[0].answer is None) is bool(told)


def ppm(value: float) -> Concentration:
    return Concentration.parse(f"{value:g} ppm")


NOW = dt.datetime(2026, 11, 25, 16, tzinfo=dt.UTC)
DAY: dict[str, Any] = {"by": "MV", "on": TODAY}


def test_the_answer_names_what_it_holds_and_what_it_lets_go() -> None:
    shelf = acting.shelf(station=station(bank=RAISED, bumped=""))
    shelf.texts["fills/2026.csv"] = (
        "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
        "2026-11-24T09:00:00+00:00,RB-014,fill,500 psi,3000 psi,70 degF,air,,,MV,,C1,,,,\n"
    )
    told = carbon_monoxide(shelf.book, ppm(40), alarm=True, at=dt.time(10), **DAY)
    notes = " ".join(told.notes)  # type: ignore[union-attr]
    for said in (
        "1 cylinder is held for carbon monoxide",
        "RB-014",
        "`tankbook recall C1`",
        "nothing is filled from bank B1 until analysed",
        "`tankbook station co CO --with CO-1 --of B1`",
        "the station is CLOSED",
    ):
        assert said in notes
    where = {"alarm": True, "place": CoPlace.INTAKE, "at": dt.time(10), **DAY}
    told = carbon_monoxide(shelf.book, ppm(40), **where)
    notes = " ".join(told.notes)  # type: ignore[union-attr]
    assert "the compressor draws in what is at the intake" in notes
    shelf.texts["station.yaml"] = station(
        '{on: 2026-11-25, at: "10:00", alarm: yes}', bank=RAISED, bumped=""
    )
    shelf.do(bump_tested, "CO-1", at=dt.time(11), **DAY)
    why = {"cause": "a van", "kind": CoCause.INTAKE, "done": "moved it"}
    answer = {**why, "instrument": "CO-1", "at": dt.time(11, 30), **DAY}
    opened = shelf.do(carbon_monoxide, ppm(1), place=CoPlace.OUTLET, **answer)
    assert "1 cylinder is held" in opened.notes[0]
    assert "the station is open again" in opened.notes
    said = shelf.refuse(carbon_monoxide, ppm(1), of="B9", instrument="CO-1", **DAY)
    assert "--of: B9 is no compressor, bank or cylinder here" in said
    cleared = {"instrument": "CO-1", "at": dt.time(12), **DAY}
    act = shelf.do(carbon_monoxide, ppm(1), of="b1", **cleared)
    assert act.notes == ("B1: not held for carbon monoxide any more",)
    act = shelf.do(carbon_monoxide, ppm(1), of="14", **cleared)
    assert act.notes == ("RB-014: not held for carbon monoxide any more",)
    # a monitor that fails afterwards proved nothing since it last passed
    failed = bump_tested(shelf.book, "CO-1", failed="dead", at=dt.time(15), **DAY)
    notes = " ".join(failed.notes)  # type: ignore[union-attr]
    assert "what CO-1 read since it last passed proves nothing any more: 2026-11-25" in notes
    assert "1 cylinder is held" in notes
    assert "the station is CLOSED" in notes


def test_a_recall_lists_what_an_alarm_holds_and_whom_to_ring() -> None:
    """Though a good sample was drawn of the compressor since."""
    tests = f", {{{GOOD_AIR}, source: C1}}".replace("2026-10-12", "2026-11-25")
    text = station(ALARM, ANSWER, bank=RAISED, tests=tests)
    cards = {n: with_lines(GOOD, serial=f"K{n}") for n in "AC"}
    cards["B"] = with_lines(GOOD, serial="KB", rented="[{on: 2026-11-24, to: B-9}]", status="out")
    log = [fill("2026-11-24T09", n, source="C1") for n in "AB"]
    log.append(fill("2026-10-01", "C", source="C1"))
    book = make_book(cards, log="\n".join(log), station=text)
    found = by_source(book, "C1", TODAY)
    assert [s.id for s in found.suspects] == ["B", "A"]
    assert (found.suspects[0].ring, str(found.since)) == ("B-9", "2026-10-12")
    assert [b.name for b in found.banks] == ["B1"]
    assert "--of B1" in found.banks[0].clears
    assert {"A", "B"} <= set(doubted_for_co(book, TODAY).cylinders)


@pytest.mark.parametrize(
    ("what", "on", "certified"),
    [
        ("co_readings", "2026-11-20", True),  # the alarm
        ("co_readings", "2026-11-21", True),  # over the limit, though nothing sounded
        ("co_readings", "2026-11-22", False),  # a good reading: without it more is held
        ("CO-1.bumped", "2026-11-19", True),  # that it failed
        ("CO-1.bumped", "2026-11-23", False),
    ],
)
def test_who_strikes_out_what_was_read(what: str, on: str, certified: bool) -> None:
    readings = (
        "{on: 2026-11-20, alarm: yes}",
        "{on: 2026-11-21, co: 30 ppm}",
        "{on: 2026-11-22, co: 1 ppm, place: outlet, with: CO-1}",
    )
    bumped = f"{{on: 2026-11-19, {FAIL}}}, {{on: 2026-11-23}}"
    shelf = acting.shelf(station=station(*readings, bumped=bumped))
    settings = books.SETTINGS.replace("people:\n", "people:\n  JW: {role: counter}\n")
    shelf.texts["tankbook.yaml"] = settings
    wrong = Wrong(what, on, why="typed wrongly")
    got = correct(shelf.book, "station", wrong, by="JW", on=TODAY, now=NOW)
    assert (type(got).__name__ == "Refusal") is certified, got
    shelf.do(correct, "station", wrong, now=NOW, **DAY)


LATE = '{on: 2026-11-24, at: "12:30"}'


@pytest.mark.parametrize(
    ("bumped", "on", "hour"),
    [
        (LATE, "2026-11-24", dt.time(11)),  # by its hour, before the reading
        (LATE, "2026-11-24", None),  # of its day, and nobody says when
        (LATE, "2026-11-23", None),
        ("", "2026-11-23", dt.time(9)),
        (f"{{on: 2026-11-23, {FAIL}}}", "2026-11-24", dt.time(11)),
    ],
)
def test_a_bump_test_entered_after_a_reading_lets_nothing_go(
    bumped: str, on: str, hour: dt.time | None
) -> None:
    shelf = acting.shelf(station=station(ALARM, ANSWER, bumped=bumped))
    people = books.SETTINGS.replace("people:\n", "people:\n  JW: {role: counter}\n")
    shelf.texts["tankbook.yaml"] = people
    said = {"at": hour, "on": dt.date.fromisoformat(on)}
    if FAIL in bumped:
        said["repaired"] = "a new cell"
    told = shelf.refuse(bump_tested, "CO-1", by="JW", **said)
    assert "it would prove what was read before it was entered (2026-11-24)" in told
    assert "unanswered is the alarm of 2026-11-24 10:00: JW had no valid inspector" in told
    # what came after the reading proves nothing of it, and is for anybody to enter
    shelf.do(bump_tested, "CO-1", at=dt.time(13), by="JW", on=dt.date(2026, 11, 24))
    assert co_alarms(shelf.book)[0].answer is None
    shelf.do(bump_tested, "CO-1", by="MV", **said)  # somebody certified says that it was forgotten
    assert co_alarms(shelf.book)[0].answer is not None


def test_a_bump_test_is_set_to_before_a_reading_by_somebody_certified_alone() -> None:
    # the station is shut besides: it stays so, and the alarm is answered all the same
    shut = '{on: 2026-11-25, at: "09:00", alarm: yes, co: 40 ppm, place: outlet, with: CO-1}'
    shelf = acting.shelf(station=station(ALARM, ANSWER, shut, bumped=LATE))
    people = books.SETTINGS.replace("people:\n", "people:\n  JW: {role: counter}\n")
    shelf.texts["tankbook.yaml"] = people
    wrong = Wrong("CO-1.bumped", "2026-11-24", why="typed amiss", changes={"at": "11:00"})
    told = shelf.refuse(correct, "station", wrong, by="JW", on=TODAY, now=NOW)
    assert "it says that unanswered is the alarm of 2026-11-24 10:00" in told
    shelf.do(correct, "station", wrong, now=NOW, **DAY)


@pytest.mark.parametrize(("isolator", "held"), [("open", False), ("shut", True)])
def test_a_set_is_analysed_as_one_where_its_isolator_is_open(isolator: str, held: bool) -> None:
    cards = {"A": with_lines(GOOD), "B": with_lines(GOOD, serial="K2")}
    sets = {"D": f"cylinders: [A, B]\nisolator: {isolator}"}
    log = fill("2026-11-24T09", "D", source="C1")
    alone = make_book(cards, sets=sets, log=log, station=station(ALARM))
    assert all(is_held(alone, side) for side in "AB")
    book = make_book(cards, sets=sets, log=log, station=station(ALARM, of("D")))
    assert all(is_held(book, side) is held for side in "AB")


def test_who_opens_the_station_is_told_what_an_alarm_holds() -> None:
    text = station(ALARM, ANSWER, bank=RAISED) + "opening: {steps: [drains]}\n"
    told = opened(acting.shelf(station=text).book, **DAY)
    assert "nothing is filled from bank B1 until analysed" in told.notes  # type: ignore[union-attr]
    cleared = station(ALARM, ANSWER, of("B1"), bank=RAISED) + "opening: {steps: [drains]}\n"
    told = opened(acting.shelf(station=cleared).book, **DAY)
    assert "analysed" not in " ".join(told.notes)  # type: ignore[union-attr]


LONG_AGO = ALARM.replace("2026-11-24", "2025-01-10")
AND_ANSWER = ANSWER.replace("2026-11-24", "2025-01-10")
SINCE = ", {on: 2025-01-09}, {on: 2026-11-23}"
PUMPED_THEN = ", readings: [{on: 2024-12-01, pressure: 1000 psi}]"
PUMPED_THEN += ', raised: [{on: 2025-01-10, at: "11:00", from: 1000 psi, to: 4400 psi, source: C1}]'


@pytest.mark.parametrize(
    ("readings", "bank", "tests", "held"),
    [
        ([LONG_AGO, AND_ANSWER], "", "", False),  # nobody ever read the bank
        ([LONG_AGO, AND_ANSWER], OLD, "", False),  # first read long after it
        ([LONG_AGO, AND_ANSWER], PUMPED_THEN, "", True),  # known to be of it
        ([LONG_AGO], "", "", True),  # nothing answered it
        # the time of an air test was not up since, or what was sampled then leaves it open
        ([ALARM.replace("11-24", "09-01"), ANSWER.replace("11-24", "09-01")], "", "", True),
        ([LONG_AGO, AND_ANSWER], "", ", {on: 2026-10-12, void: {on: 2026-10-13}}", True),
        ([LONG_AGO, AND_ANSWER], "", "no co", True),
    ],
)
def test_of_an_old_alarm_a_bank_that_nobody_read_is_not_asked_for_ever(
    readings: list[str], bank: str, tests: str, held: bool
) -> None:
    """As of a sample that failed: `is_stale` has the same time."""
    bumped = "{on: 2025-01-09}, {on: 2026-08-31}, {on: 2026-11-23}"
    text = station(*readings, bank=bank, bumped=bumped)
    if tests == "no co":
        text = text.replace(", co: 1 ppm, source: C1}]", ", source: C1}]")
    elif tests:
        text = text.replace("on: 2026-10-12, by", "on: 2025-03-01, by")
    book = book_of(fill("2026-11-20", source="B1"), text=text)
    assert is_held(book) is held
    assert banks_held(book) == (["B1"] if held else [])


B2 = "}, " + BANKS.replace("B1", "B2")[:-3] + ", readings: [{on: 2026-10-11, pressure: 4000 psi}]"


@pytest.mark.parametrize(
    ("source", "on", "held"),
    [
        ("C1", "2026-10-11", False),
        ("B2", "2026-10-11", False),
        ("B1", "2026-10-11", True),
        ("C1", "2026-10-13", True),
        ("B2", "2026-11-20", True),
    ],
)
def test_a_bank_over_the_limit_says_nothing_of_what_was_given_before_the_last_good_sample(
    source: str, on: str, held: bool
) -> None:
    """What C1 and B2 gave before C1's good sample of 12 October is no part of what B1 holds."""
    book = book_of(fill(on, source=source), text=station(of("B1", "40 ppm"), bank=B2))
    assert is_held(book) is held


OVER = of("A", "40 ppm")


@pytest.mark.parametrize(
    ("log", "readings", "held"),
    [
        ([], [OVER], True),  # nobody logged how it was filled
        ([], [OVER, of("A", hour="14:00")], True),  # it gets no better as it lies
        ([line("2026-11-24T12", "drain", to="0 psi")], [OVER], True),  # emptied before
        ([line("2026-11-24T14", "drain", to="0 psi")], [OVER], False),
        ([fill("2026-11-25", from_="0 bar")], [OVER], False),
    ],
)
def test_a_cylinder_over_the_limit_is_held_though_no_fill_of_it_is_logged(
    log: list[str], readings: list[str], held: bool
) -> None:
    assert is_held(book_of(*log, text=station(*readings, *LATE_ANSWER))) is held


LATE_ANSWER = [ANSWER.replace("12:00", "15:00")]


@pytest.mark.parametrize(
    ("log", "use", "alarm"),
    [
        ([], "customer", False),
        ([], "rental", True),
        ([fill("2026-11-20", source="elsewhere: Quay")], "rental", False),
        ([fill("2026-11-20", source="elsewhere: Quay + C1")], "rental", True),
        ([fill("2026-11-20", source="C1")], "customer", True),
        ([fill("2026-11-20")], "customer", True),
        # what was in it as it was last empty is gone
        (
            [
                fill("2026-11-18", source="C1"),
                line("2026-11-19", "drain", to="0 psi"),
                fill("2026-11-20", source="elsewhere: Quay"),
            ],
            "rental",
            False,
        ),
    ],
)
def test_what_others_filled_is_held_itself_and_tells_nothing_of_the_station(
    log: list[str], use: str, alarm: bool
) -> None:
    cards = {"A": with_lines(GOOD, use=use), "B": with_lines(GOOD, serial="K2")}
    book = make_book(
        cards, log="\n".join([*log, fill("2026-11-21", "B", source="C1")]), station=station(OVER)
    )
    assert is_held(book)
    assert bool(co_alarms(book)) is alarm
    assert is_held(book, "B") is alarm
    assert banks_held(book) == (["B1"] if alarm else [])


EARLY = ALARM.replace("11-24", "11-20")
EARLY_ANSWER = ANSWER.replace("11-24", "11-21")
ASIDE = ", held: [{on: 2026-11-24, %swhy: %s}]"


@pytest.mark.parametrize(
    ("at", "why", "tests", "readings", "out"),
    [
        ("11:00", "recall of C1", "", [ALARM, ANSWER], True),
        ("11:00", "recall of C1", "", [ALARM, ANSWER, of("B1")], False),
        ("", "recall of C1", "", [ALARM, ANSWER, of("B1")], True),  # nobody says which was first
        ("", "recall of C1", "", [ALARM, ANSWER, of("B1", on="2026-11-25")], False),
        ("14:00", "recall of C1", "", [ALARM, ANSWER, of("B1")], True),
        ("11:00", "recall of C1", "", [ALARM, ANSWER, of("B1", "30 ppm")], True),
        ("11:00", "recall of C1, oil in the air", "", [ALARM, ANSWER, of("B1")], True),
        # a sample that failed asks for more; so does a recall for what nothing on record tells
        ("11:00", "recall of C1", ", {on: 2026-11-24, by: Lab, result: fail, source: C1}",
         [ALARM, ANSWER, of("B1")], True),
        ("11:00", "recall of C1", "", [of("B1")], True),
        ("11:00", "recall of C1", "", [EARLY, EARLY_ANSWER, of("B1")], True),
    ],
)  # fmt: skip
def test_a_bank_that_was_set_aside_for_an_alarm_is_opened_by_its_analysis(
    at: str, why: str, tests: str, readings: list[str], out: bool
) -> None:
    hour = f'at: "{at}", ' if at else ""
    bank = OLD + ASIDE % (hour, f'"{why}"')
    book = book_of(
        text=station(
            *readings,
            bank=bank,
            tests=tests,
            bumped=f"{{on: 2026-11-21}}, {BUMPED}, {{on: 2026-11-25}}",
        )
    )
    held = banks_held_aside(book, TODAY)
    assert [h.name for h in held] == (["B1"] if out else [])
    asked = [h for h in held if "analysis of it for carbon monoxide" in h.opens]
    assert all("`tankbook station co CO --with CO-1 --of B1`" in h.opens for h in asked)


SAMPLED: dict[str, tuple[str, bool]] = {
    "none": ("", True),
    "measured it": (", co: 1 ppm", False),
    "measured it and more": (", co: 1 ppm, co2: 400 ppm", False),
    "the laboratory's word for all": ("-", False),
    "measured another thing alone": (", co2: 400 ppm", True),
    "smelt at alone": (", odour: none", True),
}


@pytest.mark.parametrize("name", SAMPLED)
@pytest.mark.parametrize("bad", ["alarm", "sample"])
def test_a_sample_that_left_out_what_was_bad_later_says_nothing_of_it(bad: str, name: str) -> None:
    more, held = SAMPLED[name]
    good = f"{{on: 2026-11-22, standard: cga-grade-e, result: pass, source: C1{more.strip('-')}}}"
    failed = "{on: 2026-11-24, standard: cga-grade-e, result: fail, source: C1, co: 40 ppm}"
    tests = (f", {good}" if more else "") + (f", {failed}" if bad == "sample" else "")
    text = station(*([ALARM] if bad == "alarm" else []), tests=tests)
    filled = fill("2026-11-20", source="C1")
    book = book_of(filled, text=text)
    assert (bad_air_of(book, book.cylinders["A"]) is not None) is held
    assert ("A" in {s.id for s in by_source(book, "C1", TODAY).suspects}) is held


@pytest.mark.parametrize(
    ("filled", "hour", "certain"),
    [
        ("2026-10-12T09", "", False),  # of the day of the sample, whose hour nobody says
        ("2026-10-12T09", "08:00", True),
        ("2026-10-12T09", "10:00", None),
        ("2026-10-11T09", "", None),
        ("2026-10-13T09", "", True),
    ],
)
def test_of_the_day_of_the_good_sample_an_alarm_asks_the_hours(
    filled: str, hour: str, certain: bool | None
) -> None:
    text = station(ALARM).replace("on: 2026-10-12, by", f"on: 2026-10-12, at: '{hour}', by")
    text = text.replace("at: '', ", "")
    made = book_of(fill(filled, source="C1"), text=text)
    bad = bad_air_of(made, made.cylinders["A"])
    assert (bad.certain if bad else None) is certain
    recalled = {s.id for s in by_source(made, "C1", TODAY).suspects}
    assert ("A" in recalled) is (certain is not None)


@pytest.mark.parametrize("bad", [ALARM, ALARM.replace("alarm: yes, ", "")])
def test_a_sample_of_before_an_alarm_lets_nothing_go_by_word_alone(bad: str) -> None:
    shelf = acting.shelf(station=station(bad))
    shelf.texts["fills/2026.csv"] = (
        "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
        "2026-11-20T09:00:00+00:00,RB-014,fill,500 psi,3000 psi,70 degF,air,,,MV,,C1,,,,\n"
    )
    said: dict[str, Any] = {"source": "C1", "co": ppm(1), "result": TestResult.PASS}
    said |= {"today": TODAY, "by": "Lab"}
    # one of before that fill lets nothing go, and is for anybody to enter
    shelf.do(sampled, on=dt.date(2026, 11, 19), **said)
    assert bad_air_of(shelf.book, shelf.book.cylinders["RB-014"]) is not None
    told = shelf.refuse(sampled, on=dt.date(2026, 11, 22), **said)
    assert "it was drawn before 2026-11-24, when the air was bad" in told
    assert "there is bad air in RB-014: the laboratory's paper says it, --certificate FILE" in told
    # the paper that came late does, and a sample of today needs none
    shelf.do(sampled, on=TODAY, **said)
    paper = Certificate(name="lab.pdf", sha256="0" * 64)
    shelf.do(sampled, on=dt.date(2026, 11, 22), certificate=paper, **said)
    assert bad_air_of(shelf.book, shelf.book.cylinders["RB-014"]) is None


def emptied(hour: str, raised: str, source: str = "C1") -> str:
    """A bank that was read empty on the day of the answer, and raised then."""
    timed = f', at: "{hour}"' if hour else ""
    then = f', at: "{raised}"' if raised else ""
    text = f", readings: [{{on: 2026-10-01, pressure: 4000 psi}}, {{on: 2026-11-24{timed}, pressure: 0 psi}}]"
    more = f"{{on: 2026-11-24{then}, from: 0 psi, to: 4000 psi, source: {source}}}"
    return f"{text}, raised: [{{on: 2026-11-20, to: 4400 psi, source: C1}}, {more}]"


@pytest.mark.parametrize(
    ("bank", "answer", "held"),
    [
        (emptied("12:30", "13:30"), ANSWER, False),
        (emptied("12:30", ""), ANSWER, False),
        # before the answer, or of its minute, or nobody says when
        (emptied("11:30", "13:30"), ANSWER, True),
        (emptied("12:00", "13:30"), ANSWER, True),
        (emptied("", "13:30"), ANSWER, True),
        (emptied("12:30", "13:30"), ANSWER.replace('at: "12:00", ', ""), True),
        (emptied("12:30", "13:30"), "", True),
    ],
)
def test_a_bank_emptied_after_the_answer_of_that_day_comes_back(
    bank: str, answer: str, held: bool
) -> None:
    readings = [ALARM, *filter(None, [answer])]
    book = book_of(text=station(*readings, bank=bank))
    assert banks_held(book) == (["B1"] if held else [])
    # what it gave before that on the day is of the air of before
    if answer == ANSWER:
        for hour, bad in (("2026-11-24T12", True), ("2026-11-24T14", held)):
            later = book_of(fill(hour, source="B1"), text=station(*readings, bank=bank))
            assert is_held(later) is bad


def test_a_bank_raised_from_another_on_the_day_of_the_answer_holds_what_that_held() -> None:
    two = (
        BANKS % ", readings: [{on: 2026-10-01, pressure: 4000 psi}], raised: [{on: 2026-11-24, at: "
    )
    two = two.replace("B1", "B2")[:-1] + '"10:30", from: 100 psi, to: 4400 psi, source: C1}]}'
    text = station(ALARM, ANSWER, bank=emptied("12:30", "13:30", "B2"))
    text = text.replace("banks: [", f"banks: [{two}, ")
    assert banks_held(book_of(text=text)) == ["B2", "B1"]


BUMP_FAILED = 'result: fail, note: "shows 38 ppm in clean air"'
FAILED_THEN = f'{{on: 2026-11-23}}, {{on: 2026-11-24, at: "10:20", {BUMP_FAILED}}}'
MENDED_THEN = f'{FAILED_THEN}, {{on: 2026-11-24, at: "11:00", repaired: a new cell}}'
SHOWN_FALSE = ANSWER.replace("cause: a van", "kind: instrument, cause: cell drifted")
OF_GAS = ANSWER.replace("cause: a van", "kind: test-gas, cause: gas of the bump test")
BUMPED_THEN = '{on: 2026-11-23}, {on: 2026-11-24, at: "09:50"}'
TWO_MONITORS = "instruments: [{name: CO-2, kind: co-monitor, bumped: [{on: 2026-11-24}]}, "
CHANGED = "filters: [{name: F1, life: 50 h, changed: [{on: 2026-11-24, at: 400 h}]}]\n"
DRAINED = "upkeep: [{name: drains, what: drains, every: 1 month, done: [{on: 2026-11-24}]}]\n"
OILED = DRAINED.replace("drains", "oil")


@pytest.mark.parametrize(
    ("bumped", "answer", "more", "held"),
    [
        # the monitor failed, and its repair or another reads well on the day of the alarm
        (MENDED_THEN, SHOWN_FALSE, "", False),
        (FAILED_THEN, SHOWN_FALSE.replace("CO-1", "CO-2"), "two", False),
        ("{on: 2026-11-22}, {on: 2026-11-23, result: fail, note: reads high},"
         '{on: 2026-11-24, at: "11:00", repaired: a cell}', SHOWN_FALSE, "", False),
        (MENDED_THEN, SHOWN_FALSE, DRAINED, False),
        # of a later day: nobody read the air of that day
        (f"{FAILED_THEN}, {{on: 2026-11-25, repaired: a cell}}",
         SHOWN_FALSE.replace("2026-11-24", "2026-11-25"), "", True),
        # what changes the air was done that day, and nobody knows that it was after the reading
        (MENDED_THEN, SHOWN_FALSE, CHANGED, True),
        (MENDED_THEN, SHOWN_FALSE, OILED, True),
        # nobody says that it was the instrument
        (MENDED_THEN, ANSWER, "", True),
        (MENDED_THEN, SHOWN_FALSE.replace("instrument", "intake, done: moved the van"), "", True),
        # it failed of something that lets no alarm sound, or passed first and failed then
        (MENDED_THEN.replace("shows 38 ppm in clean air", "dead"), SHOWN_FALSE, "", True),
        (MENDED_THEN.replace("shows 38 ppm in clean air", "reads low"), SHOWN_FALSE, "", True),
        (f'{BUMPED_THEN}, {{on: 2026-11-24, at: "11:00", repaired: a cell}}', SHOWN_FALSE, "", True),
        (MENDED_THEN.replace("}, {on: 2026-11-24", '}, {on: 2026-11-24, at: "10:10"}, {on: 2026-11-24', 1),
         SHOWN_FALSE, "", True),
        # another reading of that day was over the limit
        (MENDED_THEN, f"{at('11:30', 'co: 30 ppm, place: outlet')}, {SHOWN_FALSE}", "", True),
        # the alarm does not say which of two monitors it was
        (FAILED_THEN, SHOWN_FALSE.replace("CO-1", "CO-2"), "two, unsaid", True),
        # the gas of a bump test, by the hours of both
        (BUMPED_THEN, OF_GAS, "", False),
        (BUMPED_THEN, OF_GAS, CHANGED, False),
        (BUMPED_THEN, OF_GAS.replace("2026-11-24", "2026-11-25"), "", False),
        (BUMPED_THEN.replace("09:50", "08:00"), OF_GAS, "", True),
        (BUMPED_THEN.replace(', at: "09:50"', ""), OF_GAS, "", True),
        (BUMPED_THEN, OF_GAS.replace("CO-1", "CO-9"), "", True),
    ],
)  # fmt: skip
def test_an_alarm_that_was_false_by_record_holds_nothing(
    bumped: str, answer: str, more: str, held: bool
) -> None:
    alarm = ALARM.replace(", with: CO-1", "") if "unsaid" in more else ALARM
    text = station(alarm, answer, bumped=bumped, bank=RAISED)
    text = text.replace("instruments: [", TWO_MONITORS) if "two" in more else text + more
    log = [fill("2026-11-24T09", source="B1"), fill("2026-11-24T09", "B", source="C1")]
    book = book_of(*log, text=text)
    assert is_held(book) is held
    assert is_held(book, "B") is held
    assert set(banks_held(book)) == ({"B1"} if held else set())


@pytest.mark.parametrize(
    ("bumped", "kind", "on", "told"),
    [
        (MENDED_THEN, CoCause.INSTRUMENT, "2026-11-25", "no proved reading of 2026-11-24, after it, is of c1"),
        (MENDED_THEN, CoCause.INSTRUMENT, "2026-11-24", ""),
        (MENDED_THEN.replace("shows 38 ppm in clean air", "dead"), CoCause.INSTRUMENT, "2026-11-24",
         "CO-1 did not fail its next bump test by sounding of what is not there"),
        (BUMPED_THEN.replace(', at: "09:50"', ""), CoCause.TEST_GAS, "2026-11-24",
         "no bump test of CO-1 is on record with its hour within 30 minutes of"),
        (BUMPED_THEN, CoCause.TEST_GAS, "2026-11-24", ""),
    ],
)  # fmt: skip
def test_who_says_that_an_alarm_was_false_is_told_what_is_wanting(
    bumped: str, kind: CoCause, on: str, told: str
) -> None:
    shelf = acting.shelf(station=station(ALARM, bumped=bumped, bank=RAISED))
    said = {
        "instrument": "CO-1",
        "place": CoPlace.OUTLET,
        "kind": kind,
        "cause": "it sounded alone",
    }
    day = {"at": dt.time(12), "by": "MV", "on": dt.date.fromisoformat(on)}
    notes = " ".join(shelf.do(carbon_monoxide, ppm(1), **said, **day).notes)
    assert "the station is open again" in notes
    assert told in notes
    assert ("what was filled is held all the same" in notes) is bool(told)


def test_what_was_set_aside_for_a_false_alarm_is_let_go() -> None:
    aside = 'held: [{on: 2026-11-24, recall: yes, why: "recall of C1"}]'
    cards = {"A": with_lines(GOOD, status="held", held=aside.removeprefix("held: "))}
    log = fill("2026-11-24T09", source="C1")
    bank = OLD + f", {aside.replace('recall: yes, ', '')}"
    for answer, let_go in ((SHOWN_FALSE, True), (ANSWER, False)):
        text = station(ALARM, answer, bank=bank, bumped=MENDED_THEN)
        book = make_book(cards, log=log, station=text)
        card = book.cylinders["A"]
        assert (not [*kept_back(book, card, card.held[0])]) is let_go
        assert (not banks_held_aside(book, TODAY)) is let_go


@pytest.mark.parametrize(
    ("day", "read", "analysed", "held"),
    [
        ("2026-11-21", "2026-11-25", True, False),
        ("2026-11-24", "2026-11-25", True, False),
        ("2026-11-24", "2026-11-25", False, True),
        ("2026-11-24", "2026-11-24", True, True),  # nobody knows that it was not pumped since
        ("2026-11-25", "2026-11-25", True, True),  # of that day nobody knows which was first
    ],
)
def test_a_bank_analysed_later_lets_go_what_came_of_it(
    day: str, read: str, analysed: bool, held: bool
) -> None:
    """Where the air was read well only a day after a false alarm, as is told."""
    mended = f'{FAILED_THEN}, {{on: 2026-11-25, at: "07:00", repaired: a new cell}}'
    answer = SHOWN_FALSE.replace("2026-11-24", "2026-11-25")
    bank = RAISED.replace("4000 psi}]", f"4000 psi}}, {{on: {read}, pressure: 4300 psi}}]")
    last = [of("B1", on="2026-11-25")] if analysed else []
    log = [fill(f"{day}T09", id_, source="B1") for id_ in "AB"]
    text = station(ALARM, answer, *last, bumped=mended, bank=bank)
    book = book_of(*log, text=text)
    assert [is_held(book, id_) for id_ in "AB"] == [held, held]
    if not analysed:
        shelf = acting.shelf(station=text)
        shelf.texts["fills/2026.csv"] = (
            "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
            "2026-11-24T09:00:00+00:00,RB-014,fill,500 psi,3000 psi,70 degF,air,,,MV,,B1,,,,\n"
        )
        act = shelf.do(carbon_monoxide, ppm(40), alarm=True, at=dt.time(10), **DAY)
        assert "(`tankbook station read B1=PRESSURE`), lets go what came of it" in str(act.notes)
