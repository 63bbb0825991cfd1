"""Striking out a line of the fill log with a void line, and logging the right one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from tankbook.acts.beyond import beyond_banks
from tankbook.acts.common import as_text, refusal
from tankbook.acts.log_line import line_of, moment_for, place_reasons
from tankbook.acts.soundness import after, left_while_held, lets_go, lines_of, sound
from tankbook.acts.striking import SHOWN, Wrong, entered, fault_of, with_unit
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Void
from tankbook.records.fields import NodeReader, attributes_of, keys_of
from tankbook.records.log import LogLine, columns, read_line
from tankbook.records.words import LogAct
from tankbook.rules.fill_history import names_in_log, struck_out, void_key
from tankbook.rules.filled import cells_of, tells, unsigned_strange_strikes, unsigned_strikes
from tankbook.rules.signing import why_not_certified
from tankbook.rules.two_halves import halves_left
from tankbook.units import quoted

LOG_WORDS = frozenset({"log", *(a.value for a in LogAct if a is not LogAct.VOID)})
"""What stands for lines of the fill log: any, or those of one act."""


def correct_line(book: Book, id_: str, wrong: Wrong, void: Void, now: dt.datetime) -> Act | Refusal:
    """A void line for a line of the log and, where changes are given, the right line."""
    gone = struck_out(book.log)
    cards = _cards(book, id_)
    again = {id(n) for c in cards for _, n, _ in unsigned_strikes(book, c, void.on)}
    again |= {id(n) for _, n, _ in unsigned_strange_strikes(book)}
    lines = [
        line
        for line in book.log
        if line.cylinder == id_
        and line.act is not LogAct.VOID
        and (void_key(line) not in gone or id(line) in again)
        and wrong.what in {"log", line.act.value}
    ]
    found = [line for line in lines if _is_then(line, wrong.when)]
    if len({(void_key(line), line.act) for line in found}) != 1:
        return refusal([_which(id_, wrong, lines, found)])
    old = found[0]
    same = [line for line in book.log if void_key(line) == void_key(old)]
    if any(line.act is not old.act for line in same):
        said = f"two lines are of {old.at.isoformat()} and {id_}: striking out takes both"
        return refusal([f"{said}; give one another second in the file first"])
    right, reasons = _right_line(book, old, wrong.changes)
    if right and right["at"].date() > max(now.date(), void.on):
        reasons = [f"--set at: {right['at']:%Y-%m-%d} lies in the future; write when it was done"]
    unsigned = why_not_certified(book.settings.people, void.by, void.on)
    against = old.act is LogAct.FILL or any(tells(book, card, old) for card in cards)
    may_not = unsigned and void.by in book.settings.people
    told = [f"{unsigned}: let somebody certified do it (--by)"] if may_not else []
    reasons = [*reasons, *(told if against else [])]
    if reasons:
        return refusal(reasons)
    at, cylinder = void_key(old)
    struck = {
        # a line typed with a later hour is struck out after it
        "at": moment_for(book, (id_,), max(now, old.at) if old.at.date() == now.date() else now),
        "cylinder": id_,
        "act": LogAct.VOID,
        "by": void.by,
        "voids": f"{at} {cylinder}",
        "note": void.why,
    }
    edits = [line_of(struck), *([line_of(right)] if right else [])]
    sentence = f"Struck out {id_} {old.act} {old.at:%Y-%m-%d %H:%M:%S}: {void.why}"
    sentence += entered(wrong.changes) if right else ""
    ids = dict.fromkeys([id_, *([str(right["cylinder"])] if right else [])])
    several = len({cells_of(line) for line in same})
    note = f"{several} lines of that second were struck out: log the one that is true once more"
    notes = [note] if several > 1 and not right else []
    if against and old.at.date() > now.date():
        notes.append(
            f"it tells against it again from {old.at:%Y-%m-%d} on: strike it out anew then"
        )
    notes += beyond_banks(book, edits)
    then = after(book, (), tuple(lines_of(edits)))
    owners = dict.fromkeys(n for each in ids for n in (*names_in_log(book, each), each))
    left = halves_left(book, then, owners)
    notes += [f"WARNING: {owner}: {each.text}; {each.of_entry}" for owner, each in left]
    notes += left_while_held(book, then, ids, void.on)
    act = Act("correct", tuple(ids), sentence, tuple(edits), tuple(notes))
    if reasons := lets_go(book, then, ids, void.on, told):
        return refusal(reasons)
    return sound(book, act, (), void.on, fact=True)


def _cards(book: Book, id_: str) -> list[Cylinder]:
    """The cylinders that a line of an id is about."""
    sides = book.members(id_)
    return [book.cylinders[i] for i in sides if i in book.cylinders]


def _is_then(line: LogLine, when: str) -> bool:
    """Whether a line is of a time given by its start: a day, a day and time, or a time."""
    at = line.at.isoformat()
    return at.startswith(when.replace(" ", "T")) or at[11:].startswith(when)


def _which(id_: str, wrong: Wrong, lines: list[LogLine], found: list[LogLine]) -> str:
    shown = found or lines
    listed = "; ".join(f"{n.at:%Y-%m-%d %H:%M:%S} {n.act} {n.to or ''}" for n in shown[-SHOWN:])
    if found:
        return f"{id_}: {len(found)} lines fit ({listed}); write more of the time"
    if not lines:
        what = "" if wrong.what == "log" else f" of a {wrong.what}"
        return f"{id_}: no line{what} stands; `tankbook history {id_}` tells what is on record"
    said = f"no line that stands is of {quoted(wrong.when)}"
    return f"{id_}: {said}; write the time of one of the last: {listed}"


def _right_line(
    book: Book, old: LogLine, changes: Mapping[str, str]
) -> tuple[dict[str, Any], list[str]]:
    """The cells of the right line; it is never at the struck line's second and cylinder."""
    if not changes:
        return {}, []
    header = columns(LogLine)
    unknown = [n for n in changes if n not in header or n == "voids"]
    if unknown:
        has = ", ".join(n for n in header if n != "voids")
        return {}, [f"--set {n}: the fill log has no such column; it has {has}" for n in unknown]
    names = attributes_of(LogLine)
    cells = {n: _cell(getattr(old, names[n])) for n in header}
    for name, text in changes.items():
        cells[name] = with_unit(keys_of(LogLine)[name].kind, text, book)
    reader = NodeReader("--set")
    line = read_line(LogLine, [cells[n] for n in header], reader, 1)
    if line is None:
        return {}, [fault_of(f.text, f.mend) for f in reader.findings]
    if wrong := _not_of_act(line, changes):
        return {}, wrong
    known = {*book.cylinders, *book.sets, *book.broken}
    if line.cylinder not in known:
        return {}, [f"--set cylinder: {line.cylinder} is not in the ledger; write the whole id"]
    places = (changes.get("source", ""), changes.get("position", ""))
    if wrong := [why.replace("--", "--set ", 1) for why in place_reasons(book, *places)]:
        return {}, wrong
    return {**cells, "at": _beside(book, old, line)}, []


