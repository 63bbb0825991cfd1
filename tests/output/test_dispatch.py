"""Dispatch notes and notes back: what they say, read back from the PDF, over drawn ledgers."""

from __future__ import annotations

import datetime as dt
import re

import books
import pdf
import pytest
import sent
from hypothesis import given
from sent import FLEETS, Stay

from tankbook.acts.dispatch import CameBack, counted_in, notes_sent, told_of
from tankbook.output import dispatch
from tankbook.output.document_text import text
from tankbook.output.page import Page
from tankbook.output.report import made

TODAY = dt.date(2026, 11, 25)
NARROW = Page(40)


def flat(data: bytes) -> str:
    return " ".join(pdf.text_of(data).split())


@given(FLEETS)
def test_what_was_sent_is_on_one_note_and_no_other(stays: list[Stay]) -> None:
    notes = notes_sent(sent.book(stays))
    told = {(item.card.id, note.on.first, note.to) for note in notes for item in note.items}
    assert told == {(id_, each.on, each.place) for id_, each in sent.ids(stays).items()}
    assert len({note.name for note in notes}) == len(notes)
    for note in notes:
        away = {i.card.id for i in note.items if sent.ids(stays)[i.card.id].back is None}
        assert {i.card.id for i in note.away} == away


@given(FLEETS)
def test_the_pdf_has_each_cylinder_with_all_that_is_asked(stays: list[Stay]) -> None:
    by_id = sent.ids(stays)
    book = sent.book(stays)
    for note in notes_sent(book):
        items = told_of(book, note)
        for paper in ("a4", "letter"):
            document = dispatch.going(note, items, "Test Quay", Page())
            made_ = made(document, ".pdf", paper)
            said = flat(made_)
            assert min(pdf.sizes_of(made_)) >= 6
            for item in items:
                stay = by_id[item.card.id]
                own = re.search(
                    rf"cylinder {item.card.id}, serial {item.card.serial}.*?done there", said
                )
                assert own, item.card.id
                ticked = re.findall(r"\[x\] ([a-z0-9-]+)", own[0])
                assert set(ticked) == set(stay.asked or ("hydro",)) | ({stay.valve} - {None})
                for fact in ("3000 psi, test 5000 psi", "DOT-3AL", "aluminium", "Mar 2024"):
                    assert fact in own[0]
                assert ("TAKE IT FOR FULL" in own[0]) == (stay.bled == "no-flow")
                assert ("NOT ON RECORD AS EMPTY" in own[0]) == (stay.bled is None)
                assert stay.why in own[0]


@given(FLEETS)
def test_the_note_back_ticks_off_what_came_and_tells_the_rest(stays: list[Stay]) -> None:
    by_id = sent.ids(stays)
    book = sent.book(stays)
    for note in notes_sent(book):
        items = told_of(book, note)
        document = dispatch.back(note, items, None, "Test Quay", TODAY)
        said = flat(made(document, ".pdf", "a4"))
        for item in items:
            stay, id_ = by_id[item.card.id], item.card.id
            assert f"[{' ' if stay.back is None else 'x'}] {id_}" in said
            assert (f"by T{int(id_[3:])}" in said) == bool(stay.home and stay.result)
            if stay.home is None:
                assert item.came is CameBack.AWAY
            elif stay.result is None:
                assert item.came is CameBack.BACK
            elif stay.result == "fail":
                assert item.came is CameBack.FAILED
            else:  # a hydro is all that is on record
                whole = not {"visual", "eddy-current", "o2-clean"} & set(stay.asked)
                assert item.came is (CameBack.PASSED if whole else CameBack.PART)
        home = sum(by_id[i.card.id].back is not None for i in note.items)
        assert f"{home} of {len(note.items)} back" in document.told


@given(FLEETS)
def test_both_fit_a_terminal_of_40_columns(stays: list[Stay]) -> None:
    book = sent.book(stays)
    for note in notes_sent(book):
        items = told_of(book, note)
        for document in (
            dispatch.going(note, items, "Test Quay", NARROW),
            dispatch.back(note, items, None, "Test Quay", TODAY),
        ):
            lines = text(document, NARROW).splitlines()
            assert max(map(len, lines)) <= 40
            assert "[\n" not in "\n".join(lines)


