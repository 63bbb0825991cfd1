"""What a recall finds, against a simulation of a station that moves each lot of gas by itself."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

import pytest
from books import GOOD, make_book, with_lines
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import Struct, field
from sweep import tries

from tankbook.records.book import Book
from tankbook.records.station import Bank
from tankbook.rules.bank_air import air_of
from tankbook.rules.recall import Asked, by_fills

FIRST, LAST = 1, 24
BANKS, CYLINDERS = ("B1", "B2"), ("A", "B", "C")
LITRES = {"B1": 48.0, "B2": 24.0, "A": 11.1, "B": 11.1, "C": 11.1}
SEEN = 60.0
"""Bar by which a bank is surely seen to have been pumped where nobody wrote it down: `CHARGED`, and
what gas that is no ideal one makes of it."""
THRESHOLD = 1e-6
"""Of the gas in a vessel, from which it holds bad air (own bound)."""


class Vessel(Struct):
    """Bar and, of that, bad. Gas is ideal here: the law must hold whatever gas does."""

    bar: float = 0.0
    bad: float = 0.0

    def take(self, bar: float) -> float:
        """Let some gas out; how much of it was bad."""
        gone = self.bad * bar / self.bar if self.bar else 0.0
        self.bar, self.bad = self.bar - bar, self.bad - gone
        return gone

    @property
    def is_bad(self) -> bool:
        """Whether what it holds is bad."""
        return self.bar > 0 and self.bad / self.bar > THRESHOLD


class World(Struct):
    """A station as it was, with what somebody wrote down of it."""

    spell: tuple[int, int]
    vessels: dict[str, Vessel] = field(default_factory=dict)
    readings: dict[str, list[str]] = field(default_factory=dict)
    raised: dict[str, list[str]] = field(default_factory=dict)
    log: list[str] = field(default_factory=list)
    minute: int = 0
    unseen: bool = False
    """Bad air went into a bank unwritten, and so little that a warm day shows as much."""

    def at(self, day: int) -> str:
        """The next minute of a day."""
        self.minute += 1
        return f"{8 + self.minute // 60:02d}:{self.minute % 60:02d}"

    def read(self, name: str, day: int) -> None:
        """Read a bank."""
        bar = round(self.vessels[name].bar, 3)
        said = f'{{on: 2026-11-{day:02d}, at: "{self.at(day)}", pressure: {bar} bar}}'
        self.readings[name].append(said)

    def pump(self, name: str, day: int, to: float, source: str, *, told: bool) -> None:
        """Raise a bank: from the compressor, or as far as the other one gives."""
        vessel = self.vessels[name]
        begun = vessel.bar
        if source:
            giver = self.vessels[source]
            share = LITRES[name] / LITRES[source]
            to = min(to, (giver.bar + begun * share) / (1 + share))
            if to <= begun + 1:
                return
            vessel.bad += giver.take((to - begun) * share) / share
        elif to <= begun + 1:
            return
        else:
            bad = self.spell[0] <= day <= self.spell[1]
            vessel.bad += (to - begun) if bad else 0.0
            self.unseen |= bad and not told and to - begun < SEEN
        vessel.bar = to
        if told:
            of = f", source: {source}" if source else ""
            said = f'{{on: 2026-11-{day:02d}, at: "{self.at(day)}", from: {round(begun, 3)} bar'
            self.raised[name].append(f"{said}, to: {round(to, 3)} bar{of}}}")
        elif source:
            self.read(source, day)

    def fill(self, id_: str, day: int, source: str, to: float, *, told: bool) -> None:
        """Fill a cylinder as far as its source gives."""
        vessel, giver = self.vessels[id_], self.vessels[source]
        share, begun = LITRES[id_] / LITRES[source], vessel.bar
        to = min(to, (giver.bar + begun * share) / (1 + share))
        if to <= begun + 1:
            return
        vessel.bad += giver.take((to - begun) * share) / share
        vessel.bar = to
        said = f"from={round(begun, 3)} bar; " if told else ""
        self.log.append(
            f"at=2026-11-{day:02d}T{self.at(day)}:00+00:00; cylinder={id_}; act=fill; {said}"
            f"to={round(to, 3)} bar; gas=air; by=MV; source={source}"
        )

    def drain(self, id_: str, day: int) -> None:
        """Let all out of a cylinder."""
        self.vessels[id_] = Vessel()
        self.log.append(
            f"at=2026-11-{day:02d}T{self.at(day)}:00+00:00; cylinder={id_}; act=drain; to=0 bar;"
            " by=MV"
        )

    def book(self) -> Book:
        """What was written down."""
        banks = "".join(
            f"  - {{name: {name}, water_volume: {LITRES[name]} L, gas: air"
            f", readings: [{', '.join(self.readings[name])}]"
            f", raised: [{', '.join(self.raised[name])}]}}\n"
            for name in BANKS
        ).replace(", raised: []", "")  # fmt: skip
        cards = {n: with_lines(GOOD, serial=f"K{n}") for n in CYLINDERS}
        station = f"compressor: {{name: C1}}\nbanks:\n{banks}"
        return make_book(cards, station=station, log="\n".join(self.log))


@st.composite
def worlds(draw: st.DrawFn) -> World:
    """A station over some weeks: raised, opened to each other, filled from, emptied."""
    first = draw(st.integers(FIRST, LAST))
    world = World((first, draw(st.integers(first, LAST))))
    for name in (*BANKS, *CYLINDERS):
        world.vessels[name] = Vessel(draw(st.sampled_from([0.0, 60.0, 200.0])))
    for name in BANKS:
        world.readings[name], world.raised[name] = [], []
        world.read(name, FIRST)
    days = sorted(draw(st.lists(st.integers(FIRST, LAST), max_size=14)))
    day = FIRST
    for each in days:
        if each != day:
            day, world.minute = each, 0
        bank, id_ = draw(st.sampled_from(BANKS)), draw(st.sampled_from(CYLINDERS))
        told = draw(st.booleans())
        match draw(st.sampled_from("pppgffffddre")):
            case "p":
                world.pump(bank, day, draw(st.sampled_from([120.0, 230.0, 300.0])), "", told=told)
            case "g":
                other = "B2" if bank == "B1" else "B1"
                world.pump(bank, day, 300.0, other, told=True)
            case "f":
                world.fill(id_, day, bank, draw(st.sampled_from([100.0, 200.0])), told=told)
            case "d":
                giver = draw(st.sampled_from([c for c in CYLINDERS if c != id_]))
                world.fill(id_, day, giver, 200.0, told=told)
            case "e":
                world.drain(id_, day)
            case _:
                world.read(bank, day)
    return world


def _banks(book: Book) -> Mapping[str, Bank]:
    assert book.station
    return {b.name: b for b in book.station.banks}


@settings(max_examples=tries(150, 5000), deadline=None)
@given(worlds())
def test_a_recall_misses_no_vessel_that_got_bad_air(world: World) -> None:
    book = world.book()
    since, until = (dt.date(2026, 11, day) for day in world.spell)
    found = by_fills(book, Asked("C1", since=since, until=until), dt.date(2026, 11, 25))
    bad = {name for name, vessel in world.vessels.items() if vessel.is_bad}
    listed = {s.id for s in found.suspects} | {b.name for b in found.banks}
    assert bad <= listed, (world.spell, bad - listed)


@settings(max_examples=tries(150, 5000), deadline=None)
@given(worlds())
def test_shares_are_of_the_whole_and_a_bad_one_lasts_until_the_bank_is_emptied(
    world: World,
) -> None:
    book = world.book()
    for name, bank in _banks(book).items():
        air = air_of(book, bank)
        assert not air.origins or sum(o.share for o in air.origins) == pytest.approx(1, abs=1e-6)
        assert all(o.share > 0 for o in air.origins)
        begun, ended = (dt.date(2026, 11, day) for day in world.spell)
        met = any(o.on >= begun and (o.since or begun) <= ended for o in air.origins)
        unread = air.read_on is not None and air.read_on <= ended
        assert met or unread or world.unseen or not world.vessels[name].is_bad


@settings(max_examples=tries(150, 5000), deadline=None)
@given(worlds(), st.sampled_from(BANKS), st.integers(FIRST, LAST))
def test_a_recall_of_a_bank_finds_whatever_its_gas_went_into(
    world: World, bank: str, since: int
) -> None:
    """By what was written down alone: each fill from it, and what came from those and from a bank
    that was raised from it."""
    book = world.book()
    found = by_fills(book, Asked(bank, since=dt.date(2026, 11, since)), dt.date(2026, 11, 25))
    holds: set[str] = set()
    told = [(n.at, n.cylinder, n.act.value, n.source_ or "") for n in book.log]
    told += [
        (dt.datetime.combine(r.on, r.at or dt.time.max, dt.UTC), b.name, "raise", r.source_ or "")
        for b in _banks(book).values()
        for r in b.raised
    ]
    for at, into, act, source in sorted(told, key=lambda each: each[0]):
        if act == "drain":
            holds.discard(into)
        elif at.date().day >= since and (source == bank or source in holds):
            holds.add(into)
    listed = {s.id for s in found.suspects} | {b.name for b in found.banks}
    assert holds <= listed
