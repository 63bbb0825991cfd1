"""What is asked of a ledger after a power cut, and what is found against its answers.

An act that was acknowledged is there. One that was not is there whole, or not at all, and once when
it is given again. Until it is one or the other, line one says so and its cards are a NO.
"""

from __future__ import annotations

import io
import random
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from deeds import Kind, begin, records, run, timeless
from disk import Disk, State, Tree, cuts, lay, tree_of
from tracing import Tracer

from tankbook.ledger.journal import acting

Ran = tuple[int, str, str]
READING = ("validate", "may-fill")


class Told(io.StringIO):
    """What an answer is written to; the tracer learns when it is out."""

    def __init__(self, tracer: Tracer) -> None:
        super().__init__()
        self._tracer = tracer

    def flush(self) -> None:
        if self.getvalue():
            self._tracer.answer_out()


@dataclass(frozen=True, slots=True)
class Stand:
    """How a ledger stands: its records, and what two reading commands answer."""

    records: dict[str, str]
    answers: dict[str, Any]


@dataclass(slots=True)
class Figures:
    """How much was tried: acts and recoveries that were traced, states that were judged, and what
    of these was lost; and what was found."""

    rounds: int = 0
    states: int = 0
    lost: int = 0
    pending: int = 0
    findings: list[str] = field(default_factory=list)


def empty(top: Path) -> None:
    for each in sorted(top.rglob("*"), reverse=True):
        if each.is_dir():
            each.rmdir()
        else:
            each.unlink()


