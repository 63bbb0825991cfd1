"""What is noted in passing of a cylinder holds it as a refusal in the same words does, at every door,
until what that words ask for was done; what is honest and harmless holds nothing."""

from __future__ import annotations

import datetime as dt

import acting
import pytest
import remark_phrases as said
from books import GOOD, STATION, TODAY, make_book, with_lines
from msgspec.structs import replace

from tankbook.acts.bleeding import TAKEN_FOR_FULL
from tankbook.acts.correct import correct
from tankbook.acts.hold import release
from tankbook.acts.striking import Wrong
from tankbook.ledger import shipped
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.rules.checks import check
from tankbook.rules.gate import may_fill
from tankbook.rules.giving_way import says_gas_lost
from tankbook.rules.hand_over import may_hand_over
from tankbook.rules.leaving import told_leaving
from tankbook.rules.overfilled import AS_A_FACT
from tankbook.rules.remark_words import (
    is_understood,
    part_not_read,
    says_bad_gas,
    says_harmed,
    says_marked,
    says_unread,
)
from tankbook.rules.remarks import remarks_open
from tankbook.rules.rental import against_going_out
from tankbook.rules.wording import sets_aside, spoken_of

ROWS = shipped.findings()

# --- what the words say --------------------------------------------------------------------------


def holds(text: str) -> bool:
    """Whether a note holds its cylinder."""
    shell = says_harmed(ROWS, text) or says_marked(text) or says_unread(text)
    return bool(shell or says_bad_gas(text))


def is_told(text: str) -> bool:
    """Whether it is told, at the least."""
    known = says_gas_lost(text) or sets_aside(text) or any(spoken_of(text, row) for row in ROWS)
    open_ = part_not_read(text, ROWS, {"KD", "TO"})
    return holds(text) or bool(known or open_)


TOLD_ALONE = {
    "failed CO check 22ppm",
    "worn through paint to bare metal and pitted",
    "sits wobbly like base is round",
}
"""Grave ones that are told and do not hold."""
NOT_HEARD = {
    "mouthfull of water from the reg off this cylinder",
    "O2 analyser reads 17 %",
    "filter was past due when this was filled",
}
"""Grave ones that are passed over: a lean blend is read so too, a filter has a judge, and a
regulator has water of its own."""
OVER_READ = {"cracking dive", "smells like fish, boot washed", "new smell blocker in the loo"}
"""Harmless ones that hold."""


@pytest.mark.parametrize("text", [*said.GAS, *said.SHELL, *said.MORE_GAS, *said.MORE_SHELL])
def test_a_grave_note_holds(text: str) -> None:
    assert holds(text) is (text not in TOLD_ALONE | NOT_HEARD)
    assert is_told(text) is (text not in NOT_HEARD)


@pytest.mark.parametrize("text", [*said.HARMLESS, *said.MORE_HARMLESS])
def test_a_harmless_note_holds_nothing(text: str) -> None:
    assert holds(text) is (text in OVER_READ)


def test_few_harmless_notes_are_told_at_all() -> None:
    every = [*said.HARMLESS, *said.MORE_HARMLESS]
    assert sum(map(is_told, every)) <= len(every) / 7


THIRD_TOLD = {
    "O-ring keeps blowing out",
    "Ventil undicht",
    "bubbles at the burst disc when dunked",
    "burst disc let go",
    "condemned by the other shop",
    "dip tube missing and rust below",
    "do not use",
    "don't fill this one",
    "failed hydro last year according to the owner",
    "failed visual in Malta",
    "fuite au robinet",
    "inspector did not like the neck",
    "leaks down 20 bar overnight",
    "lekt bij de afsluiter",
    "looks unsafe to me",
    "lost all its gas between Friday and Monday",
    "not to be filled until Jean has seen it",
    "o-ring extruded",
    "other shop refused to fill it",
    "overfilled to 280 on a 200 tank",
    "perde dalla rubinetteria",
    "pierde aire por la grifería",
    "quarantine",
    "relief disc blew during fill",
    "sandblasted inside by the owner",
    "valve won't shut off all the way",
}
THIRD_PASSED = {
    "compressor filter was overdue when filled",
    "got pumped to 300 bar by mistake",
    "pressure gauge read 40 bar more than it should",
}
"""Grave ones of a third list that are told alone, and those that are passed over."""

