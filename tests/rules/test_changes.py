"""Two versions of a record file: what is an entry going on, and what is a past entry altered."""

from __future__ import annotations

import textwrap

import pytest
from books import GOOD, SETTINGS, STATION

from tankbook.ledger.events import parse
from tankbook.records.node import Node
from tankbook.rules.changes import Change, What, compare, flat, kind_of

PATH = "cylinders/RB-014.yaml"
ENTRIES = """
held:
  - {on: 2026-03-01, by: MV, why: thread finding}
sent:
  - {on: 2026-03-02, by: MV, to: Northside, for: requalification}
rented:
  - {on: 2026-04-01, by: MV, to: B-4471, until: 2026-04-03}
jobs:
  - {on: 2026-05-01, work: [visual, fill], reference: C-0192, state: open}
rejected:
  - {on: 2026-06-01, by: MV, why: line corrosion}
lost:
  - {on: 2026-07-01, by: MV}
"""
BASE = GOOD + ENTRIES


def node(text: str) -> Node:
    got, findings = parse(textwrap.dedent(text), PATH)
    assert got is not None
    assert not findings, findings
    return got


def changes(old: str, new: str, path: str = PATH) -> list[Change]:
    return list(compare(path, node(old), node(new)))


def with_change(old: str, new: str) -> list[tuple[str, str, tuple[str, ...]]]:
    """What one replacement in the card comes to: kind, place and the keys that differ."""
    assert BASE.count(old) == 1, old
    got = changes(BASE, BASE.replace(old, new))
    return [(c.what.value, c.place, c.differing) for c in got]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("{on: 2026-03-01, by: MV, why: thread finding}", "{why: 'thread finding', on: 2026-03-01, by: MV}"),
        ("  - {on: 2026-07-01, by: MV}", "  - on: 2026-07-01   # seen nowhere\n    by: MV"),
        ("service_pressure: 3000 psi", "service_pressure: 3000psi"),
        ("use: rental", "use: hire"),
        ("method: hydrostatic", "method: hydro"),
        ("method: hydrostatic, by: maker", "method: hydrostatic, by: maker, result: pass, plus: no"),
        ("lost:\n  - {on: 2026-07-01, by: MV}", "lost: {on: 2026-07-01, by: MV}"),
        ("work: [visual, fill]", "work: [ visual,fill ]"),
        ("held:\n", "# a remark\n\nheld:\n"),
        ("alloy: 6061\n", "note:\nalloy: 6061\n"),
    ],
)  # fmt: skip
def test_another_way_to_write_the_same_is_no_change(old: str, new: str) -> None:
    assert with_change(old, new) == []


@pytest.mark.parametrize(
    ("old", "new", "place", "keys"),
    [
        ("why: thread finding", "why: thread finding, released: 2026-03-09, released_by: MV, released_why: gauged", "held", ("released", "released_by", "released_why")),
        ("for: requalification", "for: requalification, back: 2026-03-20", "sent", ("back",)),
        ("to: B-4471, until: 2026-04-03", "to: B-4471, until: 2026-04-05", "rented", ("until",)),
        ("until: 2026-04-03", "until: 2026-04-03, back: 2026-04-03, pressure: 600 psi, valve: closed", "rented", ("back", "pressure", "valve")),
        ("state: open", "state: ready, ready: 2026-05-03", "jobs", ("state", "ready")),
        ("why: line corrosion", "why: line corrosion, told: {on: 2026-06-02, by: MV, how: letter}", "rejected", ("told.on", "told.by", "told.how")),
        ("{on: 2026-07-01, by: MV}", "{on: 2026-07-01, by: MV, found: 2026-07-09, found_by: MV, found_why: under the bench}", "lost", ("found", "found_by", "found_why")),
        ("why: line corrosion", "why: line corrosion, lifted: 2026-07-09, lifted_by: MV, lifted_why: retested", "rejected", ("lifted", "lifted_by", "lifted_why")),
        ("state: open", "state: open, steps: [{on: 2026-05-02, state: awaiting-parts}]", "jobs", ("steps[1].on", "steps[1].state")),
        ("sticker: issued", "sticker: voided", "inspected", ("sticker",)),
        ("sticker: issued", "sticker: voided, note: torn off", "inspected", ("sticker", "note")),
        ("state: open", "state: open, note: urgent", "jobs", ("note",)),
        ("work: [visual, fill]", "work: [visual], note: work was visual and fill until 2026-05-02", "jobs", ("work", "note")),
    ],
)  # fmt: skip
def test_an_entry_that_goes_on_is_no_alteration(
    old: str, new: str, place: str, keys: tuple[str, ...]
) -> None:
    assert with_change(old, new) == [("ended", place, keys)]


