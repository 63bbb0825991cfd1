"""What a cylinder held as it left: by the hour, on every paper of it, and never the day's end."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, make_book, stamped, typed, with_lines
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tankbook.acts.hand_over import slip_of
from tankbook.acts.receipt import CounterReceipt, Dealing, against, receipt
from tankbook.output import receipt as receipt_paper
from tankbook.output import slip as slip_paper
from tankbook.output.document_text import text
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.records.counter import CounterFile
from tankbook.rules.incident import book_then, cylinder_then

DAY = dt.date(2026, 11, 25)


def line(at: str, act: str, to: str, more: str = "", id_: str = "A") -> str:
    return f"at=2026-11-25T{at}:00+00:00; cylinder={id_}; act={act}; to={to}; by=MV{more}\n"


BEFORE = (
    "at=2026-11-20T09:00:00+00:00; cylinder={id}; act=fill; to=3000 psi; gas=nitrox32; o2=32.1 %; "
    "analysed_by=KD; by=MV; source=B1\n"
)
TRIMIX = "; from=0 psi; gas=trimix10/70; o2=9.8 %; he=70.1 %; analysed_by=KD; source=B1"


def of_day(id_: str, *, gauge: bool) -> str:
    out = line("08:00", "reading", "2900 psi", "; note=going out to B-1", id_) if gauge else ""
    return (
        BEFORE.format(id=id_)
        + out
        + line("12:00", "reading", "900 psi", "; note=back from B-1", id_)
        + line("12:30", "drain", "0 psi", "", id_)
        + line("13:00", "fill", "3300 psi", TRIMIX, id_)
    )


def rented(at: str = "") -> str:
    hour = f"at: '{at}', " if at else ""
    back = f"back: {DAY}, pressure: 900 psi, valve: closed"
    return f"rented: [{{on: {DAY}, by: MV, to: B-1, until: {DAY}, {hour}{back}}}]\n"


def lent(book: Book, id_: str) -> tuple[CounterReceipt, str]:
    found = receipt(book, [id_], Dealing.LENT, None)
    assert isinstance(found, CounterReceipt), found
    return found, " ".join(
        text(receipt_paper.document(found, book.settings, Page()), Page()).split()
    )


@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize(("at", "gauge"), [("08:00", False), ("08:00", True), ("", True)])
def test_what_was_lent_is_told_as_it_went(whole: bool, at: str, gauge: bool) -> None:
    card, id_ = stamped(with_lines(GOOD, service="nitrox")), "DB" if whole else "A"
    cards = {"A": card + ("" if whole else rented(at))}
    sets = {}
    if whole:
        cards["B"] = card.replace("K118204", "K118205")
        sets["DB"] = f"cylinders: [A, B]\nrating: 3442 psi\nisolator: open\n{rented(at)}"
    found, said = lent(make_book(cards, sets=sets, log=of_day(id_, gauge=gauge)), id_)
    assert "gas nitrox32 analysed 32.1 % oxygen" in said
    assert ("2900 psi" if gauge else "3000 psi") in said
    assert "trimix" not in said
    assert "entries say" not in said
    assert not found.items[0].hour_unknown


@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize("what", [Dealing.LENT, Dealing.HANDED_BACK])
def test_an_incident_of_a_later_hour_is_told_once_as_found_since(
    what: Dealing, whole: bool
) -> None:
    """The cards say `held`, as they should by that night; by the hour nothing was against it."""
    if whole and what is not Dealing.LENT:
        return
    id_, done = "DB" if whole else "A", DONE[what].replace("12:00", "10:00")
    held = "held: [{on: 2026-11-25, by: MV, why: 'incident of 2026-11-25: bang', at: '12:00'}]\n"
    owner = {"use": "customer", "owner": "C-9"} if what is Dealing.HANDED_BACK else {}
    card = stamped(with_lines(GOOD, service="nitrox", status="held", **owner)) + held
    cards = {"A": card if whole else card + done}
    sets = {}
    if whole:
        cards["B"] = card.replace("K118204", "K118205")
        sets["DB"] = f"cylinders: [A, B]\nrating: 3442 psi\nisolator: open\n{done}"
    named = ", ".join(f"{{id: {each}, serial: X}}" for each in cards)
    incident = f"{{on: 2026-11-25, by: MV, what: bang, at: '12:00', cylinders: [{named}]}}"
    book = replace(
        make_book(cards, sets=sets, log=BEFORE.format(id=id_)),
        counter=typed(CounterFile, f"incidents: [{incident}]\n", "counter.yaml"),
    )
    found = receipt(book, [id_], what, DAY, DAY)
    assert isinstance(found, CounterReceipt), found
    assert "held" not in " ".join(against(found.items[0].answer))
    said = text(receipt_paper.document(found, book.settings, Page()), Page())
    said = " ".join(said.split())
    assert "entries say" not in said
    assert "no hold of" not in said
    assert said.count("incident of 2026-11-25: bang") == (2 if whole else 1)
    assert "found since" in said


def test_without_an_hour_a_return_of_that_day_still_says_what_came_after() -> None:
    """All that came later that day came after the return, and nothing came before."""
    found, said = lent(
        make_book({"A": stamped(GOOD) + rented()}, log=of_day("A", gauge=False)), "A"
    )
    assert "gas nitrox32" in said
    assert not found.items[0].hour_unknown


SOLD = "handed_over: [{on: 2026-11-25, by: MV, to: C-1, slip: 2026-001%s}]"


def sold(log: str, at: str = "") -> tuple[bool, str]:
    hour = f", at: '{at}'" if at else ""
    card = stamped(with_lines(GOOD, use="sale", service="nitrox", status=f"sold\n{SOLD % hour}"))
    book = make_book({"A": card}, log=log)
    found = slip_of(book, "A", DAY)
    assert found is not None
    assert slip_paper.data(found)["hour_unknown"] is found.hour_unknown
    receipt_ = receipt(book, ["A"], Dealing.SOLD, None)
    assert isinstance(receipt_, CounterReceipt)
    assert receipt_.items[0].hour_unknown is found.hour_unknown
    assert receipt_.items[0].contents == found.contents
    return found.hour_unknown, " ".join(slip_paper.text(found, book.settings, Page()).split())


@pytest.mark.parametrize("day", ["2026-11-25", "2026-11-27"])
def test_what_happened_since_is_told_where_no_hour_says_what_it_held(day: str) -> None:
    """What it held is not known by the hour, and still nobody is to breathe it."""
    status = f"sold\n{SOLD % ''}"
    card = stamped(with_lines(GOOD, use="sale", service="nitrox", status=status))
    log = BEFORE.format(id="A") + line("13:00", "fill", "3300 psi", TRIMIX)
    named = "cylinders: [{id: A, serial: K118204}]"
    incident = f"incidents: [{{on: {day}, by: MV, what: bang, at: '21:45', {named}}}]\n"
    book = replace(
        make_book({"A": card}, log=log), counter=typed(CounterFile, incident, "counter.yaml")
    )
    today = dt.date(2026, 11, 30)
    slip = slip_of(book, "A", today)
    assert slip is not None
    assert slip.hour_unknown
    paper = receipt(book, ["A"], Dealing.SOLD, None, today)
    assert isinstance(paper, CounterReceipt), paper
    for since in (slip.since, paper.items[0].since):
        assert any("bang" in each for each in since)


LATER = {
    "read empty": line("17:00", "reading", "0 psi"),
    "drained": line("17:00", "drain", "0 psi"),
    "filled": line("17:00", "fill", "3300 psi", TRIMIX),
}


@pytest.mark.parametrize("later", LATER)
def test_what_was_sold_is_told_as_it_went(later: str) -> None:
    unsure, said = sold(BEFORE.format(id="A") + LATER[later], "16:00")
    assert not unsure
    assert "gas nitrox32 analysed 32.1 % oxygen" in said
    assert "3000 psi" in said
    assert "came back empty" not in said


@pytest.mark.parametrize("later", LATER)
def test_what_is_not_known_by_the_hour_is_told_so(later: str) -> None:
    unsure, said = sold(BEFORE.format(id="A") + LATER[later])
    assert unsure
    assert "what it held then is not known by the hour" in said
    assert "handed over empty" not in said
    assert "gas trimix" not in said
    assert "gas nitrox32" not in said
    assert "% oxygen" not in said
    assert "deepest ______ initials" in said


def test_where_only_the_gauge_differs_the_gas_is_told_and_no_pressure() -> None:
    unsure, said = sold(BEFORE.format(id="A") + line("17:00", "reading", "2500 psi"))
    assert not unsure
    assert "gas nitrox32" in said
    assert "psi, read" not in said
    assert "2500 psi" not in said


def test_two_rentals_of_a_day_have_each_its_own_hour() -> None:
    """The incident sheet and the receipt ask one judge."""
    again = f"rented: [{{on: {DAY}, by: MV, to: B-1, until: {DAY}, at: '08:00', back: {DAY}, pressure: 900 psi, valve: closed}}, {{on: {DAY}, by: MV, to: B-2, until: {DAY}, at: '14:00'}}]\n"
    card = stamped(with_lines(GOOD, service="nitrox", status="out"))
    book = make_book({"A": card + again}, log=of_day("A", gauge=True))
    _, said = lent(book, "A")
    assert "gas trimix10/70" in said
    noon = cylinder_then(book_then(book, DAY, dt.time(12, 45)), "A", None)
    assert [" 08:00 to B-1" in each for each in noon.handed] == [True]
    late = cylinder_then(book_then(book, DAY, dt.time(15)), "A", None)
    assert " 14:00 to B-2" in late.handed[0]
    assert " 08:00 to B-1" in late.handed[1]


BACK = "jobs: [{on: 2026-11-20, by: MV, work: [fill], reference: C-9, ready: 2026-11-20, collected: 2026-11-25%s}]\n"


def handed_back(log: str, at: str = "") -> tuple[bool, str]:
    hour = f", collected_at: '{at}'" if at else ""
    card = stamped(with_lines(GOOD, use="customer", owner="C-9", service="nitrox"))
    book = make_book({"A": card + BACK % hour}, log=log)
    found = receipt(book, ["A"], Dealing.HANDED_BACK, None)
    assert isinstance(found, CounterReceipt)
    paper = receipt_paper.document(found, book.settings, Page())
    return found.items[0].hour_unknown, " ".join(text(paper, Page()).split())


@pytest.mark.parametrize("later", LATER)
def test_what_was_handed_back_is_told_as_it_went(later: str) -> None:
    """Brought again that day and filled with another gas, it is told as it went the first time."""
    unsure, said = handed_back(BEFORE.format(id="A") + LATER[later], "16:00")
    assert not unsure
    assert "gas nitrox32 analysed 32.1 % oxygen" in said
    assert "3000 psi" in said
    assert "trimix" not in said


def test_a_fill_of_the_minute_in_which_it_went_is_what_went() -> None:
    log = BEFORE.format(id="A") + line("16:00", "fill", "3300 psi", TRIMIX)
    assert "gas trimix10/70" in handed_back(log, "16:00")[1]


def test_by_the_hour_its_owner_has_it_or_not_yet() -> None:
    card = stamped(with_lines(GOOD, use="customer", owner="C-9")) + BACK % ", collected_at: '16:00'"
    book = make_book({"A": card})
    noon = cylinder_then(book_then(book, DAY, dt.time(15, 59)), "A", None)
    assert "collected" not in " ".join(noon.handed)
    late = cylinder_then(book_then(book, DAY, dt.time(16)), "A", None)
    assert "collected by its owner 2026-11-25 16:00" in late.handed[0]


# --- every entry by its own hour -----------------------------------------------------------------

AT = "12:00"
DONE = {
    Dealing.TAKEN_IN: "jobs: [{on: 2026-11-25, by: MV, work: [fill], reference: C-9, at: '12:00'}]\n",
    Dealing.HANDED_BACK: BACK % ", collected_at: '12:00', collected_by: KD",
    Dealing.REFUSED: "refused: [{on: 2026-11-25, by: MV, reasons: [dented], at: '12:00'}]\n",
    Dealing.LENT: "rented: [{on: 2026-11-25, by: MV, to: B-1, until: 2026-11-26, at: '12:00'}]\n",
    Dealing.RETURNED: (
        "rented: [{on: 2026-11-24, by: MV, to: B-1, until: 2026-11-25, at: '08:00', "
        "back: 2026-11-25, back_by: KD, pressure: 900 psi, valve: closed}]\n"
    ),
    Dealing.SOLD: "handed_over: [{on: 2026-11-25, by: MV, to: C-1, slip: 2026-001, at: '12:00'}]\n",
    Dealing.FILLED: "",
}
OF_ITSELF = {
    Dealing.RETURNED: line(AT, "reading", "900 psi", "; note=back from B-1"),
    Dealing.FILLED: line(
        AT, "fill", "3000 psi", "; gas=nitrox32; o2=31.8 %; analysed_by=KD; source=B2"
    ),
}
THINGS = {
    "read": ("reading", "2700 psi", ""),
    "read lower, analysed": ("reading", "500 psi", "; o2=28 %; analysed_by=KD"),
    "read empty": ("reading", "0 psi", ""),
    "drained": ("drain", "0 psi", ""),
    "filled with air": ("fill", "3000 psi", "; gas=air; source=B1"),
    "filled with another gas": ("fill", "3300 psi", TRIMIX),
}
ON_THE_CARD = (
    "held: [{on: 2026-11-25, by: MV, why: gouge, at: '17:00'}]\n",
    "rejected: [{on: 2026-11-25, by: MV, why: pits, at: '17:00'}]\n",
    "sent: [{on: 2026-11-25, by: MV, to: N, for: requalification}]\n",
    "",
)


def told_of(what: Dealing, log: str, more: str = "", fill: int = 1) -> tuple[object, ...]:
    owner = {"use": "sale"} if what is Dealing.SOLD else {"use": "customer", "owner": "C-9"}
    card = stamped(with_lines(GOOD, service="nitrox", status=None, **owner))
    book = make_book({"A": card + DONE[what] + more}, log=BEFORE.format(id="A") + log)
    nth = fill if what is Dealing.FILLED else 1
    found = receipt(book, ["A"], what, DAY, nth=nth)
    assert isinstance(found, CounterReceipt), found
    (item,) = found.items
    paper = text(receipt_paper.document(found, book.settings, Page()), Page())
    return item.contents, item.doubt, item.pressure_unknown, paper


def written(things: list[str], hour: int) -> str:
    return "".join(
        line(f"{hour}:{minute:02}", *THINGS[thing]) for minute, thing in enumerate(things)
    )


@pytest.mark.parametrize("what", DONE)
@given(
    st.lists(st.sampled_from(sorted(THINGS)), max_size=3),
    st.lists(st.sampled_from(sorted(THINGS)), min_size=1, max_size=3),
    st.sampled_from(ON_THE_CARD),
)
def test_what_came_later_that_day_changes_no_paper(
    what: Dealing, earlier: list[str], later: list[str], more: str
) -> None:
    """As a replay of the records that is cut at the hour of the entry."""
    until = written(earlier, 10) + OF_ITSELF.get(what, "")
    fill = sum("filled" in each for each in earlier) + 1
    whole = told_of(what, until + written(later, 15), more, fill)
    assert whole == told_of(what, until, fill=fill)
    assert not whole[1]


@pytest.mark.parametrize("what", DONE)
@pytest.mark.parametrize("later", THINGS)
def test_in_the_same_minute_the_order_of_the_log_tells(what: Dealing, later: str) -> None:
    if what not in OF_ITSELF:
        return
    after = line(AT, *THINGS[later])
    assert told_of(what, OF_ITSELF[what] + after) == told_of(what, OF_ITSELF[what])


UNANALYSED = line("09:00", "fill", "3000 psi", "; gas=nitrox32; temperature=70 degF; source=B2")
ANALYSES = {
    "of its pressure": (line("09:20", "reading", "2950 psi", "; o2=31.4 %; analysed_by=KD"), True),
    "of another gas than was meant": (
        line("09:20", "reading", "2950 psi", "; o2=28 %; analysed_by=KD"),
        True,
    ),
    "after a look at the gauge": (
        line("09:10", "reading", "2950 psi")
        + line("09:20", "reading", "2950 psi", "; o2=31.4 %; analysed_by=KD"),
        True,
    ),
    "after a dive": (line("16:00", "reading", "500 psi", "; o2=28 %; analysed_by=KD"), False),
    "after it was drained": (
        line("09:10", "drain", "0 psi") + line("09:20", "reading", "2950 psi", "; o2=28 %"),
        False,
    ),
    "fuller": (line("09:20", "reading", "3800 psi", "; o2=28 %; analysed_by=KD"), False),
}


@pytest.mark.parametrize("which", ANALYSES)
def test_an_analysis_of_what_a_fill_put_in_is_of_that_fill(which: str) -> None:
    lines, belongs = ANALYSES[which]
    card = stamped(with_lines(GOOD, use="customer", owner="C-9", service="nitrox"))
    book = make_book({"A": card}, log=UNANALYSED + lines)
    found = receipt(book, ["A"], Dealing.FILLED, DAY)
    assert isinstance(found, CounterReceipt)
    held = found.items[0].contents
    assert (held.oxygen is not None) is belongs
    assert str(held.pressure) == "3000 psi"
    if "another" in which:
        assert str(held.gas) == "nitrox28"


DOUBTS = {
    "air alone": (line("10:00", "fill", "3000 psi", "; gas=air; source=B1"), "air"),
    "drained": (line("10:00", "drain", "0 psi"), "nitrox32, then empty"),
    "another": (line("10:00", "fill", "3300 psi", TRIMIX), "nitrox32, then trimix10/70"),
}


def test_of_air_alone_that_differs_in_pressure_the_pressure_is_not_known() -> None:
    log = BEFORE.replace("nitrox32; o2=32.1 %; analysed_by=KD", "air").format(id="A")
    log += line("10:00", "fill", "3300 psi", "; gas=air; source=B3")
    card = stamped(with_lines(GOOD, use="customer", owner="C-9"))
    card += "refused: [{on: 2026-11-25, by: MV, reasons: [dented]}]\n"
    book = make_book({"A": card}, log=log)
    found = receipt(book, ["A"], Dealing.REFUSED, DAY)
    assert isinstance(found, CounterReceipt)
    said = text(receipt_paper.document(found, book.settings, Page()), Page())
    said = " ".join(said.split())
    assert "on record air; its pressure NOT KNOWN by the hour" in said
    assert "more than one gas" not in said


@pytest.mark.parametrize("which", ["drained", "another"])
@pytest.mark.parametrize("what", [Dealing.REFUSED, Dealing.TAKEN_IN, Dealing.SOLD])
def test_without_an_hour_it_is_told_what_it_may_have_been(what: Dealing, which: str) -> None:
    lines, doubt = DOUBTS[which]
    card = stamped(
        with_lines(GOOD, use="sale" if what is Dealing.SOLD else "customer", owner="C-9")
    )
    book = make_book(
        {"A": card + DONE[what].replace(", at: '12:00'", "")},
        log=BEFORE.format(id="A") + lines,
    )
    found = receipt(book, ["A"], what, DAY)
    assert isinstance(found, CounterReceipt)
    said = " ".join(text(receipt_paper.document(found, book.settings, Page()), Page()).split())
    assert found.items[0].hour_unknown
    assert f"that day's log tells more than one thing of it ({doubt})" in said


STRUCK = "at={at}:00+00:00; cylinder=A; act=void; voids=2026-11-25T09:00:00+00:00; by=MV\n"


@pytest.mark.parametrize("struck", ["2026-11-25T12:00", "2026-11-25T17:00", "2026-11-26T09:00"])
@pytest.mark.parametrize(
    "what", [Dealing.LENT, Dealing.HANDED_BACK, Dealing.SOLD, Dealing.REFUSED, Dealing.TAKEN_IN]
)
def test_what_is_struck_out_is_on_no_paper_whenever_that_was_done(
    what: Dealing, struck: str
) -> None:
    """A fill that was logged of the wrong cylinder was never in it, at no hour before either."""
    fill = line("09:00", "fill", "3300 psi", TRIMIX)
    assert "trimix10/70" in told_of(what, fill)[3]
    contents, doubt, unknown, said = told_of(what, fill + STRUCK.format(at=struck))
    assert (contents, doubt, unknown) == told_of(what, "")[:3]
    assert "trimix" not in said
    assert "nitrox32" in said