FOURTH_TOLD = {
    "Beule an der Seite",
    "O-ring groove corroded",
    "Ventil lässt sich nicht zudrehen",
    "base gone flat on one edge",
    "dent the size of a fist",
    "frost ring at neck when filling",
    "golpe en el cuello",
    "gouge you can catch a nail in",
    "had to lean on the bar to get the valve out",
    "hydrostatic failed at other shop",
    "line corrosion under the boot",
    "oxidada por dentro",
    "powder coated by a friend, oven baked",
    "rouille au fond",
    "rust blisters beneath the paint",
    "shot-blasted at the bodyshop",
    "they told him it failed the eddy test",
    "white bloom all round the base",
}
FOURTH_PASSED = {
    "filled the day the filter went soggy",
}
"""Grave ones of a fourth list that are told alone, and those that are passed over: a filter has a
judge of its own."""
THIRD_OVER_READ = {
    "cracking sound track on the radio",
    "heated changing room key attached",
    "oxygen fire blanket in the shop",
}
"""Harmless ones of it that hold: each says a word of harm, of something that no list has."""


@pytest.mark.parametrize("text", said.THIRD_GRAVE)
def test_a_grave_note_of_a_third_list_is_told_at_the_least(text: str) -> None:
    assert holds(text) is (text not in THIRD_TOLD | THIRD_PASSED)
    assert is_told(text) is (text not in THIRD_PASSED)


@pytest.mark.parametrize("text", said.THIRD_HARMLESS)
def test_a_harmless_note_of_a_third_list_holds_nothing(text: str) -> None:
    assert holds(text) is (text in THIRD_OVER_READ)


def test_few_harmless_notes_of_a_third_list_are_told_at_all() -> None:
    assert sum(map(is_told, said.THIRD_HARMLESS)) <= len(said.THIRD_HARMLESS) / 12


@pytest.mark.parametrize("text", said.FOURTH_GRAVE)
def test_a_grave_note_of_a_fourth_list_is_told_at_the_least(text: str) -> None:
    assert holds(text) is (text not in FOURTH_TOLD | FOURTH_PASSED)
    assert is_told(text) is (text not in FOURTH_PASSED)


def test_a_harmless_note_of_a_fourth_list_holds_nothing_and_few_are_told() -> None:
    assert [text for text in said.FOURTH_HARMLESS if holds(text)] == []
    assert sum(map(is_told, said.FOURTH_HARMLESS)) <= len(said.FOURTH_HARMLESS) / 12


@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("smell of oil gone", False),
        ("smell gone after drain, owner will be back on Monday", False),
        ("smell not gone", True),
        ("smell of oil gone; but back again today", True),
        ("if it smells again tell me", False),
        ("if you ask me it smells of oil", True),
        ("without net smells of oil", True),
        ("without the net it smells of oil", True),
        ("the net smells of oil", False),
        ("headache from the reg", False),
        ("headache from the reg? or the air", True),
    ],
)
def test_what_is_gone_may_come_back_and_a_guess_is_no_answer(text: str, held: bool) -> None:
    assert holds(text) is held


