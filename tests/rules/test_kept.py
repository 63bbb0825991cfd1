"""What every screen and paper says of a cylinder that is somewhere and has something against it."""

from __future__ import annotations

import books
import pytest
from changing import replace
from hypothesis import given, settings
from hypothesis import strategies as st
from sweep import tries

from tankbook.acts.dispatch import notes_sent, told_of
from tankbook.output import board as board_output
from tankbook.output import card as card_output
from tankbook.output import committee as committee_output
from tankbook.output import dispatch as dispatch_output
from tankbook.output import fleet as fleet_output
from tankbook.output import listing as listing_output
from tankbook.output import rentals as rentals_output
from tankbook.output import report as report_output
from tankbook.output import workshop as workshop_output
from tankbook.output.board import OfGit
from tankbook.output.card import Card
from tankbook.output.document_text import text as document_text
from tankbook.output.listing import Listed
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.records.counter import CounterFile
from tankbook.records.words import Status
from tankbook.rules.answers import MayFill
from tankbook.rules.board import board
from tankbook.rules.bookings import rental_board
from tankbook.rules.committee import committee
from tankbook.rules.costs import costs_ahead
from tankbook.rules.fill_history import contents_of, standings, standings_of, stands_at
from tankbook.rules.fleet import fleet
from tankbook.rules.gate import may_fill
from tankbook.rules.schedule import due
from tankbook.rules.summary import summary
from tankbook.rules.wall_chart import wall_chart
from tankbook.rules.workshop import workshop_board

TODAY = books.TODAY
WIDE = Page(400)
AGAINST = {
    Status.HELD: "held: [{on: 2026-11-21, by: MV, why: tastes of oil}]",
    Status.REJECTED: "rejected: [{on: 2026-11-21, by: MV, why: pitted wall}]",
    Status.CONDEMNED: "condemned: [{on: 2026-11-21, by: MV, why: cracked}]",
}
"""What stands against a cylinder wherever it is."""
AWAY = {
    Status.OUT: "rented: [{on: 2026-11-20, to: B-7, until: 2026-11-28}]",
    Status.AT_TEST: "sent: [{on: 2026-11-17, to: Weir Street Hydro, for: requalification}]",
    Status.AT_REPAIR: "sent: [{on: 2026-11-17, to: Lakeside Valve Bench, for: repair}]",
}
"""Where it may be that is not here."""
GONE = {
    Status.SOLD: "handed_over: [{on: 2026-11-18, to: C-1}]",
    Status.LOST: "lost: [{on: 2026-11-22, by: MV}]",
    Status.AT_SUPPLIER: "sent: [{on: 2026-11-18, to: Maker, for: supplier-return}]",
}
WORDS = {**AGAINST, **AWAY, **GONE}


def book_of(*states: Status, in_set: bool = False, failed: bool = False) -> Book:
    """A cylinder that is in some states at once, out by itself or as one side of doubles."""
    text = books.with_lines(books.GOOD, use="rental", status=None)
    if failed:
        text = books.with_lines(
            text,
            requalified="[{on: 2024-03, method: hydrostatic, by: maker},"
            " {on: 2026-11-19, method: hydrostatic, by: T123, result: fail}]",
        )
    out_in_set = in_set and Status.OUT in states
    own = [s for s in states if not (out_in_set and s is Status.OUT)]
    cards = {"A": text + "".join(f"{WORDS[s]}\n" for s in own)}
    sets = {}
    if out_in_set:
        other = books.with_lines(books.GOOD, use="rental").replace("K118204", "K2")
        cards["B"] = other
        sets["D"] = f"cylinders: [A, B]\nisolator: open\nuse: rental\n{AWAY[Status.OUT]}\n"
    return books.make_book(cards, sets=sets)


def answer_of(book: Book) -> MayFill:
    return may_fill(book, "A", TODAY, contents_of(book, "A").gas)


def card_of(book: Book, id_: str = "A") -> Card:
    record = book.cylinders.get(id_) or book.sets[id_]
    return Card(
        id=id_,
        record=record,
        answer=may_fill(book, id_, TODAY, contents_of(book, id_).gas),
        contents=contents_of(book, id_),
        dues=tuple(d for d in due(book, TODAY) if d.id == id_),
        states=tuple(state.value for state in standings_of(book, id_)),
    )


