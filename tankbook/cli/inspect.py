"""`tankbook inspect`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Annotated

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.bleeding import BLED
from tankbook.acts.options import IDS, TIME, Flag, Opt
from tankbook.cli.answer import DONE, Answer, RequestError, shown
from tankbook.cli.recording import Bench, Given, Planned, run, time_of

if TYPE_CHECKING:
    from tankbook.acts.inspect import Look
    from tankbook.acts.walk import Walk
    from tankbook.cli.open_ledger import Desk
    from tankbook.records.book import Book
    from tankbook.records.checklist import Checklist
    from tankbook.records.entries import StepFinding
    from tankbook.records.words import Bled, Seen
    from tankbook.units import Length


def inspect(
    given: Given,
    ids: Annotated[list[str], IDS],
    checklist: Annotated[
        str, Opt("NAME", "new, annual, internal, outside, or the shop's own.")
    ] = "",
    pass_all: Annotated[bool, Flag("Every step passes, but those of --except.")] = False,
    excepted: Annotated[
        Sequence[str], Opt("STEP:RESULT", "note, hold or reject; may be given again.", "--except")
    ] = (),
    what: Annotated[
        Sequence[str],
        Opt("[STEP:]WORD", "What it is: gouge, pits, heat, suspected-crack, crack ..."),
    ] = (),
    depths: Annotated[
        Sequence[str], Opt("[STEP:]LENGTH", "How deep, as measured: 0.6mm.", "--depth")
    ] = (),
    lengths: Annotated[
        Sequence[str], Opt("[STEP:]LENGTH", "How long, as measured: 40mm.", "--length")
    ] = (),
    notes: Annotated[
        Sequence[str],
        Opt("[STEP:]TEXT", "What was seen, at a step or at all; may be given again.", "--note"),
    ] = (),
    counts: Annotated[
        Sequence[str], Opt("[STEP:]N", "How many threads a finding is about.", "--count")
    ] = (),
    positions: Annotated[
        Sequence[str], Opt("[STEP:]TEXT", "Where a thread finding is.", "--position")
    ] = (),
    neck_thread: Annotated[str, Opt("THREAD", "Neck thread as read: '3/4-14 NPSM'.")] = "",
    valve_thread: Annotated[str, Opt("THREAD", "Valve thread as read, apart from the neck.")] = "",
    same_valve: Annotated[bool, Flag("The valve that was on it goes back.")] = False,
    outlet: Annotated[str, Opt("OUTLET", "yoke, din-200, din-300, convertible or m26.")] = "",
    valve_rating: Annotated[str, Opt("PRESSURE", "Working pressure marked on the valve.")] = "",
    insert: Annotated[str, Opt("PRESSURE", "Rating marked on the insert.")] = "",
    insert_in: Annotated[str, Opt("YES|NO", "Whether a yoke insert is in the valve.")] = "",
    disc: Annotated[str, Opt("PRESSURE", "Burst disc as marked; none where it has none.")] = "",
    torque: Annotated[
        str, Opt("TORQUE", "Torque used; the maker's on the card, if not said.")
    ] = "",
    lubricant: Annotated[str, Opt("TEXT", "Lubricant used, such as oxygen-compatible.")] = "",
    sticker_number: Annotated[
        str, Opt("NUMBER", "Its number; a range for several cylinders.")
    ] = "",
    withhold: Annotated[bool, Flag("The sticker does not go on yet.")] = False,
    clears: Annotated[
        Sequence[str], Opt("NAME", 'What a pass answers: "damage 2026-11-20"; may be given again.')
    ] = (),
    why: Annotated[str, Opt("TEXT", "Lets a hold go that --clears names, on this ground.")] = "",
    bled: Annotated[str, BLED] = "",
    told: Annotated[str, Opt("HOW", "How its owner was told of a rejection: letter.")] = "",
    afresh: Annotated[bool, Flag("Begin again what was left half done.")] = False,
    at: Annotated[str, TIME] = "",
) -> Answer:
    """Inspect a cylinder by a checklist: one key a step, or --pass-all with exceptions.

    Pass, hold or reject; any crack is out. Neck and valve thread are read apart. A pass answers
    what --clears names; what stays open is said. q keeps it for later. Several cylinders alike go
    with --pass-all.
    """
    from tankbook.acts.inspect import Look
    from tankbook.cli.option_values import word
    from tankbook.records.words import Bled

    texts = (
        neck_thread, valve_thread, outlet, valve_rating, insert, insert_in, disc, torque, lubricant
    )  # fmt: skip
    typed = {name: text for name, text in zip(READ, texts, strict=True) if text}
    look = Look("", (), withhold=withhold, told=told, clears=tuple(clears), why=why)
    let_out = word("--bled", bled, Bled) if bled else None
    said = _Said(checklist, typed, same_valve, sticker_number, at, look, let_out)
    marks = Excepted(*map(tuple, (excepted, notes, counts, positions, what, depths, lengths)))
    if pass_all or let_out is Bled.NO_FLOW:
        return run(given, lambda bench: _all_at_once(bench, ids, said, marks))
    if replace(marks, notes=()) != Excepted():
        raise RequestError("--except goes with --pass-all", "add --pass-all, or answer each step")
    return _step_by_step(given, ids, said, notes, afresh)


READ = (
    "neck_thread", "valve_thread", "outlet", "valve_rating", "insert", "insert_in", "disc",
    "torque", "lubricant",
)  # fmt: skip
"""What is read off a valve and a neck, as the options and the bench call it."""


class _Said(Struct, frozen=True):
    """What holds for every cylinder named."""

    checklist: str
    typed: Mapping[str, str]
    same_valve: bool
    numbers: str
    at: str
    look: Look
    """What is the same of the look at each."""
    bled: Bled | None = None

    def followed(self, book: Book, ids: Sequence[str]) -> Checklist:
        """The checklist named, or the usual one of the first cylinder."""
        from tankbook.acts.inspect import usual_checklist

        known = [book.cylinders[i] for i in ids if i in book.cylinders]
        name = self.checklist or (usual_checklist(book, known[0]) if known else "annual")
        if name not in book.checklists:
            lists = ", ".join(sorted(book.checklists))
            raise RequestError(f"there is no checklist {shown(name)}", f"known: {lists}")
        return book.checklists[name]

    def sticker_numbers(self, count: int) -> list[str]:
        """One number a cylinder."""
        from tankbook.acts.arrivals import serials
        from tankbook.cli.option_values import read

        if not self.numbers:
            return [""] * count
        numbers = read("--sticker-number", self.numbers, serials)
        if len(numbers) != count:
            raise RequestError(f"{len(numbers)} sticker numbers for {count} cylinders")
        return list(numbers)


def _all_at_once(bench: Bench, ids: list[str], said: _Said, marks: Excepted) -> Planned:
    from tankbook.acts.common import refusal
    from tankbook.acts.inspect import inspect as plan
    from tankbook.acts.walk import passed_except, steps_for
    from tankbook.cli.inspect_prompt import read_of

    named = bench.every(ids)
    followed = said.followed(bench.book, named)
    read = read_of(said.typed, bench.desk.shore, said.same_valve)
    if len(named) > 1 and (marks.results or said.look.clears):
        mend = "record what was found on each by itself"
        option = "--except" if marks.results else "--clears"
        raise RequestError(f"{option} is about one cylinder", mend)
    looks, reasons = [], []
    for id_, number in zip(named, said.sticker_numbers(len(named)), strict=True):
        cylinder = bench.book.cylinders.get(id_)
        answers: tuple[StepFinding, ...] = ()
        note = ""
        if cylinder is not None:
            try:
                steps = steps_for(followed, cylinder)
                found, note = marks.findings([s.name for s in steps])
                answers = passed_except(steps, found)
            except ValueError as error:
                reasons.append(f"{id_}: {error}")
                continue
        look = replace(said.look, id=id_, answers=answers, read=read, note=note)
        looks.append(replace(look, sticker_number=number))
    if reasons:
        return refusal(reasons)
    at = time_of(bench, said.at)
    list_, by, on = followed.id, bench.by, bench.today
    return plan(bench.book, looks, checklist=list_, by=by, on=on, at=at, bled=said.bled)


def _step_by_step(
    given: Given, ids: list[str], said: _Said, notes: Sequence[str], afresh: bool
) -> Answer:
    """Ask each step, then record what was answered; or keep it for later."""
    from tankbook.acts.inspect import inspect as plan
    from tankbook.cli.inspect_prompt import read_of, walk_through
    from tankbook.cli.open_ledger import Desk, clock, day_done, moment, page, root_asked, told
    from tankbook.ledger import unfinished
    from tankbook.ledger.load import load
    from tankbook.records.words import Bled
    from tankbook.rules.seen import rows_for
    from tankbook.rules.status import is_inside

    today, root = day_done(given.common), root_asked(given.common)
    book = replace(load(root, tell=told), clock=clock(), now=moment())
    desk = Desk(root, book, today, page(book.settings.units))
    (id_,) = _only(desk, ids)
    by = given.by or book.settings.operator or ""
    walk, typed, name = _begun(desk, id_, said, by, afresh)

    def keep(walk: Walk, typed: Mapping[str, str]) -> None:
        if not given.dry_run:
            unfinished.save(root, id_, unfinished.Unfinished(name, by, walk.answers, typed))

    rows = rows_for(desk.book, desk.book.cylinders[id_])
    bleeds = said.bled is None and is_inside(desk.book, name)
    walked = walk_through(walk, typed, rows, desk.page, keep, bleeds=bleeds)
    if not walked.finished:
        keep(walked.walk, walked.typed)
        return _kept(given, id_, walked.walk)
    read = read_of(walked.typed, desk.shore, said.same_valve)
    (number,) = said.sticker_numbers(1)
    answered = walked.typed.get("bled")
    bled = said.bled or (Bled(answered) if answered and bleeds else None)
    open_ = bled is not Bled.NO_FLOW
    clears, why = _answered(desk, id_, said, walked.walk) if open_ else ((), "")
    look = replace(
        said.look,
        id=id_,
        answers=walked.walk.answers,
        read=read,
        note="; ".join(notes),
        sticker_number=number,
        clears=(*said.look.clears, *clears),
        why=said.look.why or why,
    )

    def planned(bench: Bench) -> Planned:
        at, by, on = time_of(bench, said.at), bench.by, bench.today
        return plan(bench.book, [look], checklist=name, by=by, on=on, at=at, bled=bled)

    answer = run(given, planned)
    if answer.code == DONE and not given.dry_run:
        unfinished.forget(root, id_)
    return answer


def _answered(desk: Desk, id_: str, said: _Said, walk: Walk) -> tuple[tuple[str, ...], str]:
    """What a pass answers of what stands open, asked one by one where that was not said."""
    from tankbook.acts.open_against import open_against
    from tankbook.acts.walk import outcome
    from tankbook.cli.inspect_prompt import ask_answers
    from tankbook.records.words import InspectionResult

    if said.look.clears or outcome(walk.answers) is not InspectionResult.PASS:
        return (), ""
    known = desk.book.as_known_on(desk.today)
    return ask_answers(open_against(known, known.cylinders[id_]), said.look.why)


def _kept(given: Given, id_: str, walk: Walk) -> Answer:
    from tankbook.output import as_json, recorded
    from tankbook.output import inspect as output
    from tankbook.records.edits import Refusal

    text = output.kept(id_, len(walk.answers), len(walk.steps))
    if given.common.json:
        told = Refusal(text.splitlines()[0], ())
        return Answer(as_json.dumps(recorded.data(told)))
    return Answer(text)


def _only(desk: Desk, ids: list[str]) -> list[str]:
    named = desk.every(ids)
    if len(named) != 1 or named[0] not in desk.book.cylinders:
        mend = "name one that can be read, or give --pass-all"
        raise RequestError("step by step goes with one cylinder", mend)
    return named


def _begun(
    desk: Desk, id_: str, said: _Said, by: str, afresh: bool
) -> tuple[Walk, dict[str, str], str]:
    """The walk to go on with: what was left half done, or a new one."""
    from tankbook.acts.open_against import open_against
    from tankbook.acts.walk import Walk, steps_for
    from tankbook.cli import keys
    from tankbook.ledger import unfinished
    from tankbook.output import inspect as output

    left = None if afresh else unfinished.load(desk.root, id_)
    if left and left.by != by:
        mend = f"let {left.by} go on, or begin again with --afresh"
        raise RequestError(f"{id_} was begun by {left.by}", mend)
    followed = said.followed(desk.book, [id_])
    if left and left.checklist in desk.book.checklists and not said.checklist:
        followed = desk.book.checklists[left.checklist]
    try:
        walk = Walk(steps_for(followed, desk.book.cylinders[id_]))
        for answer in left.answers if left and left.checklist == followed.id else ():
            walk = walk.answered(answer)
    except ValueError as error:
        raise RequestError(f"{id_}: {error}") from None
    typed = {**(left.read if left else {}), **said.typed}
    keys.say(output.begun(id_, followed.id, len(walk.steps), len(walk.answers), desk.page))
    known = desk.book.as_known_on(desk.today)
    opens = open_against(known, known.cylinders[id_])
    keys.say(output.open_before(id_, [(str(o), o.name) for o in opens], desk.page))
    return walk, typed, followed.id


# --- what was found at some steps while all others pass ------------------------------------------


class Excepted(Struct, frozen=True):
    """The exceptions as given, and what was seen, counted, placed, named and measured, each with or
    without a step."""

    results: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    counts: tuple[str, ...] = ()
    positions: tuple[str, ...] = ()
    what: tuple[str, ...] = ()
    depths: tuple[str, ...] = ()
    lengths: tuple[str, ...] = ()

    def findings(self, steps: Sequence[str]) -> tuple[dict[str, StepFinding], str]:
        """The findings by step, and the note that is about none of them.

        Raises:
            RequestError: an option cannot be understood, or does not say which step it is about.
        """
        from tankbook.cli import option_values
        from tankbook.records.entries import StepFinding
        from tankbook.records.words import StepResult

        results = dict(map(_pair, self.results))
        notes, loose = _by_step(self.notes, steps, results)
        counts = _of_steps("--count", self.counts, steps, results)
        positions = _of_steps("--position", self.positions, steps, results)
        what = _of_steps("--what", self.what, steps, results)
        depths = _of_steps("--depth", self.depths, steps, results)
        lengths = _of_steps("--length", self.lengths, steps, results)
        noted = dict.fromkeys((*notes, *what, *depths, *lengths), StepResult.NOTE.value)
        found = {
            step: StepFinding(
                step=step,
                result=option_values.word(f"--except {step}", result, StepResult),
                what=_seen(what.get(step)),
                depth=_length("--depth", depths.get(step)),
                length=_length("--length", lengths.get(step)),
                note=notes.get(step),
                count=_count(counts[step]) if step in counts else None,
                position=positions.get(step),
            )
            for step, result in {**noted, **results}.items()
        }
        return found, "; ".join(loose)


def _of_steps(
    option: str, texts: Sequence[str], steps: Sequence[str], results: dict[str, str]
) -> dict[str, str]:
    """As `_by_step`, of an option that is always about a step."""
    found, loose = _by_step(texts, steps, results)
    if loose:
        mend = f"as in {option} {steps[0] if steps else 'neck-threads'}:{loose[0]}"
        raise RequestError(f"{option}: no step is named", mend)
    return found


def _seen(text: str | None) -> Seen | None:
    from tankbook.cli import option_values
    from tankbook.records.words import SEEN_TWINS, Seen

    return option_values.word("--what", text, Seen, dict(SEEN_TWINS)) if text else None


def _length(option: str, text: str | None) -> Length | None:
    from tankbook.cli import option_values

    return option_values.length(option, text) if text else None


def _pair(text: str) -> tuple[str, str]:
    step, sign, result = text.partition(":")
    if not sign:
        raise RequestError(f"--except: {shown(text)} is not STEP:RESULT", "as in o-ring:hold")
    return step.strip(), result.strip()


def _by_step(
    texts: Sequence[str], steps: Sequence[str], results: dict[str, str]
) -> tuple[dict[str, str], list[str]]:
    """Texts by step; one without a step is about the only exception, or about none."""
    found: dict[str, str] = {}
    loose = []
    for text in texts:
        step, sign, said = text.partition(":")
        if sign and step.strip() in steps:
            found[step.strip()] = said.strip()
        else:
            loose.append(text)
    only = next(iter(results)) if len(results) == 1 else None
    if loose and only and only not in found:
        found[only] = loose.pop(0)
    return found, loose


def _count(text: str) -> int:
    if not text.isdecimal():
        raise RequestError(f"--count: {shown(text)} is not a whole number")
    return int(text)