MARKS_AND_ARGON = {
    False: """
owner could not find the test date on his invoice, read it off the shoulder fine
serial number written large on the net so we can read it
stamps painted over by the owner last year, stripped and read today
sticker worn away, stamps crisp
label with the serial number fell off, reprinted
marks read with a torch, all clear
hydro stamp hard to read at first, chalk brought it out
date stamp on the box unreadable, shipping label
could not read the customer's handwriting on the form
owner's name no longer legible on the boot
cannot find any test date before 2015 in our books
new decal covers the serial number, moved it
paint worn off the shoulder, marks sharp
the plus sign was stamped by the test house, RIN C123
barcode unreadable, printed a new one
marked with blue tape as set aside for Ann
serial number tag illegible, replaced with an engraved one
stamped envelope enclosed for the certificate
serial number matches the papers
test date stamped 03 26, read twice
could not see the stamp under the mesh, mesh off, stamp fine
no serial number on the invoice
no stamp on the loyalty card
working pressure stamp 232 bar read and entered
working pressure on the tag worn off, new tag
serial number not found in the old ledger
date missing on the form, asked the owner
his regulator's serial number is illegible
boot covers the marks, slid it up
gauge face scratched, hard to read
photo of the stamps blurred, took another
filled with air after argon suit bottle
holds argon regulator in the same bag
suit bottle next to it was filled with argon
topped with nitrox, no argon here
charged the owner 12 for nitrogen pressure test of his house
full of air, not nitrogen
owner asked if it contains argon, it does not
stamps read by two people
read the serial number over the phone to the police, not stolen
""",
    True: """
filled with argon by mistake
filled with pure argon
topped up with nitrogen
contains argon
may have been charged with welding gas
argon instead of air
full of nitrogen from the welder
cannot make out the serial number
stamps too worn to read
serial number ground smooth
the shoulder marks are unreadable
shoulder stamp can't be read
hydro date not legible
no serial number on it
serial illegible
somebody filed the stamp
mit Argon gefüllt
stamps unreadable, valve fine
serial illegible, could not be read today
stamp unreadable, not legible now
stamp no longer legible today
date stamp unreadable
serial number unreadable, gauge clear again
""",
}
"""Notes of what is stamped and read, or is no cylinder's, and of argon elsewhere; and of marks that
nobody can read, and argon inside."""


@pytest.mark.parametrize("held", MARKS_AND_ARGON)
def test_what_is_read_and_argon_elsewhere_hold_nothing(held: bool) -> None:
    every = MARKS_AND_ARGON[held].strip().splitlines()
    assert [text for text in every if holds(text) is not held] == []


@pytest.mark.parametrize("text", said.LEAK)
def test_a_leak_of_the_valve_is_heard(text: str) -> None:
    assert says_gas_lost(text)


DENIALS = ("no {}", "no trace of any {}", "nobody noticed any {}", "{}: none", "without {}")


@pytest.mark.parametrize(
    "what", ["smell", "odour", "taste", "headache", "nausea", "oil mist", "contamination"]
)
def test_whatever_is_denied_holds_nothing_and_the_next_clause_does(what: str) -> None:
    for denial in DENIALS:
        text = denial.format(what)
        assert not holds(text), text
        assert holds(f"{text}; diver got sick"), text
        assert holds(f"{text}, but the air stank"), text
        assert holds(what)


@pytest.mark.parametrize("before", ["", "blue boot. ", "collected late; ", "told the owner, "])
@pytest.mark.parametrize(
    "text", ["smelt of oil", "CO 40 ppm", "diver had a headache", "fell off the truck"]
)
def test_nothing_said_beside_it_hides_it(before: str, text: str) -> None:
    for after in ("", ", owner told", "; no dents", ". Boot ok", "\nfine otherwise"):
        assert holds(before + text + after), before + text + after


# --- wherever it stands --------------------------------------------------------------------------

