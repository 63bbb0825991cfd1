"""Following a checklist at the bench, one key a step."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts import bench
from tankbook.acts.bench import Read
from tankbook.acts.looking import words_of
from tankbook.acts.open_against import Open
from tankbook.acts.walk import Walk, looks_for_cracks
from tankbook.cli import keys, option_values
from tankbook.cli.answer import RequestError
from tankbook.output import inspect as output
from tankbook.output.page import Page
from tankbook.records.checklist import ChecklistStep
from tankbook.records.entries import StepFinding
from tankbook.records.finding import FindingRow
from tankbook.records.kinds import Adverse, NoDisc
from tankbook.records.words import (
    OUTLET_TWINS,
    SEEN_TWINS,
    Bled,
    ChecklistGroup,
    Outlet,
    Seen,
    Shore,
    StepResult,
)
from tankbook.rules.flow import EMPTY, is_not_empty, none_heard
from tankbook.units import GaugePressure, Length

T = TypeVar("T")

RESULTS = {
    "p": StepResult.PASS,
    "h": StepResult.HOLD,
    "r": StepResult.REJECT,
    "n": StepResult.NOTE,
}

PROMPTS: Mapping[str, tuple[tuple[str, str], ...]] = {
    bench.NECK: (("neck_thread", "neck thread as read: "),),
    bench.VALVE: (("valve_thread", "valve thread as read: "),),
    bench.DISC: (("disc", "burst disc as marked, or none (Enter: as on the card): "),),
    bench.OUTLET: (
        ("outlet", "outlet (Enter: as on the card): "),
        ("valve_rating", "working pressure marked on the valve (Enter: as on the card): "),
        ("insert", "rating marked on the insert (Enter: none, or as on the card): "),
        ("insert_in", "is a yoke insert in it, yes or no (Enter: none, or as on the card): "),
    ),
    bench.LUBRICANT: (("lubricant", "lubricant (Enter: as on the card): "),),
    bench.TORQUE: (("torque", "torque (Enter: the maker's, as on the card): "),),
}
"""What is read at a step, and how it is asked for."""


class Walked(Struct, frozen=True):
    """How far it went, what was typed at the valve steps, and whether it is to be recorded."""

    walk: Walk
    typed: Mapping[str, str]
    finished: bool


Keep = Callable[[Walk, Mapping[str, str]], None]
"""Keeps what was answered so far, so that a dead battery costs one step."""


def walk_through(
    walk: Walk,
    typed: Mapping[str, str],
    rows: Sequence[FindingRow],
    page: Page,
    keep: Keep,
    *,
    bleeds: bool = False,
) -> Walked:
    """Ask every step that is left; stops where told to, with all that was answered.

    Where its valve comes off (`bleeds`) it is asked how it was bled at the step that looks whether
    it is empty, or first of all; where no flow was heard nothing more is asked.
    """
    texts = dict(typed)
    at_step = any(step.name == EMPTY for step in walk.steps)
    while True:
        step, shut = walk.at, _is_shut(walk, texts)
        due = step is None or (not at_step and not walk.answers)
        if bleeds and due and not shut and BLED not in texts and not _left_full(walk):
            if not (said := _bled(page)):
                return Walked(walk, texts, False)
            texts |= said
            continue
        if step is None or shut:
            keys.say(output.summary(walk.answers, page, shut=shut))
            pressed = keys.key(output.LAST, "ybq")
            if pressed != "b":
                return Walked(walk, texts, pressed == "y")
            walk = walk.back()
            texts = {k: v for k, v in texts.items() if k != BLED or not shut}
            continue
        bled_here = bleeds and step.name == EMPTY
        keys.say(output.step(step, len(walk.answers) + 1, len(walk.steps), page))
        keys.say(output.bleed_it(page) if bled_here else "")
        pressed = keys.key(output.KEYS, "phrnbq")
        if pressed == "q":
            return Walked(walk, texts, False)
        if pressed == "b":
            walk = walk.back()
            continue
        walk = walk.answered(_answer(step, RESULTS[pressed], rows))
        asked = dict(PROMPTS.get(step.name, ())) | ({BLED: ""} if bled_here else {})
        if bled_here and not _left_full(walk):
            if not (said := _bled(page)):
                return Walked(walk.back(), texts, False)
            texts |= said
            asked.pop(BLED)
        texts = {k: v for k, v in texts.items() if k not in asked} | _read_at(step, page.shore)
        keep(walk, texts)


BLED = "bled"
"""How it was bled, among what was typed."""

_BLED_BY = {"h": Bled.HEARD, "l": Bled.LEFT_OPEN, "u": Bled.UNDER_CONTROL, "n": Bled.NO_FLOW}


def _bled(page: Page) -> dict[str, str]:
    """How it was bled, by one key; nothing where it is kept for later."""
    pressed = keys.key(output.BLED_KEYS, "hlunq")
    return {BLED: _BLED_BY[pressed].value} if pressed in _BLED_BY else {}


def _is_shut(walk: Walk, texts: Mapping[str, str]) -> bool:
    """Whether no flow was heard, so that its valve stays on."""
    said = texts.get(BLED)
    return said == Bled.NO_FLOW or (said is None and none_heard(walk.answers))


def _left_full(walk: Walk) -> bool:
    """Whether it was not empty yet at the step that looks for that."""
    return any(is_not_empty(answer) for answer in walk.answers)


def _answer(step: ChecklistStep, result: StepResult, rows: Sequence[FindingRow]) -> StepFinding:
    if result is StepResult.PASS:
        return StepFinding(step=step.name, result=result)
    note = _insist("what was seen: ", lambda text: text)
    told = StepFinding(step=step.name, result=result, note=note)
    if step.ask_threads:
        count = _insist("how many threads: ", _count)
        position = _insist("where: ", lambda text: text)
        told = replace(told, count=count, position=position)
    what = _what(told, step, rows)
    told = replace(told, what=what)
    if what in MEASURED:
        told = replace(told, depth=_length("depth"), length=_length("length"))
    return told


MEASURED = frozenset({Seen.PITS, Seen.LINE_CORROSION, Seen.GOUGE, Seen.DENT, Seen.BULGE})
"""What a limit is set on: how deep and how long it is decides."""


def _what(answer: StepFinding, step: ChecklistStep, rows: Sequence[FindingRow]) -> Seen | None:
    """What a finding is: asked of each that holds or rejects, and where the note names one."""
    words = words_of(answer, step, rows)
    must = bool(words) or looks_for_cracks(answer.step)
    if not must and (answer.result is StepResult.NOTE or step.group is ChecklistGroup.VALVE):
        return None
    kinds = dict.fromkeys(kind for each in words.values() for kind in each)
    first = f", such as {' or '.join(kinds)}" if kinds else ""
    keys.say(f"  words: {', '.join(Seen)}\n")
    if must:
        return _insist(f"what it is{first}: ", _seen)
    return _maybe("what it is (Enter: none of these): ", _seen)


def _seen(text: str) -> Seen:
    return option_values.word("what it is", text, Seen, dict(SEEN_TWINS))


def _length(name: str) -> Length | None:
    return _maybe(
        f"{name} as measured, 0.6 mm (Enter: not measured): ", partial(option_values.length, name)
    )


def _maybe(prompt: str, parse: Callable[[str], T]) -> T | None:
    """Ask once more until it can be understood; an empty line says nothing."""
    while text := keys.line(prompt):
        try:
            return parse(text)
        except RequestError as error:
            keys.say(f"  {error}\n")
    return None


def ask_answers(opens: Sequence[Open], why: str) -> tuple[tuple[str, ...], str]:
    """Which of what stands open a pass answers, and why a hold among it may go: the names, the
    ground. What no inspection answers is not asked about."""
    named = [o for o in opens if o.by_look and not o.answered]
    chosen = []
    for each in named:
        pressed = keys.key(f"answers {each}? [y]es [n]o: ", "ynq")
        if pressed == "y":
            chosen.append(each)
    if not why and any(o.what is Adverse.HELD for o in chosen):
        why = keys.line("why may it go back (Enter: it stays held): ")
    return tuple(o.name for o in chosen), why


def _count(text: str) -> int:
    if not text.isdecimal():
        raise RequestError("a whole number, please")
    return int(text)


def _insist(prompt: str, parse: Callable[[str], T]) -> T:
    """Ask until there is an answer that can be understood."""
    while True:
        text = keys.line(prompt)
        try:
            if text:
                return parse(text)
        except RequestError as error:
            keys.say(f"  {error}\n")
            continue
        if not keys.is_terminal():
            raise RequestError(f"{prompt.strip(': ')}: nothing was said")
        keys.say("  something has to be said here\n")


def _read_at(step: ChecklistStep, shore: Shore) -> dict[str, str]:
    """What is read at a step, checked as it is typed; an empty line leaves it to the card."""
    found = {}
    for name, prompt in PROMPTS.get(step.name, ()):
        while text := keys.line(prompt):
            try:
                read_of({name: text}, shore)
            except RequestError as error:
                keys.say(f"  {error}\n")
                continue
            found[name] = text
            break
    return found


def read_of(texts: Mapping[str, str], shore: Shore, same_valve: bool = False) -> Read:
    """What was read, from options or from the bench. A bare pressure takes the ledger's unit.

    Raises:
        RequestError: a value cannot be understood; the option it stands for is named.
    """

    def pressure(name: str) -> GaugePressure | None:
        text = texts.get(name)
        return option_values.pressure(f"--{name.replace('_', '-')}", text, shore) if text else None

    outlet, torque = texts.get("outlet"), texts.get("torque")
    return Read(
        neck_thread=texts.get("neck_thread", ""),
        valve_thread=texts.get("valve_thread", ""),
        same_valve=same_valve,
        outlet=option_values.word("--outlet", outlet, Outlet, dict(OUTLET_TWINS))
        if outlet
        else None,
        rating=pressure("valve_rating"),
        insert=pressure("insert"),
        insert_in=option_values.yes_no("--insert-in", said)
        if (said := texts.get("insert_in"))
        else None,
        disc=NoDisc.NONE if texts.get("disc") == NoDisc.NONE else pressure("disc"),
        torque=option_values.torque("--torque", torque) if torque else None,
        lubricant=texts.get("lubricant", ""),
    )