class World:
    """An act of one kind, traced, on a ledger that was written before or (`fresh`) never was."""

    def __init__(self, name: str, kind: Kind, top: Path, fresh: bool) -> None:
        self.name = name if fresh else f"{name}, not the first act"
        self.kind, self.top, self.root = kind, top, top / "quay"
        self.figures = Figures()
        self._judged: dict[Any, str] = {}
        empty(top)
        self.root.mkdir()
        begin(self.root, kind.cards)
        if kind.ready:
            kind.ready(self.root)
        if not fresh:
            with acting(self.root):
                pass
        self.base = Disk.of(tree_of(top))
        with Tracer(top, self.base) as self.trace:
            code, out, err = kind.do(self.root, Told(self.trace))
        assert code == 0, f"{self.name}: {out}{err}"
        self.figures.rounds += 1
        assert self._memory(self.trace.calls).tree() == tree_of(top), "the notes miss something"
        self.once = self._stand()
        again = kind.do(self.root)
        self.twice = again[0], records(self.root)
        self.more = self._stand() if kind.more else self.once
        self._lay(self.base.tree())
        self.before = self._stand()
        assert self.before.records != self.once.records, f"{self.name} writes nothing"

    def _memory(self, calls: list[Any]) -> Disk:
        """What the system shows after some calls, synced or not."""
        now = self.base.copy()
        for call in calls:
            now.do(call)
        return now

    def _lay(self, tree: Tree) -> None:
        empty(self.top)
        lay(tree, self.top)

    def _stand(self) -> Stand:
        answers = {asked: _plain(self._ask(asked)) for asked in READING}
        return Stand(records(self.root), answers)

    def _ask(self, asked: str) -> Ran:
        cards = self.kind.cards or ("RB-014",)
        return run(self.root, asked, *(cards if asked == "may-fill" else ()), "--json")

    def play(self, share: int, chance: random.Random) -> Figures:
        """Judge so many states, a part of them after a second cut."""
        calls, told = self.trace.calls, self.trace.told
        states = _all(self.base, calls, 0, chance)
        worst = [s for s in states if s.at == len(calls)][1:2]  # done, told, and all else lost
        drawn = worst + chance.sample(states, min(share * 2 // 3, len(states)))
        for state in drawn:
            self._try(state, state.at >= told, f"{state.at} of {len(calls)} calls")
        left = share - len(drawn)
        unfinished = [s for s in states if 0 < s.at < told]
        while left > 0 and unfinished and not self.kind.more:
            left -= self._twice(chance.choice(unfinished), min(left, 4), chance)
        return self.figures

    def _twice(self, state: State, most: int, chance: random.Random) -> int:
        """Cut once more, while what the first cut left is read and the act is given again."""
        only_killed = chance.random() < 0.5
        if only_killed:  # the system goes on, with all in its memory
            base, calls = self.base, self.trace.calls[: state.at]
            tree = self._memory(calls).tree()
        else:
            base, calls, tree = Disk.of(state.tree), [], state.tree
        self._lay(tree)
        with Tracer(self.top, base, calls) as trace:
            self._ask(chance.choice(READING))
            code, _, _ = self.kind.do(self.root, Told(trace))
        self.figures.rounds += 1
        states = _all(base, trace.calls, len(calls), chance)
        worst = [s for s in states if s.at == len(trace.calls)][1:2]
        drawn = worst + chance.sample(states, min(most - len(worst), len(states)))
        how = "killed" if only_killed else "cut"
        for each in drawn:
            said = f"{how} after {state.at} calls and cut after {each.at} of {len(trace.calls)}"
            told = code == 0 and trace.told > 0 and each.at >= trace.told
            self._try(each, told, said, killed=only_killed)
        return max(len(drawn), 1)

    def _try(self, state: State, acknowledged: bool, where: str, killed: bool = False) -> None:
        self.figures.states += 1
        self.figures.lost += state.lost
        self._lay(state.tree)
        found = self._judge(READING[self.figures.states % 2], acknowledged, killed)
        if found:
            self.figures.findings.append(f"{self.name}, {where}, {state.lost} lost: {found}")

    def _judge(self, asked: str, acknowledged: bool, killed: bool) -> str:
        """What is found. Where a process was `killed` between the mark of this computer and its
        sync, and the power went in the next act, the mark may be lost: then the act is not finished
        unasked, and line one tells it."""
        ran = self._ask(asked)
        pending = '"pending"' in ran[1]
        if found := self._against(ran, marked=not (killed and pending)):
            return found
        if pending:
            self.figures.pending += 1
            code, out, _ = self._ask("may-fill")
            if code == 0 or '"fillable": true' in out:
                return f"a YES on half an act: {out[:300]}"
            if not self.kind.copied:
                run(self.root, "pending", "--finish")
                ran = self._ask(asked)
        now, expected = records(self.root), {"before": self.before, "once": self.once}
        if acknowledged:
            expected.pop("before")
        if self.kind.more:
            expected["twice"] = self.more
        fits = [name for name, each in expected.items() if each.records == now]
        if not fits:
            lost = acknowledged and now == self.before.records
            return "an acknowledged act is lost" if lost else f"half an act: {self._differs(now)}"
        told = _plain(ran)
        if told != expected[fits[0]].answers[asked] and not (pending and self.kind.copied):
            return f"the records are as {fits[0]}, the answer of {asked} is not: {told}"
        return self._known(acknowledged, fits[0])

    def _known(self, acknowledged: bool, stood: str) -> str:
        """What is found when the act is given again. What it does rests on the files alone, so that
        it is not given where these were seen before."""
        key = acknowledged, frozenset(_alike(tree_of(self.top)).items())
        if key not in self._judged:
            self._judged[key] = self._again(acknowledged, stood)
        return self._judged[key]

    def _again(self, acknowledged: bool, stood: str) -> str:
        code, out, err = ran = self.kind.do(self.root)
        if found := self._against(ran):
            return f"given again: {found}"
        now = records(self.root)
        told = f"{code} {out[:200]} {err[:200]}"
        right = now == self.once.records and (code == 0 or (self.kind.once and stood == "once"))
        if not right and not ((acknowledged or self.kind.more) and (code, now) == self.twice):
            return f"given again, it is not there once: {told} {self._differs(now)}"
        left = [path for path in tree_of(self.top) if path.endswith((".tmp", "/journal"))]
        return f"given again, {left} is left" if left and code == 0 and self.kind.sweeps else ""

    def _against(self, ran: Ran, marked: bool = True) -> str:
        """What no answer may say."""
        code, out, err = ran
        out = " ".join(out.split()).replace("nor open its valve fast by hand", "")  # a caution
        for bad in ("fault of the program", "Traceback", "by hand", "another computer"):
            unmarked = bad == "another computer" and (self.kind.copied or not marked)
            if bad in out + err and not unmarked:
                return f"it says `{bad}`: {(out + err)[:300]}"
        return "" if code in (0, 1, 2) else f"exit code {code}"

    def _differs(self, now: dict[str, str]) -> str:
        known = self.once.records
        paths = sorted(p for p in known.keys() | now.keys() if known.get(p) != now.get(p))
        return "; ".join(f"{p}: {now.get(p, 'gone')[-300:]!r}" for p in paths)


def _all(base: Disk, calls: list[Any], start: int, chance: random.Random) -> list[State]:
    """The states after each call from `start` on that differ, the one that lost most of each."""
    found: dict[Any, State] = {}
    for at in range(start, len(calls) + 1):
        for state in cuts(base, calls, at, chance):
            found[at, frozenset(_alike(state.tree).items())] = state
    return list(found.values())


_DRAWN = re.compile(r"(?<=done-)[0-9a-f]{16}|[0-9a-f]{8}(?=\.tmp$)")


def _alike(tree: Tree) -> Tree:
    """A tree without what differs and says nothing: who last had the lock, and names drawn."""
    return {_DRAWN.sub("", p): d for p, d in tree.items() if not p.endswith("/lock")}


def _plain(ran: Ran) -> Any:
    code, out, err = ran
    return code, timeless(out) if out else err
