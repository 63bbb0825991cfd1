"""The whole card, as text and as JSON; and the tags made from it."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable

import books
import pytest
from changing import replace
from syrupy.assertion import SnapshotAssertion

from tankbook.output import as_json, tags
from tankbook.output import card as output
from tankbook.output.card import Card
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.node import Finding, Where
from tankbook.rules.answers import Contents, Gate, Reason
from tankbook.rules.conditions import cleaned_for
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.schedule import due
from tankbook.rules.volume import water_volume_of
from tankbook.units import GaugePressure


@pytest.fixture(name="card_for")
def _card_for(book: Book, today: dt.date) -> Callable[[str], Card]:
    def make(id_: str) -> Card:
        cylinder = book.cylinders[id_]
        return Card(
            id=id_,
            record=cylinder,
            answer=may_fill(book, id_, today),
            contents=contents_of(book, id_),
            dues=tuple(d for d in due(book, today) if d.id == id_),
            water_volume=water_volume_of(book, cylinder),
            standing="in-service",
            cleaned_for=cleaned_for(book, cylinder, today),
        )

    return make


@pytest.fixture(name="broken")
def _broken(today: dt.date) -> Card:
    fault = Finding(Where("cylinders/RB-099.yaml", 3, 5), "bad-value", "`300 ps` is no pressure")
    book = books.make_book()
    broken = Book(settings=book.settings, rule_sets=book.rule_sets, broken={"RB-099": (fault,)})
    return Card(
        id="RB-099",
        record=None,
        answer=may_fill(broken, "RB-099", today),
        contents=contents_of(broken, "RB-099"),
        dues=(),
        faults=(fault,),
    )


def test_the_page(card_for: Callable[[str], Card], page: Page, snapshot: SnapshotAssertion) -> None:
    text = output.text(card_for("RB-016"), page)
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


def test_the_first_line_says_whether_it_may_be_filled(
    card_for: Callable[[str], Card], page: Page
) -> None:
    assert output.text(card_for("RB-014"), page).startswith(
        "RB-014 in-service: may be filled, air, 3000 psi at 70 degF\n"
    )
    assert output.text(card_for("RB-015"), page).startswith("RB-015 in-service: DO NOT FILL: ")


def test_struck_out_entries_stay_and_are_marked(card_for: Callable[[str], Card]) -> None:
    entries = dict(output.entries_of(card_for("RB-016").record))
    assert output.entry_text(entries["inspected"][0]) == (
        "2026-01-09  by MV, checklist annual, result pass [STRUCK OUT 2026-01-10 by MV: wrong card]"
    )


def test_entries_inside_the_valve_are_shown(page: Page) -> None:
    text = books.GOOD.replace(
        "disc: 5000 psi}", "disc: 5000 psi, serviced: [{on: 2026-02-09, by: MV}]}"
    )
    entries = dict(output.entries_of(books.typed(Cylinder, text)))
    assert [output.entry_text(e) for e in entries["valve serviced"]] == ["2026-02-09  by MV"]


def test_an_empty_cylinder_is_called_empty(page: Page) -> None:
    zero = Contents(None, GaugePressure.of(0, "psi"), None, None, dt.date(2026, 4, 8))
    assert output.contents_text(zero, page) == "empty (0 psi, 8 Apr 2026)"
    some = replace(zero, pressure=GaugePressure.of(500, "psi"))
    assert output.contents_text(some, page) == "gas unknown, 500 psi, 8 Apr 2026"
    neither = replace(some, pressure=None)
    assert output.contents_text(neither, page) == "not known since 8 Apr 2026"


def test_what_it_holds_is_said_with_analysis_and_source(
    card_for: Callable[[str], Card], page: Page
) -> None:
    assert output.contents_text(card_for("RB-016").contents, page) == (
        "nitrox32, analysed 32.1 % oxygen by MV, 3000 psi, 21 Nov 2026, from B2"
    )
    assert output.contents_text(card_for("RB-015").contents, page) == "nothing on record"


def test_a_file_that_cannot_be_read_still_has_a_card(broken: Card, page: Page) -> None:
    text = output.text(broken, page)
    assert text.startswith("RB-099: DO NOT FILL: its file cannot be read")
    assert "cylinders/RB-099.yaml:3:5: `300 ps` is no pressure" in text
    got = output.data(broken)
    assert (got["kind"], got["record"]) == ("unreadable", None)


@pytest.mark.parametrize(
    ("turned", "said"),
    [
        ("isolator: open", ["open"]),
        ("isolator: open\nturned: [{on: 2026-11-20, stands: shut}]", ["shut, since 2026-11-20"]),
        (
            "isolator: shut\nisolator_since: 2026-11-24\nturned: [{on: 2026-11-20, stands: open}]",
            ["shut, since 2026-11-24"],
        ),
        (
            'turned: [{on: 2026-11-20, stands: open, at: "16:30"}, {on: 2026-11-20, stands: shut, at: "09:30"}]',
            ["open, since 2026-11-20 16:30"],
        ),
    ],
)  # fmt: skip
def test_an_isolator_is_told_as_it_stands_by_the_last_time_it_was_turned(
    turned: str, said: list[str]
) -> None:
    made = books.make_book({"A": books.GOOD}, sets={"D": f"cylinders: [A, B]\n{turned}\n"}).sets[
        "D"
    ]
    assert [value for name, value in output.facts(made) if name == "isolator"] == said
    assert str(made.isolator) == said[0].partition(",")[0]


def test_the_json_carries_the_record_as_its_file_has_it(card_for: Callable[[str], Card]) -> None:
    got = json.loads(as_json.dumps(output.data(card_for("RB-014"))))
    assert list(got) == [
        "id",
        "kind",
        "stands",
        "may_fill",
        "water_volume_L",
        "water_volume_basis",
        "contents",
        "sides",
        "due",
        "valve",
        "isolator",
        "record",
        "faults",
        "untrue_labels",
        "states",
    ]
    assert got["water_volume_L"] == 11.1
    assert got["contents"]["pressure_psi"] == 3000
    assert got["record"]["service_pressure"] == "3000 psi"
    assert got["record"]["inspected"] == [
        {
            "on": "2026-02-09",
            "by": "MV",
            "checklist": "annual",
            "result": "pass",
            "sticker": "issued",
        }
    ]


def test_a_set_names_its_cylinders(page: Page, today: dt.date) -> None:
    book = books.make_book(
        {"A-1": books.GOOD, "A-2": books.GOOD.replace("K118204", "K118205")},
        sets={"DB-02": "cylinders: [A-1, A-2]\nisolator: open\nuse: rental\n"},
    )
    doubles = book.sets["DB-02"]
    assert isinstance(doubles, Doubles)
    dues = due(book, today)
    card = Card(
        "DB-02", doubles, may_fill(book, "DB-02", today), contents_of(book, "DB-02"), (),
        cylinders=output.sides_on_card(book, doubles, dues, today),
    )  # fmt: skip
    assert output.data(card)["kind"] == "set"
    assert "cylinders         A-1, A-2" in output.text(card, page)
    tag = tags.tag(card, page)
    assert "| A-1         serial K118204, 3000 psi" in tag
    assert "| A-2         serial K118205, 3000 psi" in tag
    both = {d.obligation for d in dues if d.id == "A-1"}
    assert len([line for line in tag.splitlines() if ", both" in line]) == len(both) > 1
    told = tags.data([card])[0]["cylinders"]
    assert [(s["id"], s["serial"], len(s["due"])) for s in told] == [
        ("A-1", "K118204", len(both)), ("A-2", "K118205", len(both)),
    ]  # fmt: skip


def test_a_tag_of_a_set_says_the_limit_of_its_weakest_part_and_the_dates_of_both_sides(
    page: Page, today: dt.date
) -> None:
    other = books.GOOD.replace("K118204", "K118205").replace("2026-02-09", "2026-01-15")
    sets = {
        "DB-02": "cylinders: [A-1, A-2]\nmanifold: M 4350\nrating: 4350 psi\nisolator: open\n"
        "use: rental\n"
    }
    book = books.make_book(
        {"A-1": books.GOOD, "A-2": other.replace("service: air", "service: nitrox")}, sets=sets
    )
    doubles = book.sets["DB-02"]
    card = Card(
        "DB-02", doubles, may_fill(book, "DB-02", today), contents_of(book, "DB-02"), (),
        cylinders=output.sides_on_card(book, doubles, due(book, today), today),
    )  # fmt: skip
    said = " ".join(tags.tag(card, page).replace("|", " ").split())
    assert "fill to 3000 psi at 70 degF" in said
    assert "4350" not in said
    assert f"cleaned for {tags.AIR_ONLY} (A-1) cleaned for NOT CLEAN, labelled nitrox (A-2)" in said
    assert "visual to 9 Feb 2027 (A-1) visual to 15 Jan 2027 (A-2)" in said
    assert "hydro to 31 Mar 2029, both" in said


def test_a_tag_says_nothing_of_what_it_holds(card_for: Callable[[str], Card], page: Page) -> None:
    """That would be false after one dive."""
    card = card_for("RB-014")
    tag = tags.tag(card, page)
    for told in ("20 Nov 2026", "from B1"):
        assert told in output.contents_text(card.contents, page)
        assert told not in tag
    assert "holds" not in tag


@pytest.mark.parametrize("id_", ["A-1", "DB-02"])
def test_marks_that_were_not_read_are_told(id_: str, page: Page, today: dt.date) -> None:
    marked = books.GOOD + "marks: DOT-3AL 3000 K118204 4350 03A24\n"
    book = books.make_book(
        {"A-1": marked, "A-2": books.GOOD.replace("K118204", "K118205")},
        sets={"DB-02": "cylinders: [A-1, A-2]\nisolator: open\nuse: rental\n"},
    )
    record = book.sets.get(id_) or book.cylinders[id_]
    card = Card(id_, record, may_fill(book, id_, today), contents_of(book, id_), ())
    told = "its marks carry `4350`, not read"
    assert any(told in said for said in tags.data([card])[0]["warnings"])
    assert f"WARNING: {'A-1: ' if id_ == 'DB-02' else ''}{told}" in output.text(card, page)
    assert "carry `4350`" in " ".join(tags.tag(card, page).replace("|", " ").split())


def test_tags(
    card_for: Callable[[str], Card], broken: Card, page: Page, snapshot: SnapshotAssertion
) -> None:
    cards = [card_for("RB-014"), card_for("RB-015"), broken]
    text = tags.text(cards, page)
    assert {len(line) for line in text.splitlines() if line} == {tags.WIDTH}
    assert text == snapshot


def test_a_tag_that_refuses_says_so_before_anything_else(
    card_for: Callable[[str], Card], page: Page
) -> None:
    lines = [line.strip("| ") for line in tags.tag(card_for("RB-015"), page).splitlines()]
    assert lines[1:4] == ["RB-015", "", "*** DO NOT FILL ***"]
    assert "DO NOT FILL" not in tags.tag(card_for("RB-014"), page)


def test_tags_as_json(card_for: Callable[[str], Card], broken: Card) -> None:
    good, unread = tags.data([card_for("RB-014"), broken])
    assert good["do_not_fill"] == []
    assert unread["do_not_fill"]
    assert (good["serial"], unread["serial"]) == ("K118204", None)


@pytest.mark.parametrize(("count", "told"), [(1, 1), (8, 8), (9, 7), (42, 7)])
def test_a_tag_tells_the_first_reasons_and_how_many_more(
    count: int, told: int, card_for: Callable[[str], Card], page: Page
) -> None:
    """What is against breathing what is in it is among the first, wherever the gate tells it."""
    card = card_for("RB-014")
    lapsed = [Reason(f"lapsed-{n}", f"reason {n:03}", Gate.REFUSE) for n in range(count - 1)]
    held = Reason("standing-held", "it is held: bad air", Gate.REFUSE)
    answer = replace(card.answer, fillable=False, reasons=(*lapsed, held))
    said = [line.strip("| ") for line in tags.tag(replace(card, answer=answer), page).splitlines()]
    assert said[4] == "- it is held: bad air"
    assert sum("reason " in line for line in said) == told - 1
    more = f"- and {count - told} more: `tankbook may-fill RB-014` lists all"
    assert (more in " ".join(said)) is (count > told)
    told_all = tags.data([replace(card, answer=answer)])[0]["do_not_fill"]
    assert len(told_all) == count


def test_a_tag_says_that_it_is_out_by_the_record_alone(
    card_for: Callable[[str], Card], page: Page
) -> None:
    """It hangs on what is here."""
    card = card_for("RB-014")
    for side in ("", "RB-043: "):
        out = Reason("standing-out", f"{side}it is out", Gate.REFUSE)
        answer = replace(card.answer, fillable=False, reasons=(out,))
        said = " ".join(tags.tag(replace(card, answer=answer), page).replace("|", " ").split())
        assert f"- {side}by the record it is out: record its return first" in said