def screens(book: Book) -> dict[str, str]:
    """What each screen and paper says of A, each on one line or in a few."""
    card = book.cylinders["A"]
    states = standings(book, card)
    row = Listed(
        card, "", "", states[0].value, fillable=False, ready=False,
        states=tuple(s.value for s in states),
    )  # fmt: skip
    found = {
        "list": listing_output.text([row], "", WIDE),
        "list --json": ", ".join(listing_output.data([row])[0]["states"]),
        "show": card_output.text(card_of(book), WIDE).splitlines()[0],
        "may-fill": "; ".join(r.text for r in answer_of(book).refusals),
        "fleet": fleet_output.text(fleet(book, TODAY), costs_ahead(book, TODAY), WIDE),
    }
    return {name: said.replace("-", " ") for name, said in found.items()}


BOTH = [
    *[(a, w) for a in AGAINST for w in AWAY],
    *[(a, w) for a in (Status.HELD, Status.REJECTED) for w in GONE],
]


@pytest.mark.parametrize("in_set", [False, True])
@pytest.mark.parametrize(("against", "where"), BOTH, ids=str)
def test_every_screen_says_where_it_is_and_what_stands_against_it(
    against: Status, where: Status, in_set: bool
) -> None:
    book = book_of(against, where, in_set=in_set)
    for name, said in screens(book).items():
        if name == "may-fill" and where is Status.AT_SUPPLIER:
            continue  # it is the suppliers: that says enough of a fill
        if name == "may-fill" and against is Status.CONDEMNED and where is Status.OUT:
            assert "out" in said
            continue
        assert against.in_words in said, (name, said)
        assert where.in_words in said, (name, said)


@pytest.mark.parametrize("in_set", [False, True])
@pytest.mark.parametrize("where", AWAY, ids=str)
@pytest.mark.parametrize("against", [Status.HELD, Status.REJECTED], ids=str)
def test_each_list_of_one_says_the_other(against: Status, where: Status, in_set: bool) -> None:
    """The board's Held, Out and Away, the rental board, the jobs, the page for a meeting, the
    report, and the note back."""
    book = book_of(against, where, in_set=in_set)
    why = "tastes of oil" if against is Status.HELD else "pitted wall"
    found = board(book, TODAY)
    screen = board_output.text(found, OfGit(()), WIDE)
    placed = "B-7" if where is Status.OUT else "Weir" if where is Status.AT_TEST else "Lakeside"
    if against is Status.HELD:
        (line,) = found.held
        assert line.why == why
        assert placed in line.where
    (absent,) = found.out if where is Status.OUT else found.away
    assert f"{against.in_words}: {why}" in absent.against
    assert screen.count(why) == (2 if against is Status.HELD else 1)
    (kept,) = summary(book, TODAY).kept
    assert kept.status is against
    assert placed in kept.where
    whole = document_text(report_output.report(summary(book, TODAY)), WIDE)
    assert any(kept.where in line and why in line for line in whole.splitlines())
    short = document_text(report_output.report(summary(book, TODAY), short=True), WIDE)
    assert f"A {against.in_words}, not here" in short
    assert "B-7" not in short
    meeting = committee(book, TODAY)
    (line_of,) = (n for n in meeting.not_fit if n.id == "A")
    assert {against, where} <= {*line_of.states}
    paper = document_text(committee_output.document(meeting, "L", lambda text: text), WIDE)
    assert paper.count(why) >= 2
    if where is Status.OUT:
        lent = rentals_output.text(rental_board(book, TODAY), {}, WIDE)
        assert f"{against.in_words}: {why}" in lent
    else:
        (line_away,) = workshop_board(book, TODAY).away
        assert f"{against.in_words}: {why}" in line_away.against
        assert why in workshop_output.text(workshop_board(book, TODAY), {}, WIDE)
        (note,) = notes_sent(book)
        items = told_of(book, note, TODAY)
        back = document_text(dispatch_output.back(note, items, None, "L", TODAY), WIDE)
        (told_in,) = (line for line in back.splitlines() if "serial" in line)
        assert "1 held or rejected" in back.splitlines()[0]
        assert against.in_words in told_in
        assert where.in_words in told_in