LOG = "at=2026-11-23T10:00:00+00:00; cylinder=A; act={act}; {more}; by=MV; note={text}"
FULL = "at=2026-11-20T10:00:00+00:00; cylinder=A; act=fill; from=500 psi; to=3000 psi; temperature=70 degF; gas=air; by=MV; source=B1"
VALVE = "{{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 5000 psi, serviced: [{{on: 2026-11-23, by: MV, note: '{text}'}}]}}"
ON_CARD = {
    "its own note": {"note": "'{text}'"},
    "a look of the outside": {"inspected": "[{{on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: issued}}, {{on: 2026-11-23, by: MV, checklist: outside, result: pass, note: '{text}'}}]"},
    "a service": {"valve": VALVE},
    "valve work": {"valve_work": "[{{on: 2026-11-23, by: MV, did: serviced, stayed_on: yes, note: '{text}'}}]"},
    "a return": {"rented": "[{{on: 2026-11-20, to: B-1, back: 2026-11-23, pressure: 2900 psi, valve: closed, note: '{text}'}}]"},
    "a job": {"jobs": "[{{on: 2026-11-23, by: MV, work: [fill], note: '{text}', collected: 2026-11-24}}]"},
    "lost and found": {"lost": "[{{on: 2026-11-20, by: MV, found: 2026-11-23, found_by: MV, found_why: in the shed, note: '{text}'}}]"},
    "a refusal": {"refused": "[{{on: 2026-11-23, by: MV, reasons: ['{text}']}}]"},
    "the note of a refusal": {"refused": "[{{on: 2026-11-23, by: MV, reasons: [no sticker], note: '{text}'}}]"},
}  # fmt: skip
IN_LOG = {
    "a reading": ("reading", "to=2900 psi"),
    "a fill": ("fill", "from=2000 psi; to=3000 psi; temperature=70 degF; gas=air; source=B1"),
}
PLACES = [*ON_CARD, *IN_LOG]


def noted(where: str, text: str, *more: str, **keys: str) -> Book:
    """A book in which a note stands somewhere."""
    log, card = [FULL], dict(keys)
    if where in IN_LOG:
        act, read = IN_LOG[where]
        log.append(LOG.format(act=act, more=read, text=text))
    else:
        card |= {
            key: value.format(text=text) for key, value in ON_CARD[where].items() if key not in keys
        }
    return make_book({"A": with_lines(GOOD, **card)}, station=STATION, log="\n".join([*log, *more]))


def refused(book: Book) -> set[str]:
    return {r.code for r in may_fill(book, "A", TODAY, station=False).refusals}


@pytest.mark.parametrize(
    ("marks", "unread"),
    [
        ("unreadable", True), ("not legible", True), ("illegible", True), ("worn off", True), ("ground flush", True),
        ("unleserlich", True), ("illisibles", True), ("ilegibles", True), ("illeggibili", True), ("onleesbaar", True),
        ("DOT-3AL 3000 serial illegible", True), ("DOT-3AL 3000 K118204 3A24", False), ("", False), ("none", False),
    ],
)  # fmt: skip
def test_marks_that_cannot_be_read_hold_it_wherever_that_is_said(marks: str, unread: bool) -> None:
    """In their own place as in a note: none of them may be kept for want of the word."""
    book = make_book({"A": with_lines(GOOD, marks=f'"{marks}"')}, station=STATION, log=FULL)
    assert ("noted-shell" in refused(book)) == unread
    told = {f.code: f.text for f in check(book, TODAY) if f.where.path.endswith("A.yaml")}
    assert ("its marks are said to be unreadable" in told.get("no-marks", "")) == unread
    assert not unread or "marks-unexplained" not in told


@pytest.mark.parametrize("where", PLACES)
@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("smelt of oil", {"noted-gas"}),
        ("CO 40 ppm measured", {"noted-gas"}),
        ("diver had a headache", {"noted-gas"}),
        ("crack in the neck", {"noted-shell", "refused-found"}),
        ("deep gouge near the neck", {"noted-shell", "refused-found"}),
        ("fell off the truck", {"noted-shell"}),
    ],
)
def test_it_holds_at_every_door_wherever_it_stands(where: str, text: str, codes: set[str]) -> None:
    book = noted(where, text)
    assert refused(book) & codes
    told = text in " ".join(against_going_out(book, "A", TODAY, TODAY))
    assert told or where == "the note of a refusal"
    assert any(text in reason for reason in may_hand_over(book, "A", TODAY).reasons)
    assert any(text in each for each in told_leaving(book, "A", TODAY))