_NOT_READ = ("from", "source", "position", "override")
"""What a reading never says: it has one pressure, `to`, and takes gas from nowhere."""


def _not_of_act(line: LogLine, changes: Mapping[str, str]) -> list[str]:
    """What a right line of a reading would say that no reading does."""
    if line.act is not LogAct.READING:
        return []
    names, asked = attributes_of(LogLine), changes.keys()
    wrong = [n for n in _NOT_READ if getattr(line, names[n]) is not None]
    ways = {"from": "what its gauge showed is --set to=PRESSURE"}
    return [
        f"--set {name}: a reading has none; {ways.get(name, f'leave it out: --set {name}=')}"
        if name in asked
        else f"--set act: a reading has no `{name}`; leave it out too: --set {name}="
        for name in wrong
        if name in asked or "act" in asked
    ]


def _beside(book: Book, old: LogLine, right: LogLine) -> dt.datetime:
    """The time of the right line: the nearest second to that of the struck one at which it stands
    between the same lines of its cylinder, its sets and its sides, where there is one."""
    sides = book.members(old.cylinder)
    names = {old.cylinder, right.cylinder, *(n for side in sides for n in names_in_log(book, side))}
    second, at = dt.timedelta(seconds=1), right.at
    taken = {n.at for n in book.log if n.cylinder in names}
    after = min((each for each in taken if each > at), default=None)
    if at in taken and at + second == after:
        before = at - second
        if before not in taken and before.date() == at.date():
            return before
    return moment_for(book, (right.cylinder,), at)


def _cell(value: Any) -> str:
    return "" if value is None else str(as_text(value))
