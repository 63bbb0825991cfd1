"""What is cracked, bulged, burnt or leaks is dangerous while it holds pressure: it is told at once, and
until it is empty."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, STATION, TODAY, make_book, with_lines

from tankbook.acts.away import send
from tankbook.acts.clean import clean
from tankbook.acts.hold import hold
from tankbook.acts.incident import Happened, incident
from tankbook.acts.isolator import isolator
from tankbook.acts.pair import pair
from tankbook.acts.reading import Shown, drain, read_gauges
from tankbook.acts.refuse import refuse
from tankbook.acts.reject import condemn, reject
from tankbook.acts.valve import work_on_valve
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.valve import ValveWork
from tankbook.records.words import Bled, Isolator, Service, ValveDone
from tankbook.rules.gate import may_fill
from tankbook.rules.signing import bench_of
from tankbook.rules.under_pressure import STAND_CLEAR, danger_said, under_pressure
from tankbook.units import GaugePressure, PartialDate

FULL = "at=2026-11-24T10:00:00+00:00; cylinder=A; act=fill; from=500 psi; to=3000 psi; temperature=70 degF; gas=air; by=MV"
EMPTY = FULL + "\nat=2026-11-25T10:00:00+00:00; cylinder=A; act=drain; to=0 psi; by=MV"

ON_CARD = {
    "a hold": {"held": "[{on: 2026-11-23, by: MV, why: bulge on the wall}]"},
    "a hold let go": {"held": "[{on: 2026-11-18, by: MV, why: crack at the neck, released: 2026-11-20, released_by: MV, released_why: looked over}]"},
    "a rejection": {"rejected": "[{on: 2026-11-23, by: MV, why: neck cracked}]"},
    "a condemning": {"condemned": "[{on: 2026-11-24, by: T123, why: crack at the neck}]", "status": "condemned"},
    "a refusal": {"refused": "[{on: 2026-11-23, by: MV, reasons: [was in a fire]}]"},
    "a refusal for a bent neck": {"refused": "[{on: 2026-11-23, by: MV, reasons: ['neck bent, hissing at the neck']}]"},
    "a refusal for a leak": {"refused": "[{on: 2026-11-23, by: MV, reasons: [weeping at the shoulder]}]"},
    "the note of a refusal": {"refused": "[{on: 2026-11-23, by: MV, reasons: [no sticker], note: hissing at the shoulder}]"},
    "a finding": {"inspected": "[{on: 2026-11-23, by: MV, checklist: outside, result: hold, findings: [{step: body, result: hold, what: bulge}]}]"},
    "a crack": {"inspected": "[{on: 2026-11-23, by: MV, checklist: annual, result: reject, findings: [{step: neck-threads, result: reject, what: crack, count: 2, position: top}]}]"},
    "a note of a look": {"inspected": "[{on: 2026-11-23, by: MV, checklist: outside, result: hold, note: scorched all over}]"},
    "a return": {"rented": "[{on: 2026-11-20, to: B-1, back: 2026-11-23, pressure: 2900 psi, valve: closed, damage: neck bent}]"},
}  # fmt: skip

HARMLESS = {
    "nothing": {},
    "a sticker": {"held": "[{on: 2026-11-23, by: MV, why: sticker illegible}]"},
    "no crack": {"held": "[{on: 2026-11-23, by: MV, why: 'no cracks, sticker illegible'}]"},
    "the trade's word": {"held": "[{on: 2026-11-23, by: MV, why: cracked the valve to smell it}]"},
    "a fitting": {"held": "[{on: 2026-11-23, by: MV, why: boot cracked}]"},
}


def book(keys: dict[str, str], log: str) -> Book:
    return make_book({"A": with_lines(GOOD, **keys)}, station=STATION, log=log)


def told(of: Book) -> list[str]:
    return [r.text for r in may_fill(of, "A", TODAY).reasons if r.code == "danger-under-pressure"]


@pytest.mark.parametrize("what", ON_CARD)
def test_while_it_holds_pressure_every_answer_says_what_to_beware_of(what: str) -> None:
    said = told(book(ON_CARD[what], FULL))
    assert len(said) == 1
    assert STAND_CLEAR in said[0]
    assert "it holds " in said[0]
    assert told(book(ON_CARD[what], EMPTY)) == []
    assert told(book(ON_CARD[what], "")) == [] or what == "a return"  # its pressure was read


@pytest.mark.parametrize("what", ON_CARD)
def test_it_is_never_filled_while_that_is_said_of_it_and_nobody_lifts_that(what: str) -> None:
    answer = may_fill(book(ON_CARD[what], FULL), "A", TODAY)
    assert not answer.fillable
    assert not all(r.may_be_overridden for r in answer.refusals)


LOOKED = "[{{on: 2026-11-24, by: MV, checklist: {}, result: pass, neck_thread: 3/4-14 NPSM, valve_thread: 3/4-14 NPSM}}]"


@pytest.mark.parametrize(("checklist", "answered"), [("annual", True), ("outside", False)])
def test_a_refusal_for_a_leak_of_the_shell_is_answered_by_a_look_inside(
    checklist: str, answered: bool
) -> None:
    said = ON_CARD["a refusal for a bent neck"] | {"inspected": LOOKED.format(checklist)}
    codes = {r.code for r in may_fill(book(said, EMPTY), "A", TODAY).reasons}
    assert ("refused-found" not in codes) is answered


@pytest.mark.parametrize(
    ("reason", "found"),
    [
        ("клапан погнут", True),
        ("valve погнут", True),
        ("バルブが曲がっている", True),
        ("στραβός λαιμός", True),
        ("no sticker", False),
        ("étiquette rayée, 20 °C, ½ tour, Ω 5 µm", False),
        ("złamana naklejka; ştampilă; ß", True),
    ],
)
def test_a_refusal_that_nobody_reads_refuses_until_somebody_says_what_it_means(
    reason: str, found: bool
) -> None:
    said = {"refused": f"[{{on: 2026-11-23, by: MV, reasons: ['{reason}']}}]"}
    reasons = {r.code: r.mend for r in may_fill(book(said, FULL), "A", TODAY).reasons}
    assert ("refused-found" in reasons) is found
    assert ("refused-before" in reasons) is not found
    if found:
        assert (
            "`tankbook correct A refused 2026-11-23 --set reasons=TEXT" in reasons["refused-found"]
        )
    answered = {
        r.code
        for r in may_fill(
            book(said | {"inspected": LOOKED.format("annual")}, EMPTY), "A", TODAY
        ).reasons
    }
    assert not {"refused-found", "refused-before"} & answered


QUOTED = "[{on: 2026-11-23, by: MV, reasons: ['it is held: neck leaks'%s]}]"
HOLD = "{on: 2026-11-%s, by: MV, why: neck leaks%s}"
LET_GO = ", released: 2026-11-23, released_by: MV, released_why: tight"
STRUCK = ", void: {on: 2026-11-23, by: MV, why: of another cylinder}"


@pytest.mark.parametrize(
    ("held", "more", "found"),
    [
        (HOLD % (22, ""), "", False),  # the hold itself refuses
        (HOLD % (22, LET_GO), "", False),  # it asks for a look inside by itself
        (HOLD % (22, STRUCK), "", False),
        (HOLD % (22, STRUCK.replace("MV", "nobody")), "", True),
        (HOLD % (24, ""), "", True),  # it was not held by then
        (HOLD % (22, ""), ", 'neck bent'", True),
        ((HOLD % (22, "")).replace("neck leaks", "dent"), "", True),
        ("", "", True),
    ],
)
def test_what_a_refusal_only_says_again_is_judged_where_it_was_written(
    held: str, more: str, found: bool
) -> None:
    of = book({"refused": QUOTED % more, "held": f"[{held}]"}, FULL)
    codes = {r.code for r in may_fill(of, "A", TODAY).reasons}
    assert ("refused-found" in codes) is found
    assert "refused-before" in codes or found
    asks = "standing-held" in codes or "giving-way-spoken-of" in codes
    assert asks is bool(held and STRUCK[:8] not in held)


def test_two_holds_and_damage_are_said_again_too() -> None:
    said = "[{on: 2026-11-23, by: MV, reasons: ['it is held: neck bent; neck leaks', 'damage noted at return on 2026-11-22: hissing at the neck']}]"
    holds = f"[{HOLD % (21, STRUCK)}, {(HOLD % (22, STRUCK)).replace('leaks', 'bent')}]"
    back = "[{on: 2026-11-20, to: B-1, back: 2026-11-22, pressure: 2900 psi, valve: closed, damage: hissing at the neck%s}]"
    for rented, found in ((back % STRUCK, False), (back % STRUCK.replace("MV", "nobody"), True)):
        of = book({"refused": said, "held": holds, "rented": rented}, FULL)
        codes = {r.code for r in may_fill(of, "A", TODAY).reasons}
        assert ("refused-found" in codes) is found


FOUND_ON_23 = "[{on: 2026-11-23, by: MV, checklist: annual, result: hold, findings: [{step: neck-threads, result: hold, what: suspected-crack}]%s}]"

LOOKED_ON_23 = "[{on: 2026-11-23, by: MV, checklist: outside, result: pass}]"
HELD_ON_23 = f"{{on: 2026-11-23, by: MV, why: bulged{LET_GO}{STRUCK}}}"


@pytest.mark.parametrize(
    ("keys", "said", "found"),
    [
        ({"inspected": FOUND_ON_23 % ""}, "a crack is suspected since 2026-11-23", False),
        ({"inspected": FOUND_ON_23 % STRUCK}, "a crack is suspected since 2026-11-23", False),
        ({"inspected": FOUND_ON_23 % STRUCK}, "a crack is suspected since 2026-11-22", True),
        (
            {"inspected": FOUND_ON_23 % STRUCK},
            "a crack is suspected since 2026-11-23 and it grew",
            True,
        ),
        ({}, "a crack is suspected since 2026-11-23", True),
        ({"inspected": LOOKED_ON_23}, "a crack was found on 2026-11-23", True),
        ({"held": f"[{HELD_ON_23}]"}, "its held of 2026-11-23 speaks of a bulge", False),
        (
            {"held": f"[{HELD_ON_23.replace('bulged', 'dented')}]"},
            "its held of 2026-11-23 speaks of a bulge",
            True,
        ),
        ({"held": f"[{HOLD % (23, STRUCK)}]"}, "it is held as well: neck leaks", False),
        ({}, "it is held as well: neck leaks", True),
    ],
)
def test_the_gates_own_words_of_a_finding_are_judged_where_it_was_found(
    keys: dict[str, str], said: str, found: bool
) -> None:
    refused = {"refused": f"[{{on: 2026-11-24, by: MV, reasons: ['{said}']}}]"}
    codes = {r.code for r in may_fill(book(refused | keys, FULL), "A", TODAY).reasons}
    assert ("refused-found" in codes) is found
    assert ("refused-before" in codes) is not found


NOTED = {
    "of a look": {"inspected": "[{on: 2026-11-23, by: MV, checklist: outside, result: pass, note: '%s'}]"},
    "at a step": {"inspected": "[{on: 2026-11-23, by: MV, checklist: outside, result: pass, findings: [{step: body, result: note, note: '%s'}]}]"},
    "of work on the valve": {"valve_work": "[{on: 2026-11-23, by: MV, did: serviced, stayed_on: yes, note: '%s'}]"},
    "of the card": {"note": "'%s'"},
    "of a line": FULL + "; note=%s",
}  # fmt: skip


@pytest.mark.parametrize("where", NOTED)
@pytest.mark.parametrize(
    ("words", "asks"),
    [("neck bent", True), ("hissing at the neck", True), ("neck not bent, knob stiff", False)],
)
def test_a_note_of_what_may_give_way_is_told_wherever_it_stands(
    where: str, words: str, asks: bool
) -> None:
    said = NOTED[where]
    line = said % words if isinstance(said, str) else FULL
    keys = {} if isinstance(said, str) else {key: text % words for key, text in said.items()}
    found = [
        r
        for r in may_fill(book(keys, line), "A", TODAY).reasons
        if r.code == "note-asks-for-finding"
    ]
    assert bool(found) is asks
    assert all(words in r.text for r in found)


@pytest.mark.parametrize("let_go", ["", LET_GO])
def test_what_a_hold_notes_is_read_as_its_reason_is(let_go: str) -> None:
    held = "[{on: 2026-11-23, by: MV, why: it fell, note: '%s'" + let_go + "}]"
    for words, grave in (
        ("hissing at the neck", True),
        ("bulge on the wall", True),
        ("knob stiff", False),
    ):
        of = book({"held": held % words}, FULL)
        assert bool(told(of)) is grave, words
        assert may_fill(of, "A", TODAY).fillable is not (grave or not let_go), words


SAID = {
    "refused": "[{on: 2026-11-23, by: MV, reasons: ['%s'], at: '09:00'}]",
    "held": "[{on: 2026-11-23, by: MV, why: '%s', released: 2026-11-24, released_by: MV, released_why: looked at it}]",
    "rented": "[{on: 2026-11-20, to: B-1, back: 2026-11-23, pressure: 2900 psi, valve: closed, damage: '%s'}]",
}  # fmt: skip
CLEARED = ", clears: [held 2026-11-23, damage 2026-11-23]}]"


@pytest.mark.parametrize("where", SAID)
@pytest.mark.parametrize("words", ["neck bent", "neck leaks", "hissing at the shoulder"])
def test_the_same_words_ask_for_the_same_wherever_they_were_said(where: str, words: str) -> None:
    said = {where: SAID[where] % words}
    for checklist, answered in ((None, False), ("outside", False), ("annual", True)):
        looks = LOOKED.format(checklist).replace("}]", CLEARED) if checklist else None
        of = book(said | ({"inspected": looks} if looks else {}), FULL)
        refused = [r for r in may_fill(of, "A", TODAY).refusals if not r.may_be_overridden]
        codes = {"refused-found", "damage-noted", "giving-way-spoken-of"} & {
            r.code for r in refused
        }
        assert bool(codes) is not answered, (checklist, refused)
        assert bool(told(of)) is not answered, checklist


def test_what_was_noted_at_a_refusal_is_told_with_it() -> None:
    answer = may_fill(book(ON_CARD["the note of a refusal"], FULL), "A", TODAY)
    told = [r.text for r in answer.refusals if r.code == "refused-found"]
    assert told == [
        "it was refused here on 2026-11-23 by MV: no sticker (hissing at the shoulder); owner not told"
    ]


def test_a_note_beside_a_quoted_refusal_does_not_keep_what_is_struck_out() -> None:
    quote = "it was refused here on 2026-11-22 by MV"
    void = "void: {on: 2026-11-23, by: MV, why: of another cylinder}"
    said = (
        f"[{{on: 2026-11-22, by: MV, reasons: [neck cracked], {void}}}, "
        f"{{on: 2026-11-23, by: MV, reasons: ['{quote}: neck cracked; owner not told'], note: insists}}]"
    )
    found = may_fill(book({"refused": said}, FULL), "A", TODAY).reasons
    assert [r.text for r in found if r.code == "refused-before"] == [
        f"it was refused here on 2026-11-23 by MV: {quote} (insists); owner not told"
    ]
    assert "refused-found" not in {r.code for r in found}


LEAK = {"refused": "[{on: 2026-11-23, by: MV, reasons: ['%s'], at: '09:00'}]"}
WORK = "[{on: %s, by: MV, did: %s}]"


def noted(note: str) -> str:
    return LOOKED.format("outside").replace("}]", f", note: '{note}'}}]")


@pytest.mark.parametrize(
    ("more", "codes"),
    [
        ({}, {"refused-found", "refused-leak"}),
        ({"inspected": LOOKED.format("annual")}, {"refused-leak"}),
        ({"valve_work": WORK % ("2026-11-24", "serviced")}, {"refused-found"}),
        (
            {
                "inspected": LOOKED.format("annual"),
                "valve_work": WORK % ("2026-11-24", "serviced"),
            },
            set(),
        ),
    ],
)
@pytest.mark.parametrize("said", ["crack in the neck; valve leaks", "valve leaks, neck bent"])
def test_each_cause_of_a_refusal_has_its_own_answer(
    said: str, more: dict[str, str], codes: set[str]
) -> None:
    of = book({"refused": LEAK["refused"] % said} | more, FULL)
    found = [r for r in may_fill(of, "A", TODAY).reasons if r.code.startswith("refused-")]
    if "crack" in said:  # of which a requalifier decides
        codes = codes | {"refused-found"}
    assert {r.code for r in found} == codes
    if codes == {"refused-leak"}:
        assert "what passes its shell says nothing of its valve" in found[0].mend


@pytest.mark.parametrize(
    ("said", "more", "code"),
    [
        ("leaks", {}, "refused-leak"),
        ("burst disc blew, hissing", {}, "refused-leak"),
        ("valve: leaks slowly", {}, "refused-leak"),
        ("valve leaks", {"valve_work": WORK % ("2026-11-22", "serviced")}, "refused-leak"),
        ("valve leaks", {"valve_work": WORK % ("2026-11-24", "read")}, "refused-leak"),
        ("valve leaks", {"valve_work": WORK % ("2026-11-24", "serviced")}, "refused-before"),
        ("valve leaks", {"valve_work": WORK % ("2026-11-23", "serviced")}, "refused-leak"),
        (
            "valve leaks",
            {"valve_work": WORK % ("2026-11-23", "serviced, at: '08:59'")},
            "refused-leak",
        ),
        (
            "valve leaks",
            {"valve_work": WORK % ("2026-11-23", "serviced, at: '09:01'")},
            "refused-before",
        ),
        ("valve leaks", {"valve_work": WORK % ("2026-11", "serviced")}, "refused-leak"),
        # from outside nobody tries a valve, unless they say that they did
        ("valve leaks", {"inspected": LOOKED.format("outside")}, "refused-leak"),
        ("valve leaks", {"inspected": noted("valve tried under pressure, tight")}, ""),
        ("valve leaks", {"inspected": noted("soaped the valve: no bubbles")}, ""),
        ("valve leaks", {"inspected": noted("valve not tried under pressure")}, "refused-leak"),
        ("valve leaks", {"inspected": noted("valve could not be tried")}, "refused-leak"),
        ("valve leaks", {"inspected": noted("paint tried; valve leaks")}, "refused-leak"),
        ("valve leaks", {"inspected": LOOKED.format("annual")}, ""),
        ("leaks at the neck", {"valve_work": WORK % ("2026-11-24", "serviced")}, "refused-found"),
        ("whip leaks", {}, "refused-before"),
        ("no leaks, no sticker", {}, "refused-before"),
    ],
)
def test_a_leak_of_the_valve_keeps_it_from_a_fill_until_somebody_saw_to_it(
    said: str, more: dict[str, str], code: str
) -> None:
    of = book({"refused": LEAK["refused"] % said} | more, FULL)
    found = [r for r in may_fill(of, "A", TODAY).reasons if r.code.startswith("refused-")]
    assert [r.code for r in found] == ([code] if code else [])
    assert bool(told(of)) is (code == "refused-found")
    if code == "refused-leak":
        refused = next(r for r in may_fill(of, "A", TODAY).refusals if r.code == code)
        assert refused.may_be_overridden
        work = more.get("valve_work", "")
        unsaid = next(
            (
                day
                for day in ("2026-11-23", "2026-11")
                if f"on: {day}, by: MV, did: serviced}}" in work
            ),
            "",
        )
        how = (
            f"correct A valve_work {unsaid} --set at=HH:MM" if unsaid else "valve A --did serviced"
        )
        assert f"tankbook {how}" in refused.mend


@pytest.mark.parametrize("what", HARMLESS)
def test_what_is_not_dangerous_under_pressure_warns_of_nothing(what: str) -> None:
    assert told(book(HARMLESS[what], FULL)) == []


def test_where_nobody_recorded_what_it_holds_it_is_said_where_it_is_asked_for() -> None:
    of = book(ON_CARD["a hold"], "")
    card = of.cylinders["A"]
    assert under_pressure(of, card) == ""
    assert "what pressure it holds is not recorded" in under_pressure(of, card, unknown=True)


@pytest.mark.parametrize(
    ("text", "dangerous"),
    [
        ("crack at thread 3", True), ("bulged", True), ("burnt", True), ("leaking at the neck", True),
        ("neck bent", True), ("the neck is bent", True), ("bent at the neck", True), ("valve coming out", True),
        ("valve loose in the neck", True), ("leak at neck thread", True), ("leaks from the o-ring and the neck", True),
        ("hissing from the whip, neck hissing too", True), ("leak check: bubbling at the shoulder", True),
        ("hissing from the burst disc", False), ("isolator leaks", False), ("first stage leaks", False),
        ("leak check passed", False), ("Ventil ist undicht", False), ("the rental run over time", False),
        ("bullet hole", True), ("hisses", False), ("hisses at the neck", True), ("leaks", False), ("Riss im Hals", True),
        ("hydro lapsed Sep 2026", False), ("no leaks", False), ("o-ring leaking", False),
        ("leak test passed", False), ("no cracks", False), ("cracked a joke", False), ("", False),
    ],
)  # fmt: skip
def test_one_judge_of_what_words_are_dangerous(text: str, dangerous: bool) -> None:
    assert bool(danger_said(bench_of(book({}, "")), text)) is dangerous


@pytest.mark.parametrize(("log", "holds"), [("", "is not recorded"), (FULL, "it holds 3000 psi")])
def test_the_act_itself_says_it_first(log: str, holds: str) -> None:
    of = book({}, log)
    at = {"at": dt.time(12)}
    refused = refuse(of, ["A"], by="MV", on=TODAY, reasons=["crack seen on the neck"], **at)
    held = hold(of, ["A"], by="MV", on=TODAY, why="crack seen on the neck", **at)
    rejected = reject(of, "A", by="MV", on=TODAY, why="bulge on the wall", **at)
    condemned = condemn(
        of, "A", by="T123", why="crack at the neck", marked="CONDEMNED on the shoulder", on=TODAY
    )
    for act in (refused, held, rejected, condemned):
        assert isinstance(act, Act), act
        assert act.notes[0].startswith("A: DANGER, ")
        assert holds in act.notes[0]
        assert STAND_CLEAR in act.notes[0]
    happened = incident(
        of, Happened(what="hissing at the neck", ids=["A"]), by="MV", on=TODAY, now=dt.time(12)
    )
    assert not isinstance(happened, Refusal)
    assert happened[0].notes[0].startswith("people first")
    assert happened[0].notes[1].startswith("A: DANGER, ")
    other = Happened(what="hissing at the neck", other=["a blue steel one"])
    happened = incident(of, other, by="MV", on=TODAY, now=dt.time(12))
    assert not isinstance(happened, Refusal)
    assert (
        happened[0]
        .notes[1]
        .startswith("a blue steel one: DANGER, if it holds pressure (hissing at the neck)")
    )
    quiet = hold(of, ["A"], by="MV", on=TODAY, why="sticker illegible", **at)
    assert isinstance(quiet, Act)
    assert not any("DANGER" in note for note in quiet.notes)


@pytest.mark.parametrize(
    ("keys", "log", "holds"),
    [
        (ON_CARD["a hold"], FULL, "it holds 3000 psi"),
        (ON_CARD["a hold"], "", "is not recorded"),
        (ON_CARD["a hold"], EMPTY, ""),
        ({}, FULL, ""),
    ],
)
@pytest.mark.parametrize("whole", [False, True])
def test_work_that_lets_the_gas_out_says_what_to_beware_of(
    keys: dict[str, str], log: str, holds: str, whole: bool
) -> None:
    of, by = book(keys, log), {"by": "MV", "on": TODAY}
    name = "A"
    if whole:
        cards = {"A": with_lines(GOOD, **keys), "B": with_lines(GOOD, serial="K118299")}
        of = make_book(cards, station=STATION, log=log, sets={"S": "cylinders: [A, B]"})
        name = "S"
    at = dt.datetime.combine(TODAY, dt.time(12), dt.UTC)
    acts = [drain(of, [Shown(name, GaugePressure.of(0, "psi"))], by="MV", at=at)]
    for bled in (None, Bled.HEARD, Bled.NO_FLOW):
        acts.append(clean(of, [name], to=Service.AIR, bled=bled, **by))
        on = not bled  # of one that came off it is said how it was bled
        work = ValveWork(
            on=PartialDate.of(TODAY),
            by="MV",
            did=ValveDone.SERVICED,
            bled=bled,
            stayed_on=on or None,
        )
        acts.append(work_on_valve(of, [name], work, TODAY))
    for act in acts:
        assert isinstance(act, Act), act
        dangers = [n for n in act.notes if "DANGER" in n]
        assert len(dangers) == bool(holds), act.verb
        assert not holds or act.notes[0].startswith("A: DANGER, ")
        assert all(holds in n and STAND_CLEAR in n for n in dangers)


@pytest.mark.parametrize(
    ("keys", "log", "holds"),
    [
        (ON_CARD["a refusal for a leak"], FULL, "it holds 3000 psi"),
        (ON_CARD["a refusal for a leak"], "", "is not recorded"),
        (ON_CARD["a refusal for a leak"], EMPTY, ""),
        ({}, FULL, ""),
    ],
)
def test_whatever_is_done_with_it_says_what_to_beware_of(
    keys: dict[str, str], log: str, holds: str
) -> None:
    cards = {"A": with_lines(GOOD, **keys), "B": with_lines(GOOD, serial="K118299")}
    alone = make_book(cards, station=STATION, log=log)
    of = make_book(cards, station=STATION, log=log, sets={"S": "cylinders: [A, B]"})
    by = {"by": "MV", "on": TODAY}
    at = dt.datetime.combine(TODAY, dt.time(12), dt.UTC)
    three = [Shown("A", GaugePressure.of(3000, "psi"))] if holds.startswith("it") else []
    acts = {
        "isolator": isolator(of, "S", Isolator.SHUT, **by),
        "pair": pair(alone, "S", ["A", "B"], bled=Bled.HEARD, **by),
        "send": send(alone, ["A"], to="hydro", **by),
        "hold": hold(alone, ["A"], why="sticker illegible", **by),
    }
    if three:
        acts["reading"] = read_gauges(alone, three, by="MV", at=at)
        acts["reading of a set"] = read_gauges(
            of, [Shown("S", GaugePressure.of(3000, "psi"))], by="MV", at=at
        )
    for name, act in acts.items():
        assert isinstance(act, Act), (name, act)
        dangers = [n for n in act.notes if "DANGER" in n]
        assert len(dangers) == bool(holds), (name, act.notes)
        assert all(n.startswith("A: DANGER, ") and holds in n and STAND_CLEAR in n for n in dangers)
    nothing = read_gauges(alone, [Shown("A", GaugePressure.of(0, "psi"))], by="MV", at=at)
    assert isinstance(nothing, Act)
    assert not any("DANGER" in n for n in nothing.notes)