@pytest.mark.parametrize(
    ("old", "new", "place", "keys"),
    [
        ("{on: 2024-03, method: hydrostatic", "{on: 2025-03, method: hydrostatic", "requalified", ("on",)),
        ("result: pass, sticker", "result: hold, sticker", "inspected", ("result",)),
        ("checklist: annual", "checklist: annual, note: all well", "inspected", ("note",)),
        ("why: thread finding", "why: nothing", "held", ("why",)),
        ("{on: 2026-07-01, by: MV}", "{on: 2026-07-01, by: TO}", "lost", ("by",)),
        ("by: MV, why: line corrosion", "by: MV, why: line corrosion, note: x, lifted: 2026-07-01", "rejected", ("note", "lifted")),
        ("  - {on: 2026-03-02, by: MV, to: Northside, for: requalification}", "  - {on: 2026-03-03, by: MV, to: Northside, for: requalification}", "sent", ("on",)),
    ],
)  # fmt: skip
def test_whatever_else_changes_in_an_entry_is_an_alteration(
    old: str, new: str, place: str, keys: tuple[str, ...]
) -> None:
    assert with_change(old, new) == [("altered", place, keys)]


def test_an_end_once_written_does_not_change() -> None:
    ended = BASE.replace("until: 2026-04-03", "until: 2026-04-03, back: 2026-04-03")
    for old, new in (("back: 2026-04-03", "back: 2026-04-09"), (", back: 2026-04-03", "")):
        assert [c.what for c in changes(ended, ended.replace(old, new))] == [What.ALTERED]
    assert [
        c.what for c in changes(ended, ended.replace("until: 2026-04-03", "until: 2026-04-30"))
    ] == [What.ALTERED]


def test_a_note_is_only_ever_lengthened() -> None:
    noted = BASE.replace("state: open", "state: open, note: urgent")
    more = noted.replace("note: urgent", "note: urgent; parts ordered")
    other = noted.replace("note: urgent", "note: no hurry")
    assert [c.what for c in changes(noted, more)] == [What.ENDED]
    assert [c.what for c in changes(noted, other)] == [What.ALTERED]
    collected = noted.replace("note: urgent", "note: urgent, collected: 2026-05-09")
    assert [c.what for c in changes(collected, collected.replace("urgent", "urgent; done"))] == [
        What.ALTERED
    ]


def test_striking_out_is_a_correction_and_taking_it_back_is_not() -> None:
    void = "void: {why: wrong card, by: MV, on: 2026-03-04}"
    struck = BASE.replace("why: thread finding", f"why: thread finding, {void}")
    assert [(c.what, c.place) for c in changes(BASE, struck)] == [(What.STRUCK_OUT, "held")]
    assert [c.what for c in changes(struck, BASE)] == [What.ALTERED]
    assert [c.what for c in changes(struck, struck.replace("wrong card", "other card"))] == [
        What.ALTERED
    ]
    released = struck.replace(void, f"released: 2026-03-05, {void}")
    assert [c.what for c in changes(struck, released)] == [What.ALTERED]


def test_striking_out_does_not_cover_an_edit_made_with_it() -> None:
    sly = "why: nothing much, void: {why: wrong card, by: MV, on: 2026-03-04}"
    assert [c.what for c in changes(BASE, BASE.replace("why: thread finding", sly))] == [
        What.ALTERED
    ]
    half = "why: thread finding, void: {why: wrong card}"
    assert [c.what for c in changes(BASE, BASE.replace("why: thread finding", half))] == [
        What.ALTERED
    ]


def test_entries_removed_and_added() -> None:
    gone = BASE.replace("  - {on: 2026-06-01, by: MV, why: line corrosion}\n", "").replace(
        "rejected:\n", ""
    )
    (change,) = changes(BASE, gone)
    assert (change.what, change.place, change.on) == (What.REMOVED, "rejected", "2026-06-01")
    (change,) = changes(gone, BASE)
    assert (change.what, change.place, change.fresh) == (What.ADDED, "rejected", False)


def test_two_entries_of_a_day_are_kept_apart() -> None:
    old = GOOD + "held:\n  - {on: 2026-03-01, why: dent}\n  - {on: 2026-03-01, why: rust}\n"
    new = old.replace("why: dent}", "why: dent, released: 2026-03-02}")
    (change,) = changes(old, new)
    assert (change.what, (change.before or {})["why"]) == (What.ENDED, "dent")


def test_steps_of_a_job_are_added_and_do_not_go() -> None:
    one = BASE.replace("state: open", "state: open, steps: {on: 2026-05-02, state: awaiting-parts}")
    two = BASE.replace(
        "state: open",
        "state: open, steps: [{on: 2026-05-02, state: awaiting-parts}, {on: 2026-05-04, state: ready}]",
    )
    assert [c.what for c in changes(one, two)] == [What.ENDED]
    assert [c.what for c in changes(two, one)] == [What.ALTERED]


def test_one_record_where_a_list_may_stand_is_a_list_of_one() -> None:
    one = BASE.replace("sticker: issued", "findings: {step: boot, result: note, depth: 0.6mm}")
    many = BASE.replace("sticker: issued", "findings: [{step: boot, result: NOTE, depth: 0.6 mm}]")
    assert changes(one, many) == []
    odd = BASE.replace("work: [visual, fill]", "work: [[visual], fill]")
    assert [c.what for c in changes(BASE, odd)] == [What.ALTERED]