@pytest.mark.parametrize(
    ("result", "on", "came"),
    [
        ("pass", "2026-09-03", CameBack.CONDEMNED),  # while it was there
        ("fail", "2026-10-20", CameBack.CONDEMNED),  # as what came of it, written later
        (None, "2026-10-20", CameBack.CONDEMNED),
        ("pass", "2026-10-20", CameBack.PASSED),  # it passed, was used, and was condemned here
    ],
)
def test_what_was_condemned_long_after_it_passed_did_not_come_back_so(
    result: str | None, on: str, came: CameBack
) -> None:
    text_ = sent.card(1, Stay(0, sent.PLACES[0], 5, result, "heard", "off", (), ""))
    gone = f"condemned: [{{on: {on}, by: T9, why: neck crack}}]\n"
    text_ = text_.replace("status: awaiting-inspection", "status: condemned")
    book = books.make_book({"RB-001": text_ + gone})
    (note,) = notes_sent(book)
    (item,) = told_of(book, note)
    assert item.came is came
    assert (", 1 failed or condemned" in dispatch.back(note, (item,), None, "Q", TODAY).told) == (
        came is not CameBack.PASSED
    )


@pytest.mark.parametrize(
    ("asked", "result", "cleaned", "came"),
    [
        (("o2-clean",), None, None, CameBack.BACK),
        (("o2-clean",), None, "2026-09-03", CameBack.DONE),
        (("o2-clean",), None, "2026-10-20", CameBack.BACK),  # here, when it was home again
        (("hydro", "o2-clean"), "pass", None, CameBack.PART),
        (("hydro", "o2-clean"), "pass", "2026-09", CameBack.PASSED),
        (("hydro", "o2-clean"), None, "2026-09-03", CameBack.PART),
        (("hydro", "o2-clean"), "fail", "2026-09-03", CameBack.FAILED),
    ],
)
def test_a_cleaning_that_was_asked_and_is_not_on_record_is_told(
    asked: tuple[str, ...], result: str | None, cleaned: str | None, came: CameBack
) -> None:
    text_ = sent.card(1, Stay(0, sent.PLACES[0], 5, result, "heard", "off", asked, ""))
    text_ = re.sub(r"(?m)^cleaned:.*\n(?: .*\n)*", "", text_)
    if cleaned:
        text_ += f"cleaned: [{{on: {cleaned}, by: T9, to: oxygen}}]\n"
    book = books.make_book({"RB-001": text_})
    (note,) = notes_sent(book)
    (item,) = told_of(book, note)
    assert item.came is came
    said = text(dispatch.back(note, (item,), None, "Q", TODAY), Page(200))
    assert ("o2-clean done" in said) == (cleaned in {"2026-09-03", "2026-09"})


def test_findings_that_are_longer_than_a_page_run_over_it() -> None:
    text_ = sent.card(1, Stay(0, sent.PLACES[0], None, None, "heard", "off", (), ""))
    holds = "\n".join(
        f"  - {{on: 2026-08-02, by: MV, why: n{n} {'gouge near the foot ' * 22}}}"
        for n in range(40)
    )
    book = books.make_book({"RB-001": f"{text_}held:\n{holds}\n"})
    (note,) = notes_sent(book)
    document = dispatch.going(note, told_of(book, note), "Test Quay", Page())
    said = flat(made(document, ".pdf", "letter"))
    assert len(re.findall(r"\bn\d+\b", said)) == 40


def test_a_long_note_repeats_its_headings_and_loses_nothing() -> None:
    stay = Stay(0, sent.PLACES[0], 5, "pass", "heard", "off", (), "")
    book = sent.book([stay] * 90)
    (note,) = notes_sent(book)
    items = told_of(book, note)
    for document in (
        dispatch.going(note, items, "Test Quay", Page()),
        dispatch.back(note, items, None, "Test Quay", TODAY),
    ):
        data = made(document, ".pdf", "a4")
        pages = pdf.text_of(data).split("\n\f\n")
        assert len(pages) > 3
        tabled = [p for p in pages if re.search(r"^\[[ x]\] RB-", p, re.MULTILINE)]
        assert len(tabled) > 1
        assert all(re.search(r"^cylinder (for|back)", p, re.MULTILINE) for p in tabled)
        assert len(set(re.findall(r"RB-\d{3}", "".join(pages)))) == 90
        assert all(f"page {n} of {len(pages)}" in p for n, p in enumerate(pages, 1))


def test_what_is_not_on_the_note_is_told_and_which_note_it_is_on() -> None:
    one = Stay(0, sent.PLACES[0], None, None, None, None, (), "")
    stays = [one, one._replace(day=2), one._replace(back=3)]
    book = sent.book(stays)
    notes = notes_sent(book)
    found = counted_in(notes[0], notes, ["RB-001", "RB-002"], ["K9"])
    assert found.not_on_it == (
        ("K9", "no cylinder of this ledger"),
        ("RB-002", "it is on note 2026-09-03 to Northside Test House"),
    )
    assert found.not_recorded == ("RB-001",)
    assert found.not_counted == ("RB-003",)
    document = dispatch.back(notes[0], told_of(book, notes[0]), found, "Test Quay", TODAY)
    assert "2 cylinders NOT ON THE NOTE" in document.told
    said = flat(made(document, ".pdf", "letter"))
    for part in ("K9 no cylinder", "`tankbook back RB-001`", "not counted: RB-003"):
        assert part in said


