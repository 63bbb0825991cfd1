"""A fill sheet keyed in: each row by itself, the rest never lost."""

from __future__ import annotations

import datetime as dt

import books
import pytest
from acting import TODAY, Shelf, shelf

from tankbook.acts.correct import Wrong, correct
from tankbook.acts.fill_request import Filling
from tankbook.acts.fill_sheet import Keyed, Row, key_in
from tankbook.ledger.apply import changes_of
from tankbook.records.edits import Act, Refusal

ZONE = dt.timezone(dt.timedelta(hours=1))
MIDNIGHT = dt.datetime(2026, 11, 25, tzinfo=ZONE)
HOW = Filling(by="MV", looked=True, source="B1")
STATION = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass}
regulator_set: 3000 psi
"""


def lake(**changes: str) -> Shelf:
    made = shelf(**changes)
    made.texts["station.yaml"] = STATION
    made.texts["sets/DB-02.yaml"] = "cylinders: [RB-015, RB-016]\nisolator: open\nuse: rental\n"
    return made


def keyed(made: Shelf, *rows: str, how: Filling = HOW) -> Keyed:
    """Rows as `cylinder time from to` with `key=value` cells after them."""
    given = []
    for number, text in enumerate(rows, 2):
        cylinder, time, from_, to, *more = text.split()
        cells = {"cylinder": cylinder, "time": time.strip("-"), "from": from_.strip("-"),
                 "to": to.strip("-"), **dict(m.split("=") for m in more)}  # fmt: skip
        given.append(Row(number, cells))

    def resolve(tail: str) -> str:
        ids = [i for i in (*made.book.cylinders, *made.book.sets) if i.endswith(tail)]
        if len(ids) != 1:
            raise ValueError(f"{len(ids)} ids end in {tail}")
        return ids[0]

    return key_in(made.book, given, how, midnight=MIDNIGHT, resolve=resolve)


def record(made: Shelf, got: Keyed, *told: str) -> None:
    """Record a sheet; what is at fault afterwards is told with it."""
    assert isinstance(got.act, Act)
    assert all(any(t in note for note in got.act.notes) for t in told)
    texts = {path: text.encode() for path, text in made.texts.items()}
    for change in changes_of(texts.get, got.act):
        made.texts[change.path] = change.new.decode()
    assert made.faults() == list(told)


def test_rows_are_logged_in_the_order_of_their_time_with_bare_numbers_in_the_ledgers_unit() -> None:
    made = lake()
    got = keyed(made, "014 15:10 500 2900 temperature=60", "DB-02 14:30 700 2950")
    assert (got.refused, got.already) == ((), ())
    record(made, got)
    lines = [(n.cylinder, n.at.strftime("%H:%M"), str(n.from_), str(n.to)) for n in made.book.log]
    assert lines == [
        ("DB-02", "14:30", "700 psi", "2950 psi"),
        ("RB-014", "15:10", "500 psi", "2900 psi"),
    ]
    assert isinstance(got.act, Act)
    assert got.act.sentence == "Keyed in 2 fills of 2026-11-25: DB-02, RB-014"
    assert str(made.book.log[1].temperature) == "60 degF"


def test_refused_rows_are_listed_and_the_rest_is_kept() -> None:
    made = lake(RB_017=books.GOOD.replace("K118204", "K9").replace("2026-02-09", "2025-02-09"))
    got = keyed(
        made,
        "014 14:00 500 3000",
        "017 14:05 500 3000",
        "999 14:10 500 3000",
        "DB-02 noon 500 3OOO",
    )
    assert [(r.line, r.cylinder) for r in got.refused] == [(3, "RB-017"), (4, "999"), (5, "DB-02")]
    assert got.refused[0].reasons[0].startswith("visual lapsed Feb 2026")
    assert got.refused[1].reasons == ("cylinder: 0 ids end in 999",)
    assert [r.partition(":")[0] for r in got.refused[2].reasons] == ["time", "to"]
    assert isinstance(got.act, Act)
    assert got.act.subjects == ("RB-014",)
    assert got.act.sentence.endswith("; 3 rows REFUSED")
    assert got.act.notes[1] == "REFUSED line 4, 999: cylinder: 0 ids end in 999"
    record(made, got)
    assert [n.cylinder for n in made.book.log] == ["RB-014"]


def test_a_mended_sheet_may_be_keyed_in_again_as_a_whole() -> None:
    made = lake()
    rows = ["014 14:00 500 3000", "DB-02 - 500 3000"]
    record(made, keyed(made, *rows))
    again = keyed(made, *rows)
    assert (again.acts, again.already) == ((), ("DB-02", "RB-014"))
    assert isinstance(again.act, Act)
    assert again.act.edits == ()


def test_a_row_that_nobody_looked_over_is_refused_and_one_ticked_is_not() -> None:
    how = Filling(by="MV", source="B1")
    got = keyed(lake(), "014 14:00 500 3000", "DB-02 14:00 500 3000 looked=x", how=how)
    assert [r.cylinder for r in got.refused] == ["RB-014"]
    assert "looked over" in got.refused[0].reasons[0]


def test_a_later_row_is_judged_knowing_of_the_earlier_ones() -> None:
    """A cylinder read empty at noon is not filled in the afternoon of the same sheet."""
    made = lake()
    got = keyed(made, "014 10:00 500 2000", "014 12:00 0 3000")
    assert [r.line for r in got.refused] == [3]
    assert "empty" in got.refused[0].reasons[0]


def test_what_happened_all_the_same_is_logged_and_held() -> None:
    made = lake(RB_017=books.GOOD.replace("K118204", "K9").replace("2026-02-09", "2025-02-09"))
    got = keyed(made, "017 14:05 500 3000 happened=unnoticed")
    record(made, got, "RB-017 was filled while out of inspection")
    assert made["RB-017"].status == "held"
    assert "happened: unnoticed" in (made.book.log[0].note or "")


def test_a_sheet_whose_rows_are_all_refused_records_nothing() -> None:
    got = keyed(lake(), "999 14:00 500 3000")
    assert isinstance(got.act, Refusal)
    assert got.act.reasons == ("line 2, 999: cylinder: 0 ids end in 999",)


def test_what_was_bled_after_a_fill_is_read_again_in_the_same_row() -> None:
    made = lake()
    got = keyed(made, "014 14:00 500 3040 bled=2980", "DB-02 14:30 700 3040")
    assert [r.cylinder for r in got.refused] == ["DB-02"]
    assert "log both with --bled" in got.refused[0].reasons[0]
    record(made, got)
    assert [(str(n.act), str(n.to)) for n in made.book.log] == [
        ("fill", "3040 psi"),
        ("drain", "2980 psi"),
    ]


OTHER_BANK = """\
  - {name: B3, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
"""
ROW = "014 09:00 500 2800 temperature=58 source=B1"
"""A row as it is keyed in, and keyed in again with its sheet."""


def wrong(**changes: str) -> Wrong:
    return Wrong("fill", "2026-11-25", "misread", changes)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"source": "B3"}, "in the log already, and passed over: RB-014"),
        ({"to": "2700 psi"}, "in the log already, and passed over: RB-014"),
        ({"gas": "nitrox32", "o2": "32 %", "analysed_by": "MV"}, "in the log already"),
        ({}, "struck out in the log since, and passed over: RB-014; if it was filled after all"),
    ],
)
def test_a_row_that_was_corrected_or_struck_out_since_is_not_keyed_in_again(
    changes: dict[str, str], told: str
) -> None:
    made = lake()
    made.texts["station.yaml"] = STATION.replace("air_tests", OTHER_BANK + "air_tests")
    record(made, keyed(made, ROW))
    now = dt.datetime(2026, 11, 25, 18, tzinfo=ZONE)
    act = correct(made.book, "RB-014", wrong(**changes), by="MV", now=now, on=TODAY)
    assert isinstance(act, Act), act
    texts = {path: text.encode() for path, text in made.texts.items()}
    for change in changes_of(texts.get, act):
        made.texts[change.path] = change.new.decode()
    again = keyed(made, ROW, ROW)
    assert (again.acts, again.refused) == ((), ())
    assert isinstance(again.act, Act)
    assert [note for note in again.act.notes if note.startswith(told)] == list(again.act.notes)
    mended = keyed(made, ROW.replace("09:00", "11:30").replace("2800", "2900"))
    assert (mended.already, mended.struck) == ((), ())  # another fill, judged by itself


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("DB-02 16:00 500 3000", "016 16:00 500 3000"),
        ("016 16:00 500 3000", "DB-02 16:00 500 3000"),
        ("016 16:00 500 3000", "015 16:00 500 3000"),
    ],
)
def test_a_side_and_its_set_are_keyed_in_once(first: str, second: str) -> None:
    made = lake()
    record(made, keyed(made, first))
    again = keyed(made, second)
    assert (again.acts, len(again.already)) == ((), 1)


def test_the_same_fill_a_little_later_is_asked_about_as_fill_asks() -> None:
    made = lake()
    got = keyed(made, "014 09:00 500 2800", "014 09:20 500 2800", "014 11:00 500 2800")
    assert [(r.line, r.cylinder) for r in got.refused] == [(3, "RB-014")]
    assert got.refused[0].reasons == (
        "RB-014 was filled from 500 psi to 2800 psi at 09:00 on 2026-11-25 already; if it was "
        "filled once more, log it with `tankbook fill --again`",
    )
    assert len(got.acts) == 2


def test_rows_without_a_time_are_known_again_where_one_was_put_in_above() -> None:
    made = lake()
    record(made, keyed(made, "014 - 500 2800"))
    again = keyed(made, "DB-02 - 500 3000", "014 - 500 2800")
    assert (again.already, [act.subjects for act in again.acts]) == (("RB-014",), [("DB-02",)])
