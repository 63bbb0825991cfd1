"""Which labels are refused, and why."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import books
import pytest
from books import GOOD, SETTINGS, STATION, make_book
from loglines import fill, line, read
from msgspec.structs import replace

from tankbook.ledger.load import load
from tankbook.records.book import Book
from tankbook.records.words import LabelKind, LogAct
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.labels import UNREADABLE, against_label, no_longer_true
from tankbook.rules.rental import against_going_out
from tankbook.units.pressure import GaugePressure


@pytest.fixture(name="cove", scope="module")
def _cove() -> Book:
    return load(Path(__file__).parents[2] / "example_ledger").as_known_on(dt.date(2026, 11, 25))


LATE = ("RB-044: hydro lapsed Sep 2026", "its isolator is shut: each side has its own reading")

CASES = [
    (LabelKind.TAG, "CU-072", ()),
    (LabelKind.TAG, "RB-011", ()),
    (LabelKind.IDENTITY, "CU-072", ()),
    (LabelKind.ANALYSIS, "RB-041", ()),
    (LabelKind.ANALYSIS, "RB-016", ()),  # out, and what it holds is known
    (LabelKind.ANALYSIS, "CU-067", ("it is rejected: line corrosion under the boot, deepest pit 1.1 mm",
     "it is on record as empty since 2026-10-02")),
    (LabelKind.ANALYSIS, "DB-02", LATE),
    (LabelKind.DO_NOT_FILL, "DB-02", ()),
    (LabelKind.DO_NOT_FILL, "RB-011", ("nothing is against filling it",)),
    (LabelKind.RENTAL, "RB-011", ()),
    (LabelKind.RENTAL, "RB-016", ()),  # out already: the tag names the booking
    (LabelKind.RENTAL, "RB-041", ("it is one side of DB-01: the two go out as one",)),
    (LabelKind.RENTAL, "DB-02", LATE),
    (LabelKind.SLIP, "SF-054", ()),  # sold
    (LabelKind.SLIP, "DB-01", ("a slip is for one cylinder: ask for RB-041 and RB-042",)),
    (LabelKind.SLIP, "SF-053", ("no second outside look within 7 days is on record: look it over and record that (`tankbook inspect --checklist outside`)",)),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "id_", "reasons"), CASES)
def test_against(
    kind: LabelKind, id_: str, reasons: tuple[str, ...], cove: Book, today: dt.date
) -> None:
    assert against_label(cove, id_, kind, today) == reasons


@pytest.mark.parametrize("kind", [LabelKind.ANALYSIS, LabelKind.STRIP])
@pytest.mark.parametrize("act", ["reading", "drain"])
def test_no_label_tells_of_what_is_on_record_as_empty(kind: LabelKind, act: str) -> None:
    good = GOOD.replace("service: air", "service: nitrox")
    good += "cleaned: [{on: 2026-02-09, to: nitrox, by: MV}]\n"
    full = fill("2026-11-23T09", "RB-014", gas="nitrox32", o2="32 %", analysed_by="MV")
    settings = f"{SETTINGS}oxygen_pressure: 1.4 ata\n"
    today, empty = dt.date(2026, 11, 25), "it is on record as empty since 2026-11-24"
    book = make_book({"RB-014": good}, log=full, settings=settings)
    assert empty not in against_label(book, "RB-014", kind, today)
    drained = line("2026-11-24T09", act, "RB-014", to="0 psi")
    book = make_book({"RB-014": good}, log=f"{full}\n{drained}", settings=settings)
    assert empty in against_label(book, "RB-014", kind, today)


@pytest.mark.parametrize("kind", [LabelKind.ANALYSIS, LabelKind.STRIP, LabelKind.RENTAL])
@pytest.mark.parametrize("act", ["reading", "drain"])
@pytest.mark.parametrize("side", ["RB-041", "RB-042"])
def test_what_one_side_showed_is_against_the_pressure_of_both(
    side: str, act: str, kind: LabelKind, cove: Book, today: dt.date
) -> None:
    """Through an open isolator: no label says that the set stands as it was filled, nor its other
    side; until the set was read."""
    line = replace(cove.log[-1], cylinder=side, act=LogAct(act), at=READ_AT, to=LOWER)
    book = replace(cove, log=(*cove.log, line))
    told = f"{side} was read at 2400 psi on 2026-11-25, and DB-01 stood at 3290 psi: read DB-01"
    for id_ in ("DB-01", "RB-041", "RB-042"):
        assert told in against_label(book, id_, kind, today)
    assert told not in against_label(book, "DB-02", kind, today)
    both = replace(line, cylinder="DB-01", act=LogAct.READING, at=READ_AT + dt.timedelta(hours=1))
    read = replace(book, log=(*book.log, both))
    assert told not in against_label(read, "DB-01", kind, today)


READ_AT = dt.datetime.fromisoformat("2026-11-25T10:00:00-05:00")
LOWER = GaugePressure.parse("2400 psi")


@pytest.mark.parametrize("id_", ["RB-018", "CU-061", "PN-092", "SF-055"])
def test_a_rental_tag_is_for_what_may_go_out(id_: str, cove: Book, today: dt.date) -> None:
    found = against_label(cove, id_, LabelKind.RENTAL, today)
    assert found == against_going_out(cove, id_, today, today) != ()


@pytest.mark.parametrize(
    ("kind", "reasons"),
    [
        (LabelKind.TAG, ()), (LabelKind.DO_NOT_FILL, ()),
        *((k, (UNREADABLE,)) for k in (LabelKind.IDENTITY, LabelKind.ANALYSIS, LabelKind.RENTAL, LabelKind.SLIP)),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_read_gets_only_the_warning(
    kind: LabelKind, reasons: tuple[str, ...], tmp_path: Path, today: dt.date
) -> None:
    (tmp_path / "cylinders").mkdir()
    (tmp_path / "tankbook.yaml").write_text("ledger: Quay\nunits: psi\nrules: [us-dot]\n")
    (tmp_path / "cylinders/RB-014.yaml").write_text("serial: [\n")
    assert against_label(load(tmp_path), "RB-014", kind, today) == reasons


# --- strips: how deep, so that it has to be of what is in it now

DAY = dt.date(2026, 11, 25)
STRIP_CARD = GOOD.replace("service: air", "service: oxygen") + (
    "cleaned:\n  - {on: 2026-10-01, to: oxygen, by: MV}\n"
)
MIX = fill("2026-11-21", "RB-014", to="3000 psi", gas="nitrox32", o2="32.1 %", analysed_by="MV")
AGAIN = fill("2026-11-23", "RB-014", to="3000 psi", gas="nitrox32")
HELIUM = MIX.replace("nitrox32", "trimix20/35").replace("32.1 %", "20.1 %")
DEEPEST = "oxygen_pressure: 1.4 bar abs\n"


@pytest.mark.parametrize(
    ("log", "settings", "reasons"),
    [
        ([MIX], DEEPEST, []),
        ([MIX, read("2026-11-23", "2900 psi", "RB-014")], DEEPEST, []),
        ([MIX, read("2026-11-23", "1500 psi", "RB-014")], DEEPEST,
         ["it was read at 1500 psi on 2026-11-23, lower than the 3000 psi of its analysis on "
          "2026-11-21: analyse what is in it"]),
        ([MIX, read("2026-11-23", "1500 psi", "RB-014"),
          line("2026-11-24", "reading", "RB-014", to="1500 psi", o2="32 %")], DEEPEST, []),
        ([MIX, AGAIN], DEEPEST,
         ["no analysis of its oxygen is on record since it was filled on 2026-11-23"]),
        ([MIX, line("2026-11-23", "drain", "RB-014", to="0 psi")], DEEPEST,
         ["it is on record as empty since 2026-11-23"]),
        ([], DEEPEST, ["what it holds is not on record: read and analyse it, or log its fill"]),
        ([line("2026-11-23", "drain", "RB-014", to="0 psi")], DEEPEST,
         ["it is on record as empty since 2026-11-23"]),
        ([HELIUM], DEEPEST,
         ["its gas is trimix20/35, and no analysis of its helium is on record"]),
        ([MIX], "",
         ["the settings do not say for which oxygen pressure depths are: set `oxygen_pressure`"]),
    ],
)  # fmt: skip
def test_a_strip_is_of_what_is_in_the_cylinder_now(
    log: list[str], settings: str, reasons: list[str]
) -> None:
    book = make_book({"RB-014": STRIP_CARD}, log="\n".join(log), settings=SETTINGS + settings)
    closed = against_label(book, "RB-014", LabelKind.ANALYSIS, DAY)
    said = against_label(book, "RB-014", LabelKind.STRIP, DAY)
    assert [reason for reason in said if reason not in closed or reason in reasons] == reasons
    assert set(closed) <= set(said)


WARM, HOT = f"{MIX}; temperature=70 degF", f"{MIX}; temperature=60 degC"
NEXT_DAY = line("2026-11-22", "reading", "RB-014", to="3000 psi", o2="32 %", analysed_by="MV")
"""Analysed anew, cold, without a temperature."""


@pytest.mark.parametrize(
    ("before", "error", "highest_refused"),
    [
        # two readings each off by 50 psi (US Navy Diving Manual 7-5.1.1), and the temperature:
        # own arithmetic by absolute temperature, (3000 - 100) / ratio
        ([MIX], "", 2589),  # a fill that nobody noted the temperature of: 12 %
        ([WARM, "70 degF"], "", 2899),  # both noted and the same: the gauges alone
        ([WARM, "50 degF"], "", 2790),  # 529.67 degR to 509.67 degR
        ([WARM], "", 2790),  # what was not noted: within 10 K of the usual 20 degC
        ([HOT, "15 degC"], "", 2589),  # 12 % at the most
        ([MIX, NEXT_DAY], "", 2708),  # 303.15 K to 283.15 K
        ([WARM, "70 degF"], "20 psi", 2959),
        ([WARM, "70 degF"], "900 psi", 2599),  # no gauge errs by more than 200 psi
    ],
)
def test_a_strip_is_refused_below_what_gauges_and_cooling_explain(
    before: list[str], error: str, highest_refused: int
) -> None:
    """Whatever the settings let a pressure rise by: `unexplained` is no leave to have used gas."""
    *lines, last = before
    noted = {"temperature": last} if lines and last != NEXT_DAY else {}
    station = f"{STATION}gauge_error: {error}\n" if error else STATION
    settings = f"{SETTINGS}{DEEPEST}unexplained: 500 psi\n"
    for lower, refused in ((0, True), (2, False)):
        read_ = line(
            "2026-11-23", "reading", "RB-014", to=f"{highest_refused + lower} psi", **noted
        )
        log = "\n".join([*(lines if noted else before), read_])
        book = make_book({"RB-014": STRIP_CARD}, log=log, settings=settings, station=station)
        said = against_label(book, "RB-014", LabelKind.STRIP, DAY)
        assert any("lower than the 3000 psi" in why for why in said) is refused, said


FILLED = "at=2026-11-24T09:30:00+01:00; cylinder=A; act=fill; from=500 psi; to=3000 psi; temperature=70 degF; gas=nitrox32; o2=32.1 %; by=MV; analysed_by=MV"
AGAIN = FILLED.replace("2026-11-24T09:30", "2026-11-25T11:00")
READ = "at=2026-11-25T11:00:00+01:00; cylinder=A; act=reading; to=1200 psi; by=MV"
DRAINED = "at=2026-11-25T11:00:00+01:00; cylinder=A; act=drain; to=0 psi; by=MV"
ANALYSED_AGAIN = "at=2026-11-25T11:00:00+01:00; cylinder=A; act=reading; to=3000 psi; o2=31.4 %; by=MV; analysed_by=MV"
SAID = "kind: analysis, gas: nitrox32, oxygen: 32.1 %, analysed: 2026-11-24, pressure: 3000 psi, limit: 3000 psi"
TOLD = SAID.replace(", limit: 3000 psi", "")  # as an analysis label and a strip are entered
STRIP, RENTAL = (TOLD.replace("analysis", kind) for kind in ("strip", "rental"))
STICKER, SIGN = "kind: identity, limit: 3000 psi", "kind: do-not-fill"
HELD = {"held": "[{on: 2026-11-25, by: MV, why: dent}]", "status": "held"}
SMELT = {"note": '"2026-11-25: smelt of oil"'}
LAPSED = {"requalified": "[{on: 2015-03, method: hydrostatic, by: maker}]"}


@pytest.mark.parametrize(
    ("said", "log", "card", "why"),
    [
        (SAID, FILLED, {}, ""),
        (SAID, f"{FILLED}\n{READ}", {}, ""),  # a diver used it
        (SAID, f"{FILLED}\n{DRAINED}", {}, "on record as empty since 2026-11-25"),
        (SAID, f"{FILLED}\n{AGAIN}", {}, "filled again on 2026-11-25"),
        (SAID, f"{FILLED}\n{ANALYSED_AGAIN}", {}, "is another on record now"),
        (SAID, "", {}, "is another on record now"),
        (SAID, FILLED, HELD, "it must not be filled now"),
        ("kind: rental, gas: nitrox32", FILLED, {}, ""),  # analysed later
        ("kind: rental, gas: air", FILLED, {}, "is another on record now"),
        ("kind: identity, limit: 207 bar", FILLED, {}, ""),
        *((each, FILLED, SMELT, "puts its gas in doubt") for each in (TOLD, STRIP, RENTAL)),
        *((each, FILLED, HELD, "dent") for each in (TOLD, STRIP, RENTAL)),
        *((each, FILLED, LAPSED, "") for each in (TOLD, STRIP, RENTAL)),  # its gas is as it was
        (STICKER, f"{FILLED}\n{AGAIN}", {}, ""),  # of what is in it, it says nothing
        (STICKER, FILLED, HELD, "it must not be filled now"),
        ("kind: identity, limit: 3300 psi", FILLED, {}, "its limit is 3000 psi now"),
        (SIGN, FILLED, HELD, ""),
        (SIGN, FILLED, {}, "nothing is against filling it now"),
    ],
)
def test_a_label_that_is_no_longer_true_is_told(
    said: str, log: str, card: dict[str, str], why: str
) -> None:
    """Printed at ten of the day; and none that is struck out, or was printed later."""
    clean = {
        "service": "nitrox",
        "cleaned": "[{on: 2026-05-01, by: MV, to: nitrox, until: 2027-05}]",
    }
    text = books.with_lines(books.GOOD, **clean, **card)
    entry = f"{{on: 2026-11-25, at: '10:00', {said}}}"
    book = books.make_book({"A": text + f"labelled: [{entry}]\n"}, log=log)
    assert may_fill(book, "A", books.TODAY, contents_of(book, "A").gas).fillable is not bool(card)
    told = [found for _, found in no_longer_true(book, "A", books.TODAY)]
    assert [why in found for found in told] == ([True] if why else [])
    void = entry.replace(said, f"{said}, void: {{why: jammed, by: MV, on: 2026-11-25}}")
    struck = books.make_book({"A": text + f"labelled: [{void}]\n"}, log=log)
    assert not [*no_longer_true(struck, "A", books.TODAY)]
    assert not [*no_longer_true(book, "A", dt.date(2026, 11, 24))]