@pytest.mark.parametrize("on", ["2026-09", "2026-09-02"])
def test_the_test_of_a_stay_is_not_the_last_test_before_it(on: str) -> None:
    """A month has begun before its test was made: the note would tell what came of it."""
    stay = Stay(0, sent.PLACES[0], 5, "pass", "heard", None, (), "")
    card = sent.card(1, stay).replace("on: 2026-09-02", f"on: {on}")
    book = sent.books.make_book({"RB-001": card})
    (note,) = notes_sent(book)
    (item,) = told_of(book, note)
    assert item.last_test is not None
    assert str(item.last_test.on) == "2024-03"
    assert [str(t.on) for t in item.tests] == [on]


def test_a_serial_is_told_as_it_is_written() -> None:
    stay = Stay(0, sent.PLACES[0], None, None, None, None, (), "")
    card = sent.card(1, stay).replace("K000001", "k00a01")
    book = sent.books.make_book({"RB-001": card})
    (note,) = notes_sent(book)
    said = text(dispatch.going(note, told_of(book, note), "Quay", NARROW), NARROW)
    assert "serial k00a01" in said
    assert "K00A01" not in said


HYDRO = "  - {on: 2026-09-02, method: hydrostatic, by: T1, stamp: 09 T1 26}\n"
EDDY = "  - {on: 2026-09-02, method: eddy-current, by: T1%s}\n"


@pytest.mark.parametrize(
    ("asked", "tests", "came"),
    [
        (("hydro",), HYDRO, CameBack.PASSED),
        ((), HYDRO, CameBack.PASSED),
        (("hydro", "eddy-current"), HYDRO, CameBack.PART),
        (("hydro", "eddy-current"), HYDRO + EDDY % "", CameBack.PASSED),
        (("hydro",), EDDY % "", CameBack.PART),
        (("hydro", "eddy-current"), EDDY % ", result: fail" + HYDRO, CameBack.FAILED),
        (("hydro",), HYDRO.replace("stamp", "result: fail, stamp") + HYDRO, CameBack.PASSED),
        (("hydro",), HYDRO + HYDRO.replace("stamp", "result: fail, stamp"), CameBack.FAILED),
        (("hydro", "o2-clean"), HYDRO, CameBack.PART),
        (("hydro",), "", CameBack.BACK),
    ],
)
def test_it_passed_where_all_that_was_asked_did(
    asked: tuple[str, ...], tests: str, came: CameBack
) -> None:
    """Of several tests one that failed is no pass, whichever was written down last."""
    stay = Stay(0, sent.PLACES[0], 5, None, "heard", None, asked, "")
    card = sent.card(1, stay).replace("inspected:", f"{tests}inspected:")
    book = sent.books.make_book({"RB-001": card})
    (note,) = notes_sent(book)
    assert [item.came for item in told_of(book, note)] == [came]


@pytest.mark.parametrize(("on", "sure"), [("2026-09", False), ("2026-09-02", True)])
def test_a_month_that_may_be_of_another_stay_is_no_pass_of_this_one(on: str, sure: bool) -> None:
    stay = Stay(0, sent.PLACES[0], 5, "pass", "heard", None, (), "")
    again = "  - {on: 2026-09-10, by: MV, to: Weir Valve Bench, for: requalification, back: 2026-09-20}\n"
    card = sent.card(1, stay).replace("on: 2026-09-02", f"on: {on}") + again
    book = sent.books.make_book({"RB-001": card})
    first, second = notes_sent(book)
    came = [told_of(book, note)[0].came for note in (first, second)]
    assert came == ([CameBack.PASSED, CameBack.BACK] if sure else [CameBack.PART, CameBack.PART])
    said = flat(
        made(dispatch.back(second, told_of(book, second), None, "Quay", TODAY), ".pdf", "a4")
    )
    assert ("or of another time it was away" in said) == (not sure)


FILLED = (
    "at=2026-08-30T10:00:00+02:00; cylinder=RB-001; act=fill; from=500 psi; to=2900 psi; "
    "gas=nitrox32; o2=32.1 %; by=MV; analysed_by=MV"
)
DRAINED = "at=2026-09-01T08:00:00+02:00; cylinder=RB-001; act=drain; from=2900 psi; to=0 psi; by=MV"


