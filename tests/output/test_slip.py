"""The slip: the alloy in words, and a sticker that agrees with what is due."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

import pdf
import pytest
from books import GOOD, SETTINGS, STATION, make_book, stamped, with_lines
from changing import replace
from hypothesis import example, given
from hypothesis import strategies as st

from tankbook.acts.hand_over import Slip, slip_of
from tankbook.acts.receipt import CounterReceipt, Dealing, receipt
from tankbook.gas import GasError
from tankbook.gas.depth import depth_limit, least_depth
from tankbook.output import receipt as receipt_paper
from tankbook.output import slip
from tankbook.output.document_text import text as as_text
from tankbook.output.page import Page, plain_date
from tankbook.output.report import made
from tankbook.records.book import Book
from tankbook.records.kinds import holds_gas
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import State
from tankbook.rules.conditions import cleaned_for
from tankbook.rules.figures import LOW_OXYGEN
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.old_alloy import WHY
from tankbook.rules.schedule import due_of_cylinder
from tankbook.units import AbsolutePressure

SOLD = "handed_over: [{on: 2026-11-25, by: MV, to: C-1, slip: 2026-001}]"


def said(looked: str, today: str = "2026-11-25", **changes: str | None) -> str:
    card = with_lines(GOOD, use="sale", status=f"sold\n{SOLD}", **changes)
    book = make_book({"A": stamped(card.replace("2026-02-09", looked))}, station=STATION)
    found = slip_of(book, "A", dt.date.fromisoformat(today))
    assert found is not None
    return " ".join(slip.text(found, book.settings, Page()).split())


@pytest.mark.parametrize(
    ("looked", "visual", "sticker"),
    [
        ("2026-11-10", "visual last 10 Nov 2026, next by 10 Nov 2027", "sticker Nov 2026; it holds to 10 Nov 2027"),
        ("2026-11", "visual last Nov 2026, next by 30 Nov 2027", "sticker Nov 2026; it holds to 30 Nov 2027"),
        ("2026-02", "visual last Feb 2026, next by 28 Feb 2027", "sticker Feb 2026; it holds to 28 Feb 2027"),
    ],
)  # fmt: skip
def test_the_sticker_agrees_with_what_is_due(looked: str, visual: str, sticker: str) -> None:
    text = said(looked)
    assert visual in text
    assert sticker in text


def test_a_sticker_that_is_not_what_counts_says_what_does() -> None:
    newer = "\n  - {on: 2026-09, method: hydrostatic, by: T123, stamp: 09 T123 26}"
    card = with_lines(GOOD, use="sale", status=f"sold\n{SOLD}").replace(
        "method: hydrostatic, by: maker}", f"method: hydrostatic, by: maker}}{newer}"
    )
    book = make_book({"A": stamped(card)}, station=STATION)
    found = slip_of(book, "A", dt.date(2026, 11, 25))
    assert found is not None
    text = " ".join(slip.text(found, book.settings, Page()).split())
    assert "visual last Sep 2026" in text
    assert "sticker Feb 2026; what counts is of Sep 2026" in text


@pytest.mark.parametrize(
    ("today", "state"),
    [
        ("2026-11-01", State.OK),
        ("2026-11-30", State.OK),
        ("2027-11-30", State.SOON),
        ("2027-12-01", State.OVERDUE),
        ("2026-10-31", State.MISSING),
    ],
)
def test_a_look_dated_by_its_month_counts_from_its_first_day_to_the_end_of_its_month(
    today: str, state: State
) -> None:
    card = stamped(GOOD.replace("2026-02-09", "2026-11"))
    day = dt.date.fromisoformat(today)
    book = make_book({"A": card}, station=STATION).as_known_on(day)
    dues = {d.obligation: d for d in due_of_cylinder(book, book.cylinders["A"], day)}
    assert dues[Obligation.VISUAL].state is state


def test_the_alloy_is_said_in_words() -> None:
    assert f"alloy 6351: {WHY}" in said("2026-11-10", alloy='"6351"')
    assert "6351" not in said("2026-11-10")


# --- what a user must know -----------------------------------------------------------------------

MOST = AbsolutePressure.parse("1.4 ata")
FILL = "at=2026-11-24T09:00:00+01:00; cylinder=A; act=fill; to=3000 psi; temperature=70 degF; {gas}; by=MV; source=B1"
CARD = stamped(with_lines(GOOD, use="sale", service="nitrox", status=f"sold\n{SOLD}"))
ASKED = f"{SETTINGS}oxygen_pressure: 1.4 ata\n"


def book_with(gas: str, later: str = "", settings: str = ASKED) -> Book:
    log = f"{FILL.format(gas=gas)}\n{later}"
    return make_book({"A": CARD}, station=STATION, log=log, settings=settings)


def slip_in(book: Book, day: str = "2026-11-25") -> Slip:
    found = slip_of(book, "A", dt.date.fromisoformat(day))
    assert found is not None
    return found


def on_paper(book: Book, day: str = "2026-11-25", paper: str = "a4") -> str:
    document = slip.document(slip_in(book, day), book.settings, Page())
    data = made(document, ".pdf", paper)
    assert min(pdf.sizes_of(data)) >= 6
    assert all(pdf.fonts_of(data).values())
    return " ".join(pdf.text_of(data).split())


@given(st.integers(80, 1000).map(lambda n: n / 10), st.sampled_from(("a4", "letter")))
def test_how_deep_is_that_of_the_analysis_and_the_setting(oxygen: float, paper: str) -> None:
    gas = f"nitrox{oxygen:g}" if oxygen < 100 else "oxygen"
    book = book_with(f"gas={gas}; o2={oxygen} %; analysed_by=KD")
    said = on_paper(book, paper=paper)
    assert f"analysed {oxygen:g} % oxygen, 24 Nov 2026, KD" in said
    try:
        assert f"deepest {depth_limit(oxygen, MOST)} (oxygen 1.4 ata)" in said
    except GasError:
        assert "NOT FOR DIVING" in said
    assert ("not to be breathed at the surface" in said) == (oxygen < LOW_OXYGEN)
    least = least_depth(oxygen)
    assert ("least depth" in said) == (oxygen < LOW_OXYGEN and not least.is_surface)
    assert "own analysis oxygen ______ %" in said
    assert "Its pressure is true until some is used" in said


@given(st.integers(80, 1000).map(lambda n: n / 10))
def test_what_was_analysed_as_another_gas_is_given_no_depth(oxygen: float) -> None:
    said = on_paper(book_with(f"gas=nitrox32; o2={oxygen} %; analysed_by=KD"))
    assert ("DO NOT USE A. " in said) == (abs(oxygen - 32) > 1) == (" m / " not in said)


@pytest.mark.parametrize(
    ("gas", "settings"),
    [("gas=nitrox32", ASKED), ("gas=nitrox32; o2=32 %; analysed_by=KD", SETTINGS), ("gas=air", ASKED)],
)  # fmt: skip
def test_without_an_analysis_or_a_setting_no_depth_is_said(gas: str, settings: str) -> None:
    assert " m / " not in on_paper(book_with(gas, settings=settings))


LATER = (
    "at=2026-11-26T09:00:00+01:00; cylinder=A; act=fill; to=2900 psi; gas=nitrox36; o2=36 %; analysed_by=KD; by=MV; source=B1",
    "at=2026-11-27T09:00:00+01:00; cylinder=A; act=drain; to=0 psi; by=MV",
    "at=2026-11-27T09:00:00+01:00; cylinder=A; act=reading; to=1200 psi; by=MV",
)  # fmt: skip


@pytest.mark.parametrize("later", LATER)
def test_the_slip_again_is_the_slip_that_was_given(later: str) -> None:
    """What was filled, used or let out since is none of what the buyer was given."""
    gas = "gas=nitrox32; o2=31.8 %; analysed_by=KD"
    given_ = on_paper(book_with(gas))
    now = replace(book_with(gas, later), clock=dt.date(2027, 11, 25))
    assert on_paper(now, "2027-11-25") == given_
    assert "31.8 % oxygen" in given_


def test_a_slip_of_what_must_not_be_filled_says_so() -> None:
    """It left as a fact, uncleaned: a limit alone would say less than `may-fill`."""
    said = on_paper(book_with("gas=nitrox32; o2=31.8 %; analysed_by=KD"))
    assert "NOT TO BE FILLED nitrox32 needs an oxygen-clean cylinder" in said
    assert "never above" not in said
    assert "fill to 3000 psi at 70 degF, never above" in on_paper(book_with("gas=air"))


def test_the_slip_fits_one_page_and_a_terminal_of_40_columns() -> None:
    book = book_with("gas=nitrox32; o2=31.8 %; analysed_by=KD")
    document = slip.document(slip_in(book), book.settings, Page(40))
    assert max(map(len, as_text(document, Page(40)).splitlines())) <= 40
    for paper in ("a4", "letter"):
        assert "\f" not in pdf.text_of(made(document, ".pdf", paper))


# --- slip and receipt of one hand-over, over drawn ledgers ----------------------------------------

ACTS = st.lists(
    st.tuples(
        st.sampled_from(("fill", "reading", "drain")),
        st.integers(1, 60).map(lambda n: n * 50),  # psi
        st.sampled_from(("air", "nitrox32", "trimix10/70")),
        st.none() | st.integers(50, 950).map(lambda n: n / 10),
        st.booleans(),
    ),
    max_size=6,
)
CLEANED = st.sampled_from(("", "nitrox", "oxygen", "air"))
SERVED = st.sampled_from(("air", "nitrox", "oxygen", None))


def acted(acts: list[Any], since: str) -> Iterator[str]:
    """The lines of the log, an hour apart, the last of them `since` the hand-over."""
    for at, (act, psi, gas, oxygen, warm) in enumerate(acts, 8):
        cells = {"at": f"2026-11-24T{at:02}:00:00+01:00", "cylinder": "A", "act": act}
        cells |= {"to": f"{psi} psi", "by": "MV"}
        cells |= {"gas": gas, "from": "40 psi", "source": "B1"} if act == "fill" else {}
        cells |= {"o2": f"{oxygen} %", "analysed_by": "KD"} if oxygen and act != "drain" else {}
        cells |= {"temperature": "64 degF"} if warm else {}
        yield "; ".join(map("=".join, cells.items()))
    if since:
        yield f"at=2026-11-26T09:00:00+01:00; cylinder=A; act={since}; to=2222 psi; by=ZZ"


def said_not_to_use(said: str) -> bool:
    """Of such gas there is no room for an analysis, since none makes it good."""
    why = "NOT TO BE FILLED OR USED" in said or "DO NOT USE IT found since: " in said
    return why and "DO NOT USE A. " in said


@given(ACTS, st.sampled_from(("", "reading")), CLEANED, SERVED, st.sampled_from(("a4", "letter")))
@example([("fill", 3000, "nitrox32", 32.1, True)], "reading", "nitrox", "air", "a4")
def test_slip_and_receipt_tell_the_hand_over_as_the_records_do(
    acts: list[Any], since: str, cleaned: str, service: str | None, paper: str
) -> None:
    """Read back as text: what it held, its days, its limit or why not, what it is cleaned for."""
    entry = f"[{{on: 2026-10-01, by: CL, to: {cleaned}}}]" if cleaned else None
    card = stamped(
        with_lines(GOOD, use="sale", service=service, cleaned=entry, status=f"sold\n{SOLD}")
    )
    log = "\n".join(acted(acts, since))
    book = make_book({"A": card}, station=STATION, log=log, settings=ASKED)
    day = dt.date(2026, 11, 25)
    then = book.as_known_on(day)
    held = contents_of(then, "A")
    given_ = receipt(book, ["A"], Dealing.SOLD, None)
    assert isinstance(given_, CounterReceipt)
    papers = [
        slip.document(slip_in(book, "2026-11-28"), book.settings, Page()),
        receipt_paper.document(given_, book.settings, Page()),
    ]
    for told in papers:
        data = made(told, ".pdf", paper)
        said = " ".join(pdf.text_of(data).split())
        assert min(pdf.sizes_of(data)) >= 6
        since = "; ".join(slip_in(book, "2026-11-28").since)  # told apart, under a name of its own
        assert "2222" not in said.replace(f"DO NOT USE IT found since: {since}", "")
        if held.pressure is not None and holds_gas(held.pressure):
            assert str(held.pressure) in said
            assert held.gas is None or str(held.gas) in said
            analysed = (
                f"analysed {held.oxygen:g} % oxygen" if held.oxygen is not None else "______ %"
            )
            assert analysed in said or (held.oxygen is None and said_not_to_use(said))
        clean = cleaned_for(then, then.cylinders["A"], day)
        assert f"cleaned for {clean or 'air (nothing recorded)'}" in said
        for due in due_of_cylinder(then, then.cylinders["A"], day):
            assert due.next is None or plain_date(due.next) in said
        reasons = may_fill(then, "A", day, held.gas, station=False).refusals
        against = [r.text for r in reasons if not r.code.startswith("standing-")]
        for reason in against:
            assert " ".join(reason.split()) in said
        assert ("NOT TO BE FILLED" in said) >= bool(against)
