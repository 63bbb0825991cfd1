"""What may go out, which goes first, and whether the bookings ahead can be met."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, TODAY, make_book, with_lines
from changing import replace

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.log import Booking
from tankbook.rules.bookings import booked_hours, days_ahead, rental_board
from tankbook.rules.rental import against_going_out, first_lapse, lent, to_send

AIR, NITROX = Gas.parse("air"), Gas.parse("nitrox32")
FULL = "at=2026-11-{day:02}T10:00:00+00:00; cylinder={id}; act=fill; to=3000 psi; temperature=70 degF; gas=air; by=MV; source=B1"


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def rack(count: int = 3, log: str | None = None, **changes: str | None) -> Book:
    """A, B, C ... of one size, filled on the 10th, 11th, 12th unless said otherwise."""
    names = "ABCDEFGH"[:count]
    cards = {
        n: with_lines(GOOD, serial=f"K{i}", size="al80", **changes) for i, n in enumerate(names)
    }
    full = "\n".join(FULL.format(id=n, day=10 + i) for i, n in enumerate(names))
    return make_book(cards, log=full if log is None else log)


def booked(book: Book, *rows: tuple[str, str, int] | tuple[str, str, int, str]) -> Book:
    """The book with bookings: day, reference, count, and a gas where one is wanted."""
    lines = tuple(
        Booking(date=day(row[0]), reference=row[1], use="rental", size="al80", count=row[2],
                gas=Gas.parse(row[3]) if len(row) > 3 else None)
        for row in rows
    )  # fmt: skip
    return replace(book, bookings=lines)


# --- may it go out?


def test_a_full_cylinder_in_date_may_go_out() -> None:
    assert against_going_out(rack(), "A", TODAY, TODAY) == ()


@pytest.mark.parametrize(
    ("until", "goes"),
    [("2027-02-08", True), ("2027-02-09", True), ("2027-02-10", False), ("2027-06-01", False)],
)
def test_what_lapses_during_the_rental_does_not_go(until: str, goes: bool) -> None:
    """The visual of 9 Feb 2026 holds to 9 Feb 2027 by the shipped US rows."""
    reasons = against_going_out(rack(), "A", TODAY, day(until))
    assert (reasons == ()) is goes
    if not goes:
        assert reasons == (
            f"its visual lapses after 2027-02-09, and it would be out until {until}",
        )


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"use": "sale"}, "it is kept for sale, not for rental"),
        ({"use": None}, "what it is kept for is not recorded (`use:`)"),
        ({"status": "held", "held": "[{on: 2026-11-01, by: MV, why: dent}]"}, "it is held: dent"),
        ({"rented": "[{on: 2026-11-24, to: B-9}]", "status": "out"}, "it is out"),
        (
            {"rented": "[{on: 2026-11-01, to: B-9, back: 2026-11-02, valve: open}]"},
            "it came back with its valve open on 2026-11-02 and has not been looked inside since",
        ),
    ],
)
def test_what_keeps_a_cylinder_in(changes: dict[str, str | None], said: str) -> None:
    assert said in against_going_out(rack(**changes), "A", TODAY, TODAY)


def test_what_nobody_knows_the_contents_of_stays_in() -> None:
    (reason,) = against_going_out(rack(log=""), "A", TODAY, TODAY)
    assert reason.startswith("what it holds is not on record")


def test_what_was_emptied_is_said_to_be_empty() -> None:
    looked = "[{on: 2026-02-09, by: MV, checklist: annual, result: pass}, {on: 2026-11-25, by: MV, checklist: annual, result: pass}]"
    (reason,) = against_going_out(rack(inspected=looked), "A", TODAY, TODAY)
    assert reason == "it is on record as empty since 2026-11-25: fill it first"


def test_another_gas_than_wanted_stays_in() -> None:
    assert "it holds air, and nitrox32 is wanted" in against_going_out(
        rack(), "A", TODAY, TODAY, NITROX
    )


def doubles(lapsed: bool = False, **keys: str) -> Book:
    """A set D of A and B, filled together; B lapses in Nov 2026 where asked."""
    cards = {n: with_lines(GOOD, serial=f"K{n}", size="al80") for n in "AB"}
    if lapsed:
        cards["B"] = cards["B"].replace("2026-02-09", "2025-11-30")
    given = "".join(f"\n{k}: {v}" for k, v in {"use": "rental", **keys}.items())
    sets = {"D": f"cylinders: [A, B]{given}"}
    return make_book(cards, sets=sets, log=FULL.format(id="D", day=10))


def test_one_side_of_doubles_does_not_go_out_alone() -> None:
    assert against_going_out(doubles(), "D", TODAY, TODAY) == ()
    assert against_going_out(doubles(), "A", TODAY, TODAY) == (
        "it is one side of D: the two go out as one",
    )


def test_either_side_that_lapses_keeps_doubles_in() -> None:
    (reason,) = against_going_out(doubles(lapsed=True), "D", TODAY, day("2026-12-01"))
    assert reason.startswith("B: its visual lapses after 2026-11-30")
    lapse = first_lapse(doubles(lapsed=True), "D", TODAY)
    assert lapse is not None
    assert (lapse.id, lapse.last_day) == ("B", day("2026-11-30"))


def test_doubles_that_are_out_do_not_go_again() -> None:
    book = doubles(rented="[{on: 2026-11-24, to: B-9}]")
    assert "it is out to B-9 since 2026-11-24" in against_going_out(book, "D", TODAY, TODAY)
    assert [each.id for each in lent(book, TODAY)] == ["D"]


# --- which to send


def test_oldest_contents_go_first() -> None:
    assert [c.id for c in to_send(rack(), TODAY, TODAY)] == ["A", "B", "C"]


def test_fewest_fills_go_first_where_contents_are_of_one_day() -> None:
    log = "\n".join(
        [
            FULL.format(id="A", day=1),
            *(FULL.format(id=n, day=10) for n in "AB"),
            FULL.format(id="C", day=9),
        ]
    )
    chosen = to_send(rack(log=log), TODAY, TODAY)
    assert [(c.id, c.fills) for c in chosen] == [("C", 1), ("B", 1), ("A", 2)]
    assert chosen[-1].why == "filled 2026-11-10, 2 fills"


def test_what_is_not_full_or_of_another_size_or_gas_is_not_chosen() -> None:
    used = "at=2026-11-20T10:00:00+00:00; cylinder=A; act=reading; to=1200 psi; by=MV"
    log = "\n".join([FULL.format(id="A", day=10), FULL.format(id="B", day=11), used])
    book = rack(log=log)
    assert [c.id for c in to_send(book, TODAY, TODAY)] == ["B"]
    assert to_send(book, TODAY, TODAY, size="hp100") == ()
    assert to_send(book, TODAY, TODAY, gas=NITROX) == ()


# --- the days ahead


def test_a_day_is_met_with_what_is_ready_and_what_can_be_filled() -> None:
    log = "\n".join(FULL.format(id=n, day=10) for n in "AB")
    (ahead,) = days_ahead(booked(rack(4, log), ("2026-11-28", "B-1", 5)), TODAY)
    (want,) = ahead.wants
    assert (want.ready, want.to_fill, want.short) == (2, 2, 1)


def test_bookings_of_one_day_share_what_is_there() -> None:
    book = booked(rack(3), ("2026-11-28", "B-1", 2), ("2026-11-28", "B-2", 2))
    (ahead,) = days_ahead(book, TODAY)
    assert [w.short for w in ahead.wants] == [0, 1]
    assert ahead.short == 1


def test_each_day_has_the_whole_rack_again() -> None:
    book = booked(rack(3), ("2026-11-28", "B-1", 3), ("2026-11-29", "B-2", 3))
    assert [d.short for d in days_ahead(book, TODAY)] == [0, 0]


@pytest.mark.parametrize(
    ("rental", "on_the_28th"),
    [
        ("{on: 2026-11-24, to: B-9, until: 2026-11-27}", 3),
        ("{on: 2026-11-24, to: B-9, until: 2026-11-28}", 2),
        ("{on: 2026-11-20, to: B-9, until: 2026-11-23}", 2),
        ("{on: 2026-11-20, to: B-9}", 2),
        ("{on: 2026-11-20, to: B-9, back: 2026-11-21}", 3),
    ],
    ids=["back before", "back that day", "late", "no day", "back"],
)
def test_what_is_out_counts_from_the_day_after_it_is_due_back(
    rental: str, on_the_28th: int
) -> None:
    book = rack(3)
    status = "in-service" if "back" in rental else "out"
    card = with_lines(GOOD, serial="K0", size="al80", status=status, rented=f"[{rental}]")
    out = make_book({"A": card}).cylinders["A"]
    book = replace(book, cylinders={**book.cylinders, "A": out})
    (ahead,) = days_ahead(booked(book, ("2026-11-28", "B-1", 3)), TODAY)
    assert ahead.wants[0].ready + ahead.wants[0].to_fill == on_the_28th


def test_what_is_out_of_date_by_then_is_not_counted() -> None:
    book = booked(rack(1), ("2027-02-09", "B-1", 1), ("2027-02-10", "B-1", 1))
    assert [d.short for d in days_ahead(book, TODAY)] == [0, 1]


def test_what_went_out_to_the_reference_already_is_not_wanted_again() -> None:
    book = booked(rack(3), ("2026-11-25", "B-1", 3))
    card = with_lines(
        GOOD, serial="K0", size="al80", status="out", rented="[{on: 2026-11-25, to: B-1}]"
    )
    out = make_book({"A": card}).cylinders["A"]
    book = replace(book, cylinders={**book.cylinders, "A": out})
    (ahead,) = days_ahead(book, TODAY)
    assert (ahead.wants[0].taken, ahead.wants[0].ready, ahead.short) == (1, 2, 0)


def test_nitrox_is_served_before_air_takes_the_nitrox_cylinders() -> None:
    book = rack(2)
    card = with_lines(
        GOOD, serial="K9", size="al80", service="nitrox", cleaned="[{on: 2026-02-09, to: nitrox}]"
    )
    clean = make_book({"N": card}).cylinders["N"]
    book = replace(book, cylinders={**book.cylinders, "N": clean})
    both = booked(book, ("2026-11-28", "B-1", 2, "air"), ("2026-11-28", "B-2", 1, "nitrox32"))
    assert days_ahead(both, TODAY)[0].short == 0


def test_held_cylinders_and_past_days_are_left_out() -> None:
    held = rack(1, status="held", held="[{on: 2026-11-01, by: MV, why: dent}]")
    assert days_ahead(booked(held, ("2026-11-28", "B-1", 1)), TODAY)[0].short == 1
    assert days_ahead(booked(held, ("2026-11-24", "B-1", 1)), TODAY) == ()


# --- the board


def test_the_board_tells_out_back_today_and_late() -> None:
    rentals = {
        "A": "{on: 2026-11-24, to: B-1, until: 2026-11-25}",
        "B": "{on: 2026-11-20, to: B-2, until: 2026-11-23}",
        "C": "{on: 2026-11-20, to: B-3, until: 2026-11-30}",
        "D": "{on: 2026-11-24, to: B-4, back: 2026-11-25, pressure: 0 psi, valve: open}",
    }
    cards = {
        n: with_lines(
            GOOD, serial=f"K{n}", rented=f"[{r}]", status="in-service" if "back" in r else "out"
        )
        for n, r in rentals.items()
    }
    board = rental_board(make_book(cards), TODAY)
    assert [e.id for e in board.out] == ["B", "A", "C"]
    assert [e.id for e in board.back_today] == ["A"]
    assert [e.id for e in board.late] == ["B"]
    (back,) = board.came_back
    assert (back.id, str(back.pressure), back.valve) == ("D", "0 psi", "open")


# --- the hours of a day


def at_hours(book: Book, *rows: tuple[str, str | None, str | None, int, str]) -> Book:
    """The book with bookings of today: reference, hour, size, count, gas."""
    lines = tuple(
        Booking(date=TODAY, reference=ref, size=size, count=count, gas=Gas.parse(gas),
                at=dt.time.fromisoformat(at) if at else None)
        for ref, at, size, count, gas in rows
    )  # fmt: skip
    return replace(book, bookings=lines)


def test_the_earliest_booking_takes_its_cylinders_first() -> None:
    """Told in the order of the file; who is not in the queue, or of another gas, is left out."""
    book = at_hours(
        rack(5, log=""),
        ("late", "11:00", None, 2, "air"),
        ("never", None, "al80", 9, "air"),
        ("early", "09:00", "al80", 2, "air"),
        ("other", "08:00", "hp100", 1, "air"),
        ("rich", "08:00", "al80", 1, "nitrox32"),
    )
    for queue in ("ABDE", "EDBA"):
        found = booked_hours(book, TODAY, AIR, queue)
        assert [(each.reference, each.ids, each.missing) for each in found] == [
            ("late", ("D", "E"), 0),
            ("never", (), 9),
            ("early", ("A", "B"), 0),
            ("other", (), 1),
        ]
    assert booked_hours(book, TODAY + dt.timedelta(days=1), AIR, "ABDE") == ()


def test_what_stands_ready_or_is_not_lent_is_not_filled_for_a_booking() -> None:
    book = at_hours(rack(3), ("B-1", "09:00", "al80", 2, "air"))
    assert booked_hours(book, TODAY, AIR, "C") == ()
    (one,) = booked_hours(book, TODAY, AIR, "BC")  # in the queue it is not full
    assert (one.wanted, one.ids) == (1, ("B",))
    sold = rack(3, log="", use="sale")
    (one,) = booked_hours(replace(sold, bookings=book.bookings), TODAY, AIR, "ABC")
    assert (one.ids, one.missing) == ((), 2)
