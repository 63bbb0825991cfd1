"""Ten years of an invented busy shop as a git repository, made by `git fast-import`.

    python busy_shop.py DIR [--cylinders 2000] [--fills 50000] [--commits 60000] [--seed 7]

The ledger is sound: cylinders are booked in, inspected, rented and filled, now and then on a second
machine whose work is merged. The same numbers give the same commits.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import random
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

FIRST, LAST = dt.date(2016, 11, 28), dt.date(2026, 11, 24)
CLOCK = dt.timezone(dt.timedelta(hours=-5))
STAFF = ("KD", "TO", "AB")
HEADER = (
    "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,"
    "note\n"
)
SETTINGS = """\
ledger: Busy invented shop
units: psi
rules: [us-dot]
people:
  KD: {certifications: [{skill: inspector, from: 2015-01, until: 2030-01}, {skill: filler, from: 2015-01}]}
  TO: {certifications: [{skill: filler, from: 2015-01}, {skill: analyst, from: 2015-01}]}
  AB: {certifications: [{skill: filler, from: 2016-01}]}
"""
STATION = "banks:\n  - {name: B1, water_volume: 48 L, working_pressure: 5000 psi, gas: air}\n"
ATTRIBUTES = "fills/*.csv text eol=lf merge=union\n"
CYLINDER = """\
serial: {serial}
maker: Example Cylinder Co
specification: [DOT-3AL, TC-3ALM]
service_pressure: 3000 psi
water_volume: 11.1 L
material: aluminium
alloy: 6061
neck_thread: 3/4-14 NPSM
valve: {{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 5000 psi}}
service: air
use: rental
status: in-service
requalified:
  - {{on: {made}, method: hydrostatic, by: maker}}
"""


@dataclass
class Card:
    """A cylinder's file, as head and lists of entries."""

    head: str
    inspected: list[str] = field(default_factory=list)
    rented: list[str] = field(default_factory=list)

    @property
    def text(self) -> bytes:
        parts = [self.head]
        for name in ("inspected", "rented"):
            entries = getattr(self, name)
            parts += [f"{name}:\n", *(f"  - {{{e}}}\n" for e in entries)] if entries else []
        return "".join(parts).encode()


@dataclass(frozen=True)
class Log:
    """A year's log as it stood: so many lines of it, and those of the second machine."""

    lines: list[str]
    count: int
    aside: tuple[str, ...] = ()

    @property
    def text(self) -> bytes:
        return "".join([*self.lines[: self.count], *self.aside]).encode()


@dataclass(frozen=True)
class Commit:
    """A commit to be written: what it changes, by the marks of blobs."""

    at: dt.datetime
    by: str
    says: str
    files: tuple[tuple[str, int], ...]
    branch: str = "main"
    merges: str = ""