@pytest.mark.parametrize("where", [p for p in PLACES if p != "a refusal"])
@pytest.mark.parametrize(
    "text", ["no smell of oil", "smell gone after drain and refill", "no cracks", "blue boot"]
)
def test_what_is_honest_holds_nothing_wherever_it_stands(where: str, text: str) -> None:
    assert not refused(noted(where, text)) & {"noted-gas", "noted-shell", "refused-found"}


def test_a_note_of_a_set_holds_both_its_sides() -> None:
    sets = {"D": "cylinders: [A, B]\nisolator: open\nuse: rental\nnote: smelt of oil\n"}
    other = GOOD.replace("K118204", "K118205")
    book = make_book({"A": GOOD, "B": other}, sets=sets, station=STATION)
    for id_ in ("A", "B", "D"):
        assert "noted-gas" in {r.code for r in may_fill(book, id_, TODAY).refusals}


# --- and what answers it -------------------------------------------------------------------------

DRAIN = "at=2026-11-23T11:00:00+00:00; cylinder=A; act=drain; to=0 psi; by=MV"
OLD = "{on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: issued}"
INSIDE = f"[{OLD}, {{on: 2026-11-24, by: MV, checklist: annual, result: pass, sticker: issued}}]"
OUTSIDE = f"[{OLD}, {{on: 2026-11-24, by: MV, checklist: outside, result: pass}}]"
SAME_DAY = f"[{OLD}, {{on: 2026-11-23, at: '{{at}}', by: MV, checklist: annual, result: pass, sticker: issued}}]"


@pytest.mark.parametrize(
    ("text", "drained", "outside"),
    [
        ("diver had a headache", True, False),
        ("CO 40 ppm measured", True, False),
        ("smelt of oil", False, False),
        ("oily film on the valve seat", False, False),
        ("crack in the neck", False, False),
        ("fell off the truck", False, True),
        ("serial number unreadable", False, True),
    ],
)
def test_each_cause_asks_for_its_own_answer(text: str, drained: bool, outside: bool) -> None:
    open_codes = {"noted-gas", "noted-shell"}
    assert refused(noted("a reading", text)) & open_codes
    assert (not refused(noted("a reading", text, DRAIN)) & open_codes) is drained
    assert (not refused(noted("a reading", text, inspected=OUTSIDE)) & open_codes) is outside
    assert not refused(noted("a reading", text, inspected=INSIDE)) & open_codes
    for at, after in (("09:00", False), ("12:00", True)):
        look = SAME_DAY.replace("{at}", at).replace("{{", "{").replace("}}", "}")
        assert (not refused(noted("a reading", text, inspected=look)) & open_codes) is after
    for old in (DRAIN.replace("11-23", "11-22"), ""):
        assert refused(noted("a reading", text, old)) & open_codes


def test_its_own_air_sampled_answers_what_is_of_its_gas() -> None:
    test = "- {on: 2026-11-24, by: Lab, standard: cga-grade-e, result: pass, source: cylinder A, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, water: 20 mg/m3, hydrocarbons: 1 ppm, odour: none}"
    for text, answered in (("smelt of oil", True), ("crack in the neck", False)):
        log = "\n".join([FULL, LOG.format(act="reading", more="to=2900 psi", text=text)])
        station = (
            STATION.replace("air_tests:", f"air_tests:\n  {test}")
            if "air_tests:\n" in STATION
            else STATION
        )
        book = make_book({"A": GOOD}, station=station, log=log)
        assert (not refused(book) & {"noted-gas", "noted-shell"}) is answered or station == STATION


def test_two_causes_in_one_note_are_two_and_one_act_does_not_answer_both() -> None:
    text = "crack in the neck, member felt sick"
    b = noted("a reading", text)
    doubts = [r.doubt.value for r in remarks_open(b, b.cylinders["A"])]
    assert doubts == ["shell", "gas"]
    drained = noted("a reading", text, DRAIN)
    assert [r.doubt.value for r in remarks_open(drained, drained.cylinders["A"])] == ["shell"]
    b = noted("a service", "valve seat leaks and thread damaged; CO 40 ppm", DRAIN)
    assert [r.doubt.value for r in remarks_open(b, b.cylinders["A"])] == ["shell"]
    assert "note-leaks" in {f.code for f in check(b, TODAY)}
    worked = noted(
        "a service",
        "valve seat leaks and thread damaged",
        valve_work="[{on: 2026-11-24, by: MV, did: serviced, stayed_on: yes}]",
    )
    assert "note-leaks" not in {f.code for f in check(worked, TODAY)}
    assert "noted-shell" in refused(worked)