def test_an_entry_that_is_no_record_is_an_entry() -> None:
    odd = GOOD + "held: dent\n"
    assert [(c.what, c.place) for c in changes(odd, GOOD)] == [(What.REMOVED, "held")]
    assert changes(GOOD + "held:\n", GOOD) == []


def test_a_change_holds_the_entry_of_each_version() -> None:
    (change,) = changes(BASE, BASE.replace("why: thread finding", "why: nothing"))
    assert change.was is not None
    assert change.is_ is not None
    assert (change.was.values["why"], change.is_.values["why"]) == ("thread finding", "nothing")
    (change,) = changes(GOOD, GOOD + "held:\n  - {on: 2026-03-01, why: dent}\n")
    assert (change.was, change.is_ is None) == (None, False)


def test_parts_of_one_name_are_told_apart() -> None:
    old = STATION + "whips:\n  - {name: W1, checked: [{on: 2026-01-01}]}\n  - {name: W1}\n"
    new = STATION + "whips:\n  - {name: W1}\n  - {name: W1}\n"
    assert [(c.what, c.place) for c in changes(old, new, "station.yaml")] == [
        (What.REMOVED, "whips.W1.checked")
    ]


def test_facts_set_changed_and_taken_out() -> None:
    assert with_change("alloy: 6061\n", "alloy: 6351\n") == [("fact-changed", "alloy", ("alloy",))]
    assert with_change("alloy: 6061\n", "") == [("fact-changed", "alloy", ("alloy",))]
    assert with_change("alloy: 6061\n", "alloy: 6061\nplace: rack 2\n") == [
        ("fact-set", "place", ("place",))
    ]
    assert with_change("rating: 3442 psi", "rating: 3300 psi") == [
        ("fact-changed", "valve.rating", ("valve.rating",))
    ]


def test_a_new_file_brings_its_entries_with_it() -> None:
    got = compare(PATH, None, node(GOOD))
    assert {(c.what, c.place, c.fresh) for c in got if c.what is What.ADDED} == {
        (What.ADDED, "requalified", True),
        (What.ADDED, "inspected", True),
    }


def test_parts_of_the_station_are_told_apart_by_name() -> None:
    old = (
        STATION
        + """
banks:
  - {name: B1, water_volume: 48 L, readings: [{on: 2026-01-01, pressure: 4000 psi}]}
  - {name: B2, water_volume: 48 L, readings: [{on: 2026-01-01, pressure: 4000 psi}]}
compressor: {hours: [{on: 2026-01-01, reads: 100 h}]}
"""
    )
    new = old.replace("B2, water_volume: 48 L, readings: [{on: 2026-01-01, pressure: 4000 psi}]",
                      "B2, water_volume: 48 L, readings: [{on: 2026-01-01, pressure: 3000 psi}]")  # fmt: skip
    new = new.replace("reads: 100 h}]", "reads: 100 h}, {on: 2026-01-02, reads: 101 h}]")
    new = new.replace("result: pass", "result: fail")
    got = changes(old, new, "station.yaml")
    assert sorted((c.place, c.what.value) for c in got) == [
        ("air_tests", "altered"),
        ("banks.B2.readings", "altered"),
        ("compressor.hours", "added"),
    ]


def test_a_certification_is_an_entry_too() -> None:
    new = SETTINGS.replace("from: 2020-01", "from: 2020-01, until: 2029-01")
    new += "  TO: {certifications: [{skill: filler, from: 2026-01}]}\n"
    got = changes(SETTINGS, new, "tankbook.yaml")
    assert [(c.place, c.what.value, c.on, c.fresh) for c in got] == [
        ("people.MV.certifications", "altered", "2020-01", False),
        ("people.TO.certifications", "added", "2026-01", True),
    ]


def test_only_files_with_evidence_in_them_are_compared() -> None:
    paths = ("tankbook.yaml", "station.yaml", PATH, "sets/DB-02.yaml", "rules/shop.yaml", "bookings.csv",
             "cylinders/notes.txt", "x/tankbook.yaml", "station.yaml/x.yaml")  # fmt: skip
    assert [p for p in paths if kind_of(p)] == list(paths[:4])
    assert compare("rules/shop.yaml", None, node(GOOD)) == ()


@pytest.mark.parametrize(
    "text",
    [
        "requalified: none\n",
        "requalified: [a, b]\n",
        "valve: x\n",
        "colour: {a: [b, {c: d}]}\n",
        "[a, b]\n",
    ],
)
def test_shapes_that_no_record_has_do_not_stop_it(text: str) -> None:
    for pair in ((GOOD, text), (text, GOOD)):
        assert changes(*pair)


def test_the_text_of_a_node() -> None:
    assert flat(node("a: {b: [c, d], e: }\nf: [{g: h}]\n")) == {"a.b": "c, d", "f[1].g": "h"}