@dataclass
class Shop:
    """Plays the years and keeps what is to be written."""

    seed: int
    blobs: list[bytes | Log] = field(default_factory=list)
    commits: list[Commit] = field(default_factory=list)
    cards: dict[str, Card] = field(default_factory=dict)
    lines: dict[str, list[str]] = field(default_factory=dict)
    aside: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.chance = random.Random(self.seed)

    def keep(self, data: bytes | Log) -> int:
        self.blobs.append(data)
        return len(self.blobs)

    def begin(self, at: dt.datetime) -> None:
        files = {"tankbook.yaml": SETTINGS, "station.yaml": STATION, ".gitattributes": ATTRIBUTES}
        kept = tuple((path, self.keep(text.encode())) for path, text in files.items())
        self.commits.append(Commit(at, "KD", "Begin the ledger", kept))

    def book_in(self, at: dt.datetime, number: int) -> None:
        id_ = f"RB-{number:04d}"
        made = at.date() - dt.timedelta(days=self.chance.randrange(40, 400))
        self.cards[id_] = Card(CYLINDER.format(serial=f"K{100000 + number}", made=f"{made:%Y-%m}"))
        self.cards[id_].inspected.append(self.inspection(at))
        self.changed(at, "KD", id_, f"Booked in {id_}", "book-in")

    def inspection(self, at: dt.datetime) -> str:
        return f"on: {at:%Y-%m-%d}, by: KD, checklist: annual, result: pass, sticker: issued"

    def inspect(self, at: dt.datetime) -> None:
        id_ = self.chance.choice(list(self.cards))
        self.cards[id_].inspected.append(self.inspection(at))
        self.changed(at, "KD", id_, f"Inspected {id_}: pass", "inspect")

    def rent(self, at: dt.datetime) -> None:
        id_ = self.chance.choice(list(self.cards))
        rented = self.cards[id_].rented
        if rented and "back:" not in rented[-1]:
            rented[-1] += f", back: {at:%Y-%m-%d}"
        else:
            rented.append(f"on: {at:%Y-%m-%d}, by: AB, to: B-{self.chance.randrange(1000, 9999)}")
        self.changed(at, "AB", id_, f"Rental of {id_}", "rent")

    def changed(self, at: dt.datetime, by: str, id_: str, sentence: str, act: str) -> None:
        says = f"{sentence}\n\nCylinder: {id_}\nAct: {act}\n"
        blob = self.keep(self.cards[id_].text)
        self.commits.append(Commit(at, by, says, ((f"cylinders/{id_}.yaml", blob),)))

    def fill(self, at: dt.datetime, *, aside: bool = False) -> None:
        id_, by = self.chance.choice(list(self.cards)), self.chance.choice(STAFF)
        found = 50 * self.chance.randrange(4, 30)
        line = f"{at.isoformat()},{id_},fill,{found} psi,3000 psi,70 degF,air,,,{by},,B1,P1,,,\n"
        log = self.lines.setdefault(f"{at:%Y}", [HEADER])
        (self.aside if aside else log).append(line)
        blob = self.keep(Log(log, len(log), tuple(self.aside) if aside else ()))
        says = f"Filled {id_} to 3000 psi\n\nCylinder: {id_}\nAct: fill\n"
        branch = "second" if aside else "main"
        self.commits.append(Commit(at, by, says, ((f"fills/{at:%Y}.csv", blob),), branch))

    def apart(self, at: dt.datetime) -> None:
        """Two fills here, two on a second machine, and the merge: five commits."""
        for minutes, aside in ((0, False), (1, True), (2, True), (3, False)):
            self.fill(at + dt.timedelta(minutes=minutes), aside=aside)
        log = self.lines[f"{at:%Y}"]
        log += self.aside
        self.aside = []
        blob = self.keep(Log(log, len(log)))
        at += dt.timedelta(minutes=4)
        files = ((f"fills/{at:%Y}.csv", blob),)
        self.commits.append(Commit(at, "TO", "Merge the second machine\n", files, merges="second"))

    def play(self, cylinders: int, fills: int, commits: int) -> None:
        """Spread the acts over the years, bookings-in mostly early."""
        merges = fills // 400
        acts = ["apart"] * merges + ["fill"] * (fills - 4 * merges)
        others = commits - 1 - cylinders - fills - merges
        acts += ["inspect"] * (others // 2) + ["rent"] * (others - others // 2)
        self.chance.shuffle(acts)
        early = [i * len(acts) // (3 * cylinders) for i in range(cylinders)]
        span = dt.datetime.combine(LAST, dt.time(17), CLOCK) - self.opening
        total, done, number = len(acts) + cylinders, 0, 0
        self.begin(self.opening - dt.timedelta(hours=1))
        for place, act in enumerate(acts):
            while number < cylinders and early[number] <= place:
                number, done = number + 1, done + 1
                self.book_in(self.opening + span * done / total, number)
            done += 1
            getattr(self, act)((self.opening + span * done / total).replace(microsecond=0))

    @property
    def opening(self) -> dt.datetime:
        return dt.datetime.combine(FIRST, dt.time(9), CLOCK)


def stream(shop: Shop) -> Iterator[bytes]:
    """The input of fast-import. Like follows like among the blobs, so that they pack small."""
    marked = sorted(enumerate(shop.blobs, 1), key=lambda each: isinstance(each[1], bytes))
    for mark, kept in marked:
        data = kept if isinstance(kept, bytes) else kept.text
        yield b"blob\nmark :%d\ndata %d\n%b\n" % (mark, len(data), data)
    tips: dict[str, int] = {}
    for mark, commit in enumerate(shop.commits, len(shop.blobs) + 1):
        parents = [tips[commit.branch]] if commit.branch in tips else list(tips.values())
        if commit.merges:
            parents.append(tips.pop(commit.merges))
        yield header(commit, mark, parents)
        for path, blob in commit.files:
            yield f"M 100644 :{blob} {path}\n".encode()
        yield b"\n"
        tips[commit.branch] = mark


def header(commit: Commit, mark: int, parents: list[int]) -> bytes:
    when = f"{int(commit.at.timestamp())} {commit.at:%z}"
    who = f"{commit.by} <{commit.by.lower()}@shop.example> {when}"
    says = commit.says.encode()
    lines = [f"commit refs/heads/{commit.branch}", f"mark :{mark}"]
    lines += [f"author {who}", f"committer {who}", f"data {len(says)}"]
    head = "\n".join(lines).encode() + b"\n" + says + b"\n"
    words = ("from", *["merge"] * 9)
    return head + b"".join(f"{w} :{p}\n".encode() for w, p in zip(words, parents, strict=False))


def make(folder: Path, cylinders: int, fills: int, commits: int, seed: int) -> None:
    """Make the repository and check its files out."""
    shop = Shop(seed)
    shop.play(cylinders, fills, commits)
    alone = {**os.environ, "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}
    subprocess.run(["git", "init", "-q", "-b", "main", str(folder)], check=True, env=alone)
    run = ["git", "-C", str(folder), "fast-import", "--quiet"]
    with subprocess.Popen(run, stdin=subprocess.PIPE, env=alone) as process:
        pipe: IO[bytes] = process.stdin  # type: ignore[assignment]
        for piece in stream(shop):
            pipe.write(piece)
        pipe.close()
        if process.wait():
            raise SystemExit("fast-import refuses")
    for last in (["branch", "-D", "-q", "second"], ["reset", "-q", "--hard", "main"]):
        subprocess.run(["git", "-C", str(folder), *last], check=True, env=alone)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    for name, usual in (("cylinders", 2000), ("fills", 50000), ("commits", 60000), ("seed", 7)):
        parser.add_argument(f"--{name}", type=int, default=usual)
    asked = parser.parse_args()
    make(asked.folder, asked.cylinders, asked.fills, asked.commits, asked.seed)


if __name__ == "__main__":
    main()