def test_what_was_drained_before_it_was_filled_again_that_day_answers_nothing() -> None:
    again = FULL.replace("11-20T10", "11-23T12").replace("500 psi", "0 psi")
    assert "noted-gas" not in refused(noted("a return", "diver had a headache", DRAIN))
    assert "noted-gas" in refused(noted("a return", "diver had a headache", DRAIN, again))


def test_what_the_gate_wrote_into_a_note_is_not_noted_again() -> None:
    text = "happened: it was out already; against it: {}"
    again = "the note of a reading of 2026-11-23 says `smelt of oil`, which puts its gas in doubt"
    assert not refused(noted("a return", text.format(again))) & {"noted-gas"}
    b = make_book(
        {"A": with_lines(GOOD, refused=f"[{{on: 2026-11-23, by: MV, reasons: ['{again}']}}]")}
    )
    assert not refused(b) & {"noted-gas", "refused-found"}


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("customer says `crack in the neck`, which puts its gas in doubt", {"refused-found"}),
        ("Tom says `it smells of oil`, which somebody has to look at", {"noted-gas"}),
        (
            "the note of a reading of 2026-11-23 says `smelt of oil`, which puts its gas in doubt",
            set(),
        ),
        ("DB-01: its refusal of 2026-11-23 says `cracked`, which somebody has to look at", set()),
    ],
)
def test_only_what_the_gate_says_of_a_note_is_its_quote(text: str, codes: set[str]) -> None:
    card = with_lines(GOOD, refused=f"[{{on: 2026-11-23, by: MV, reasons: ['{text}']}}]")
    assert refused(make_book({"A": card})) & {"noted-gas", "noted-shell", "refused-found"} == codes


@pytest.mark.parametrize("where", ["a return", "a reading", "a service"])
def test_whoever_writes_on_behind_what_stood_against_a_fact_is_heard(where: str) -> None:
    mark = "; against it: " if where != "a reading" else ", against it: "
    text = f"happened: it was out already{mark}it lapsed{mark[0]} smelt of oil, crack in the neck"
    assert refused(noted(where, text)) >= {"noted-gas", "noted-shell"}


@pytest.mark.parametrize("kind", ["card", "set"])
@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("smelt of oil", True),
        ("2026-11-20: smelt of oil", False),
        ("blue boot; 2026-11-20: smelt of oil", False),
        ("2026-11-20: smelt of oil; 2026-11-25: crack in the neck", True),
        ("smelt of oil; 2026-11-20: new boot", True),
        ("bought 2019-05-01, smelt of oil", True),
        ("2026-13-40: smelt of oil", True),
    ],
)
def test_a_note_of_no_day_may_say_its_own_and_is_answered_by_what_came_later(
    kind: str, text: str, held: bool
) -> None:
    seen = with_lines(GOOD, inspected=INSIDE)
    if kind == "card":
        book = make_book({"A": with_lines(seen, note=f"'{text}'")}, station=STATION)
    else:
        sets = {"D": f"cylinders: [A, B]\nisolator: open\nuse: rental\nnote: '{text}'\n"}
        other = seen.replace("K118204", "K118205")
        book = make_book({"A": seen, "B": other}, sets=sets, station=STATION)
    answer = may_fill(book, "A", TODAY)
    found = [r for r in answer.refusals if r.code in {"noted-gas", "noted-shell"}]
    assert bool(found) is held
    undated = [r for r in found if "2026-11-25" not in r.text]
    assert all("YYYY-MM-DD" in (r.mend or "") for r in undated)