def test_what_failed_is_told_where_it_is_away() -> None:
    """A failed test without a rejection on its card, too."""
    book = book_of(Status.AT_TEST, failed=True)
    (absent,) = board(book, TODAY).away
    assert absent.against.startswith("FAILED its ")
    assert "FAILED" in workshop_output.text(workshop_board(book, TODAY), {}, WIDE)


def test_what_is_stolen_is_told_where_it_is_out() -> None:
    stolen = "stolen: [{on: 2026-11-22, by: MV, serial: K118204, why: taken from a car}]"
    counter = books.typed(CounterFile, stolen, "counter.yaml")
    book = replace(book_of(Status.OUT), counter=counter)
    (absent,) = board(book, TODAY).out
    assert "recorded as stolen" in absent.against


def test_a_list_by_status_finds_it_by_each() -> None:
    from tankbook.cli.list_filter import parse

    book = book_of(Status.HELD, Status.OUT)
    states = tuple(s.value for s in standings(book, book.cylinders["A"]))
    row = Listed(book.cylinders["A"], "", "", states[0], fillable=False, ready=False, states=states)
    shore = book.settings.units
    assert all(parse(f"status={word}", shore).holds(row) for word in ("held", "out"))
    assert not parse("status!=out", shore).holds(row)
    assert not parse("status=at-test", shore).holds(row)


def test_one_that_waits_to_be_looked_at_is_told_so_while_its_set_is_out() -> None:
    unseen = books.with_lines(books.GOOD, use="rental", status=None, inspected=None)
    book = books.make_book(
        {"A": unseen, "B": unseen.replace("K118204", "K2")},
        sets={"D": f"cylinders: [A, B]\nisolator: open\nuse: rental\n{AWAY[Status.OUT]}\n"},
    )
    assert standings(book, book.cylinders["A"]) == (Status.OUT, Status.AWAITING_INSPECTION)
    assert "A" in board(book, TODAY).awaiting
    assert {line.id for line in board(book, TODAY).out} == {"D"}


@st.composite
def states_at_once(draw: st.DrawFn) -> Book:
    some = draw(st.sets(st.sampled_from(sorted(WORDS)), max_size=4))
    if len(some & {Status.AT_TEST, Status.AT_REPAIR, Status.AT_SUPPLIER}) > 1:
        some -= {Status.AT_TEST, Status.AT_SUPPLIER}
    return book_of(*sorted(some), in_set=draw(st.booleans()), failed=draw(st.booleans()))


@given(states_at_once())
@settings(max_examples=tries(80, 2000), deadline=None)
def test_one_judge_of_where_it_is_and_what_stands_against_it(book: Book) -> None:
    """The gravest is how it stands; every state is in every list that is of it; each cylinder of
    the fleet is counted once by its states."""
    card = book.cylinders["A"]
    states = standings(book, card)
    assert states[0] is stands_at(book, card)
    assert len(set(states)) == len(states)
    here = board(book, TODAY)
    gone = {Status.SOLD, Status.AT_SUPPLIER, Status.CONDEMNED} & {*states}
    assert {line.id for line in here.held} == (
        {"A"} if Status.HELD in states and not gone else set()
    )
    out = {line.id for line in here.out} & {"A"}
    assert not out or Status.OUT in states
    for line in (*here.out, *here.away):
        kept = {Status.HELD, Status.REJECTED, Status.CONDEMNED, Status.LOST} & {*states}
        assert all(state.in_words in line.against for state in kept)
    for row in wall_chart(book, TODAY).rows:
        if row.id == "A":
            assert {*row.stands} <= {*states}
    for row in fleet(book, TODAY):
        assert sum(n for _, n in row.by_states) == row.count == sum(n for _, n in row.by_status)
    said = screens(book)
    for state in states:
        assert state.in_words in said["list"]
        assert state.in_words in said["show"]