@pytest.mark.parametrize("back", [None, 5])
@pytest.mark.parametrize("month", [False, True])
@pytest.mark.parametrize(
    ("log", "bled", "empty", "held"),
    [
        (FILLED, None, "NOT ON RECORD AS EMPTY", "nitrox32, analysed 32.1 % oxygen by MV, 2900"),
        (FILLED, "heard", "bled, the flow heard", "nitrox32, analysed 32.1 % oxygen by MV, 2900"),
        (FILLED, "no-flow", "TAKE IT FOR FULL", "nitrox32, analysed 32.1 % oxygen by MV, 2900"),
        (f"{FILLED}\n{DRAINED}", None, "empty on record", "empty (0 psi, 1 Sep 2026)"),
        ("", None, "NOT ON RECORD AS EMPTY", "nothing on record"),
    ],
)
def test_the_note_says_what_was_in_it_when_it_went(
    log: str, bled: str | None, empty: str, held: str, month: bool, back: int | None
) -> None:
    """Nobody knows what is in it once it is away; whoever gets it must know what it left with."""
    stay = Stay(0, sent.PLACES[0], back, "pass" if back else None, bled, None, (), "")
    card = sent.files([stay])["RB-001"]
    if month:  # a test of its month is one that was made there
        card = card.replace("on: 2026-09-02, method", "on: 2026-09, method")
    book = books.make_book({"RB-001": card}, log=log)
    (note,) = notes_sent(book)
    said = text(dispatch.going(note, told_of(book, note), "Test Quay", Page()), Page(200))
    assert re.search(rf"^empty +{re.escape(empty)}", said, re.M), said
    assert re.search(rf"^last held +{re.escape(held)}", said, re.M), said


@pytest.mark.parametrize("at", ["2026-08-31", "2026-09-03"])
def test_the_note_tells_nothing_that_is_struck_out_since(at: str) -> None:
    """A fill that was logged of the wrong cylinder was not in it when it went, whenever that was
    found out."""
    void = (
        f"at={at}T12:00:00+02:00; cylinder=RB-001; act=void; voids=2026-08-30T10:00:00+02:00; by=MV"
    )
    card = sent.files([Stay(0, sent.PLACES[0], None, None, None, None, (), "")])["RB-001"]
    book = books.make_book({"RB-001": card}, log=f"{FILLED}\n{void}")
    (note,) = notes_sent(book)
    said = text(dispatch.going(note, told_of(book, note), "Test Quay", Page()), Page(200))
    assert "nitrox32" not in said
    assert re.search(r"^last held +nothing on record", said, re.M), said


BLED_OR_NOT = {
    "filled that day": ("heard", "2026-11-20T15:00", "fill", "to=2900 psi; gas=air", True),
    "filled before that day": ("heard", "2026-11-19T15:00", "fill", "to=2900 psi; gas=air", False),
    "filled while away": ("heard", "2026-11-22T15:00", "fill", "to=2900 psi; gas=air", True),
    "filled while away, not bled": ("", "2026-11-22T15:00", "fill", "to=2900 psi; gas=air", True),
    "read while away": ("heard", "2026-11-22T15:00", "reading", "to=2900 psi", True),
    "read as empty while away": ("heard", "2026-11-22T15:00", "reading", "to=0 psi", False),
    "read that day before it was bled": (
        "heard",
        "2026-11-20T08:00",
        "reading",
        "to=900 psi",
        False,
    ),
}


@pytest.mark.parametrize(
    ("bled", "at", "act", "more", "full"), BLED_OR_NOT.values(), ids=BLED_OR_NOT
)
def test_what_was_filled_since_it_was_bled_is_taken_for_full(
    bled: str, at: str, act: str, more: str, full: bool
) -> None:
    """Never `bled` beside what was put in it, which may have come after."""
    how = f", bled: {bled}" if bled else ""
    gone = f"sent: [{{on: 2026-11-20, by: MV, to: N, for: requalification{how}}}]\n"
    card = books.with_lines(books.GOOD, status=None) + gone
    log = f"at={at}:00+01:00; cylinder=A; act={act}; {more}; by=MV"
    (note,) = notes_sent(book := books.make_book({"A": card}, log=log))
    (item,) = told_of(book, note, TODAY)
    said = text(dispatch.going(note, (item,), "Test Quay", Page(400)), Page(400))
    assert ("TAKE IT FOR FULL" in said) is full
    assert ("bled, the flow heard" in said) is (bool(bled) and not full)
    assert dispatch.data(note, (item,), None)["items"][0]["emptied"] == item.emptied