@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("visual does blorp", True),
        ("no sticker, goes clunk", True),
        ("no sticker, crown blorps", True),
        ("customer heard wumps", True),
        ("owner does not pay", False),
        ("see the note", False),
        ("no sticker, no papers", False),
        ("stamp on the shoulder not legible", False),
        ("neck thread 3/4-14 NPSM not on record", False),
        ("its disc is rated 4000 psi, which is under the test pressure", False),
    ],
)
def test_a_word_of_papers_answers_for_no_other_clause(text: str, held: bool) -> None:
    assert ("refused-found" in refused(noted("a refusal", text))) is held


# --- who strikes it out --------------------------------------------------------------------------

NOW = dt.datetime.fromisoformat("2026-11-25T12:00:00+01:00")
HEADER = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"


@pytest.mark.parametrize("text", ["crack in the neck", "smelt of oil", "fell off the truck"])
@pytest.mark.parametrize("by", ["MV", "JW"])
def test_a_note_that_holds_is_struck_out_by_somebody_certified(text: str, by: str) -> None:
    """On a reading and beside a second one of the same words, on the card, at a service."""
    shelf = acting.shelf()
    line = f"2026-11-20T{{}}:30:00+01:00,RB-014,reading,,2900 psi,,,,,MV,,,,,,{text}\n"
    shelf.texts["fills/2026.csv"] = HEADER + line.format("09") + line.format("10")
    known = {"by": by, "on": acting.TODAY, "now": NOW}
    got = correct(shelf.book, "RB-014", Wrong("log", "09:30", "wrong card", {}), **known)
    assert isinstance(got, Act if by == "MV" else Refusal)
    card = books_good(f"note: {text}\n")
    shelf = acting.shelf(RB_014=card)
    got = correct(
        shelf.book, "RB-014", Wrong("note", "", "wrong card", {"note": "blue boot"}), **known
    )
    assert isinstance(got, Act if by == "MV" else Refusal)


def books_good(more: str) -> str:
    return GOOD.strip("\n") + "\n" + more


# --- what nobody reads ---------------------------------------------------------------------------


@pytest.mark.parametrize("where", [p for p in PLACES if "refusal" not in p])
def test_a_note_in_letters_that_nobody_reads_is_told_wherever_it_stands(where: str) -> None:
    book = noted(where, "valve погнут")
    assert "note-not-read" in {f.code for f in check(book, TODAY)}
    answer = may_fill(book, "A", TODAY, station=False)
    [told] = [r.text for r in answer.warnings if r.code == "note-not-read"]
    assert "погнут" in told


def test_a_note_of_a_part_that_nobody_understands_is_told() -> None:
    told = {f.code for f in check(noted("a reading", "valve does a strange blorp"), TODAY)}
    assert "note-not-read" in told
    for text in ("dust cap missing", "neck clean and dry", "valve turns freely", "owner waited"):
        assert "note-not-read" not in {f.code for f in check(noted("a reading", text), TODAY)}, text


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("o-ring blorped at the counter", True),
        ("slow fill please. no rust inside", False),
        ("valve turns freely; to Bob, shelf by the door", False),
        ("to Bob, shelf by the door; valve does blorp", True),
    ],
)
def test_only_what_is_said_of_the_part_is_to_be_understood(text: str, told: bool) -> None:
    assert bool(part_not_read(text, ROWS)) is told


RELEASED = "[{{on: 2026-11-18, by: MV, why: '{why}', released: 2026-11-20, released_by: MV, released_why: '{said}'}}]"


@pytest.mark.parametrize(
    ("why", "answer", "open_"),
    [
        ("goes clunk at blorp", "ok", True),
        ("goes clunk at blorp", "all good now", True),
        ("goes clunk at blorp", "the boot was loose, tightened", False),
        ("valve погнут", "ok", True),
        ("valve погнут", "the valve was straight", True),
        ("no sticker", "ok", False),
        ("owner to pay", "done", False),
    ],
)
def test_a_hold_that_nobody_reads_is_let_go_once_somebody_says_what_it_was(
    why: str, answer: str, open_: bool
) -> None:
    card = {"held": RELEASED.format(why=why, said=answer)}
    assert ("let-go-not-read" in refused(make_book({"A": with_lines(GOOD, **card)}))) is open_
    looked = make_book({"A": with_lines(GOOD, **card, inspected=INSIDE)})
    assert "let-go-not-read" not in refused(looked)


def test_whoever_lets_it_go_is_asked_at_once_what_it_was() -> None:
    held = (
        GOOD.strip("\n")
        + "\nheld: [{on: 2026-11-20, by: MV, why: goes clunk at blorp}]\nstatus: held\n"
    )
    book = replace(
        acting.shelf(RB_014=held.replace("status: in-service\n", "")).book, finding_rows=ROWS
    )
    got = release(book, ["RB-014"], why="ok", by="MV", on=acting.TODAY)
    assert isinstance(got, Refusal)
    assert "what was found" in " ".join(got.reasons)
    assert isinstance(
        release(book, ["RB-014"], why="boot loose, tightened", by="MV", on=acting.TODAY), Act
    )


@pytest.mark.parametrize(
    "text", ["goes clunk at blorp", "złamana naklejka", "has the wumps", "valve dinged wumpily"]
)
def test_a_refusal_that_is_not_understood_holds_until_somebody_says_what_it_was(text: str) -> None:
    assert not is_understood(text, ROWS)
    book = noted("a refusal", text)
    [found] = [r for r in may_fill(book, "A", TODAY).refusals if r.code == "refused-found"]
    assert "not understood" in found.mend
    assert "--set reasons=TEXT" in found.mend


@pytest.mark.parametrize(
    "text",
    [
        "hydro lapsed Sep 2026",
        "no sticker",
        "visual out of date",
        "owner not paid",
        "stamp not legible",
        "boot cracked",
        "no card",
    ],
)
def test_a_refusal_for_its_papers_is_as_it_was(text: str) -> None:
    assert not refused(noted("a refusal", text)) & {"refused-found", "noted-shell", "noted-gas"}


OWN_REASONS = [
    "it came back with its valve open on 2026-11-22 and has not been looked inside since",
    "neck thread M25x2 and valve thread M18x1.5 differ",
    "its valve work of 2026-11-02 (changed) is on record, and nobody signed it",
]


def test_what_acts_write_themselves_is_understood() -> None:
    """A hold in the tool's own words is not told as one that nobody understands; what somebody
    adds to it is read as ever."""
    assert part_not_read(TAKEN_FOR_FULL, ()) == ""
    for reason in OWN_REASONS:
        assert part_not_read(f"filled to 3000 psi, {AS_A_FACT}: {reason}", ()) == ""
    assert part_not_read(f"{TAKEN_FOR_FULL}; valve blorps", ()) == "valve"
    assert part_not_read("no flow was heard, valve blorps", ()) == "valve"


@pytest.mark.parametrize(
    ("test", "told"),
    [
        ("", True),
        ("requalified: [{on: 2026-11-01, method: hydrostatic, by: T123}]", True),  # before it
        (
            "requalified: [{on: 2026-11-22, method: hydrostatic, by: T123, finding: no crack;"
            " tool mark}]",
            False,
        ),
    ],
)
def test_a_note_that_was_answered_is_asked_no_more(test: str, told: bool) -> None:
    """By the gate and by what is told of the notes alike."""
    job = "jobs: [{on: 2026-11-20, by: MV, work: [fill], note: crack seen at the neck}]"
    first = "{on: 2024-03, method: hydrostatic, by: maker}"
    more = test.replace("requalified: [", f"requalified: [{first}, ") if test else ""
    card = with_lines(GOOD, **dict(line.split(": ", 1) for line in filter(None, (job, more))))
    book = make_book({"A": card})
    found = {f.code for f in check(book, TODAY)}
    assert ("note-asks-for-finding" in found) is told
    assert bool(refused(book) & {"noted-shell"}) is told
