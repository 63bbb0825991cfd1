"""The station while a plan is carried out: what it holds, what is noted of it, what the compressor
feeds meanwhile."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from math import ceil, hypot, inf
from typing import NamedTuple

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.filling.figures import BAND_HOLDS, SHORTEST_WAIT, UNLOADED, WORTH_A_START
from tankbook.filling.heat import HeatCase
from tankbook.filling.nouns import Doubt, PlanCompressor
from tankbook.filling.problem import Solution
from tankbook.filling.results import (
    CylinderChange,
    Ends,
    FedBank,
    HandMove,
    Hot,
    Load,
    PanelPart,
    PlanAct,
    PlanStep,
    Turn,
)
from tankbook.filling.setup import Setup, fed_to
from tankbook.filling.warmth import PerCase, World
from tankbook.records.station import Position
from tankbook.units import STANDARD_ATMOSPHERE, GaugePressure, Temperature

TELL_THE_BAND = frozenset(HeatCase) - {HeatCase.USUAL, HeatCase.GUARD}
"""The cases between which, and the usual, a cylinder is told to settle."""

AN_INSTANT = 1e-9
"""Minutes shorter than this are none."""

FEED_STEP = 2.0
"""Minutes of a step in which a bank is fed: its gas and its wall take some four to even out."""

MACHINERY = {PanelPart.FEED, PanelPart.COMPRESSOR}
"""What is turned of the compressor."""

AS_FULL = 1e-6
"""A bank that takes less than all that is made, by more than this part, shows the most it may."""

HARDLY = 0.1
"""The compressor is stopped where a bank, as it cools, takes less than this part of what it makes:
what it then ran unloaded would be nearly all (own choice)."""

AT_STOP_KPA = 1.0
"""A gauge so near its stop has come to it."""

A_MOMENT = 0.02
"""A bank that the compressor would fill in fewer minutes is full."""


class Feed(Struct):
    """The bank that the compressor feeds, those that are to follow `then`, and how long it has run:
    since it last rested, and since its separators were drained; it must rest for `rests` minutes
    more, has been `idle` for so long, and was changed over from bank to bank so many times. It is
    `on` where its motor runs, loaded or not; `shut` where the feed of its bank is shut while it
    rests or the bank is `full`; `kept` where the bank shows the most that it may and takes only
    what its gauge falls by; `off_at` is the minute at which it was stopped with
    nothing said of when it is wanted again; `every`: its separators are drained so often in the
    step that is under way, where that is oftener than they must be; `refused`: a load began
    with all full that it was to feed."""

    bank: int | None = None
    then: tuple[int, ...] = ()
    ran: float = 0.0
    undrained: float = 0.0
    rests: float = 0.0
    idle: float = 0.0
    changes: int = 0
    on: bool = False
    shut: bool = False
    full: bool = False
    kept: bool = False
    off_at: float = -inf
    every: float = inf
    refused: bool = False

    @classmethod
    def of(cls, made: PlanCompressor | None) -> Feed:
        """A compressor as the session begins."""
        return cls(ran=made.ran.minutes, rests=made.rests.minutes) if made else cls()

    def runs(self, made: PlanCompressor, minutes: float, most: float = inf) -> float:
        """Let minutes pass in which it runs as long as it may, `most` minutes at most; how long it
        ran."""
        ran = 0.0
        while minutes > AN_INSTANT:
            if self.rests > 0 or ran >= most:
                part = min(minutes, self.rests) if self.rests > 0 else minutes
                self._stands(made, part)
            else:
                part = min(minutes, self.may_run(made), most - ran)
                ran, self.ran, self.idle = ran + part, self.ran + part, 0.0
                if made.longest_run and self.ran >= made.longest_run.minutes - AN_INSTANT:
                    self.ran, self.rests = 0.0, made.rest_minutes
            minutes -= part
        self.undrained += ran
        every = min(self.every, made.drain_every.minutes)
        if self.undrained > every + AN_INSTANT:  # drained meanwhile
            self.undrained %= every
        return ran

    def minutes_for(self, made: PlanCompressor, running: float) -> float:
        """The minutes that pass until it has run for so many more."""
        ahead, minutes = copy(self), 0.0
        while running > AN_INSTANT:
            part = ahead.rests if ahead.rests > 0 else min(running, ahead.may_run(made))
            running -= ahead.runs(made, part)
            minutes += part
        return minutes

    def longest(self, made: PlanCompressor) -> float:
        """For how many minutes it may run at a stretch."""
        return made.longest_run.minutes if made.longest_run else inf

    def may_run(self, made: PlanCompressor) -> float:
        """For how many minutes it may run before it must rest."""
        return self.longest(made) - self.ran

    def _stands(self, made: PlanCompressor, minutes: float) -> None:
        """It stands for some minutes: it rests, or nothing takes what it would make."""
        self.idle += minutes
        self.rests = max(0.0, self.rests - minutes)
        if self.idle >= made.rest_minutes - AN_INSTANT:
            self.ran = 0.0


class FeedSpan(NamedTuple):
    """Some minutes of a load, as far as feeding goes: what was drawn from which bank [mol], and
    whether the compressor could not feed that bank meanwhile (`shut`), or none (`busy`)."""

    load: int
    minutes: float
    bank: int | None = None
    drawn: float = 0.0
    shut: bool = False
    busy: bool = False


class Feeding(Struct, frozen=True):
    """How the compressor is to be used.

    `banks` are those that it feeds in each load, by number, another once the one before is full.
    `waited`: for cylinders that the banks leave unfilled it is waited for it to raise the bank that
    it feeds; else they are filled from it directly. `cooled`: before the last bank is opened,
    cylinders cool while it feeds the banks below, and those are opened to them again. `ahead`:
    what is waited for is raised before anything is connected, as far as that is known. `later`: a
    bank that is full as its load begins is fed as soon as it takes more, else not in that load.
    `briefly`: banks are opened for moments too, for what little that adds.
    """

    banks: tuple[tuple[int, ...], ...] = ()
    waited: bool = False
    cooled: bool = False
    ahead: bool = False
    later: bool = False
    briefly: bool = False

    def in_load(self, load: int) -> tuple[int, ...]:
        """The banks that are fed in a load, counted from 1."""
        return self.banks[load - 1] if 0 < load <= len(self.banks) else ()


UNFED = Feeding()


class FillBench(Struct):
    """The station while a plan is carried out, for the usual heat and the ends of its band."""

    setup: Setup
    answer: Solution
    worlds: PerCase[World]
    steps: list[PlanStep] = field(default_factory=list)
    loads: list[Load] = field(default_factory=list)
    seats: dict[int, Position] = field(default_factory=dict)
    stopped: set[int] = field(default_factory=set)
    at_stop: set[int] = field(default_factory=set)
    regulator: GaugePressure | None = None
    feed: Feed = field(default_factory=lambda: Feed())
    feeding: Feeding = UNFED
    spans: list[FeedSpan] = field(default_factory=list)
    passed_over: set[int] = field(default_factory=set)
    """The loads in which a bank was not opened, be it in trying, for how short and little it is."""
    again: int = 0
    """How often a cylinder may still be connected after this: what follows nothing is held."""

    def job(self, id_: str) -> int:
        """The number of a cylinder."""
        return next(n for n, vessel in enumerate(self.setup.vessels) if vessel.id == id_)

    @property
    def usual(self) -> World:
        """The station as it is expected to go; what it holds is what the plan tells."""
        return self.worlds.usual

    @property
    def sure(self) -> World:
        """The station as it goes where less comes of a fill than nine times in ten."""
        return self.worlds.sure

    @property
    def banks(self) -> list[float]:
        """What each bank holds [mol/L]."""
        return [bank.rho for bank in self.usual.banks]

    @property
    def holds(self) -> list[float]:
        """What each cylinder holds [mol/L]."""
        return [state.rho for state in self.usual.states]

    def note(
        self, act: PlanAct, moves: Sequence[HandMove], minutes: float = 0.0, ends: Ends = Ends.DONE
    ) -> None:
        """Note a step in which no gas flows."""
        step = PlanStep(
            number=len(self.steps) + 1, load=len(self.loads), act=act, source="", ends=ends,
            changes=(), minutes=minutes, moves=tuple(moves),
        )  # fmt: skip
        self.steps.append(step)

    def note_while(
        self,
        act: PlanAct,
        moves: Sequence[HandMove],
        passes: float,
        minutes: float = 0.0,
        ends: Ends = Ends.DONE,
        *,
        first: Sequence[HandMove] = (),
    ) -> None:
        """Note a step in which no gas flows from a bank, while time passes in which the compressor
        feeds its bank, `first` what is done before that. `minutes` are those of the step itself:
        handling is told with its load."""
        change_where_full(self)
        starts = [] if act is PlanAct.REST else _goes_on(self, self.usual.now)
        drains = _drains(self, self.would_run(passes))
        self.note(act, [], minutes, ends)
        for world in self.worlds:
            world.now += passes
        self.spans.append(FeedSpan(len(self.loads), passes))
        rests = _fed(self, passes)
        self.steps[-1] = replace(self.steps[-1], moves=(*starts, *first, *rests, *moves, *drains))
        _drained_apart(self, passes)

    def tried(self) -> FillBench:
        """The same station, for trying what comes of waiting: nothing that is done there is done
        here."""
        return replace(self.as_it_stands(), spans=[], passed_over=self.passed_over)

    def as_it_stands(self) -> FillBench:
        """The same station, that goes on by itself."""
        copied = PerCase(world.tried() for world in self.worlds)
        lists = {"steps": [*self.steps], "loads": [*self.loads], "spans": [*self.spans]}
        stops = {"stopped": {*self.stopped}, "at_stop": {*self.at_stop}, "seats": {**self.seats}}
        over = {*self.passed_over}
        return replace(
            self, worlds=copied, feed=copy(self.feed), passed_over=over, **lists, **stops
        )

    def lasts(self) -> float:
        """The running minutes until the bank that is fed is full."""
        return inf if self.feed.bank is None else _room_for(self, self.feed.bank)

    def is_fed_full(self) -> bool:
        """Whether the bank that is fed is as good as full."""
        return self.lasts() < A_MOMENT

    def would_run(self, minutes: float) -> float:
        """For how many of the next minutes the compressor would run to feed its bank, at most."""
        made = self.setup.session.compressor
        if made is None or self.feed.bank is None or self.feed.full or minutes <= 0:
            return 0.0
        return copy(self.feed).runs(made, minutes)


def _room_for(bench: FillBench, bank: int) -> float:
    """The minutes in which the compressor brings a bank to all that it may hold."""
    problem = bench.setup.problem
    room = max(0.0, problem.limits[bank] - bench.banks[bank]) * problem.volumes[bank]
    return room / problem.compressor


def has_room(bench: FillBench, minutes: float) -> bool:
    """Whether the compressor has a bank to feed for so many minutes."""
    bank = bench.feed.bank
    room = bank is not None and not bench.feed.full and _room_for(bench, bank) >= minutes
    return bank is not None and (bool(bench.feed.then) or room)


def _fed(bench: FillBench, minutes: float, since: float = 0.0) -> list[HandMove]:
    """Let the compressor feed its bank for some minutes of the last step, or stand; how it is
    stopped and started for its rests meanwhile, and stopped where the bank comes full, where they
    begin `since` minutes into the step."""
    feed, problem, made = bench.feed, bench.setup.problem, bench.setup.session.compressor
    if made is None or minutes <= 0:
        return []
    bank = feed.bank
    if bank is None or feed.full:
        feed.runs(made, minutes, 0.0)
        return []
    most = fed_to(bench.setup.session, bench.setup.banks[bank])
    if most is None:
        return []
    amount, left, rests = 0.0, minutes, list[HandMove]()
    while left > AN_INSTANT:
        part = min(left, FEED_STEP)
        runs = copy(feed).runs(made, part) * problem.compressor
        began = bench.usual.now - left
        gave, *_ = [w.fed(bank, began, part, runs, most.absolute().kpa) for w in bench.worlds]
        rests += _rested(bench, made, part, gave / problem.compressor, since + minutes - left)
        amount, left = amount + gave, left - part
        full_at = since + minutes - left - part + gave / problem.compressor
        if gave < runs * HARDLY:
            rests += _stopped_full(bench, full_at, most)
            feed.runs(made, left, 0.0)
            break
        if gave < runs * (1 - AS_FULL) and feed.on and not feed.kept:
            feed.kept = True
            keep = HandMove(turn=Turn.KEEP, part=PanelPart.FEED, name=bench.setup.banks[bank].label)
            rests.append(replace(keep, at=most, minutes=full_at))
    last, label = bench.steps[-1], bench.setup.banks[bank].label
    if amount > 0:
        equation, kpa = bench.setup.equation, bench.usual.bank_kpa(bank)
        after, shows = equation.reading(bench.banks[bank]), equation.gauge(kpa)
        fed = FedBank(bank=label, mol=amount, after=after, shows=min(shows, most))
        bench.steps[-1] = replace(last, fed=(*last.fed, fed))
    return rests


def _stopped_full(bench: FillBench, minutes: float, most: GaugePressure) -> list[HandMove]:
    """The compressor stopped, and the feed of its bank shut, when that is full some minutes into a
    step: it stands until the bank takes more."""
    feed = bench.feed
    assert feed.bank is not None
    feed.full = True
    stop = [turned_machine(bench, Turn.STOP, minutes)] if feed.on else []
    feed.on = False
    shows = min(most, bench.setup.equation.gauge(bench.usual.bank_kpa(feed.bank)))
    return [*stop, *(replace(move, at=shows) for move in way_shut(bench, minutes))]


def takes_more(bench: FillBench, bank: int, began: float) -> bool:
    """Whether a bank takes so much that the compressor is started for it, from a minute on."""
    most = fed_to(bench.setup.session, bench.setup.banks[bank])
    if most is None:
        return False
    asked = WORTH_A_START.minutes * bench.setup.problem.compressor
    args = bank, began, WORTH_A_START.minutes, asked, most.absolute().kpa
    return bench.usual.tried().fed(*args) >= asked * (1 - AS_FULL)


def _rested(
    bench: FillBench, made: PlanCompressor, minutes: float, most: float, since: float
) -> list[HandMove]:
    """Let the compressor run for some minutes, `most` at most; how it is stopped and started for
    its rests in them, where the minutes begin `since` into the step."""
    feed, found = bench.feed, list[HandMove]()
    while minutes > AN_INSTANT:
        resting = feed.rests > 0
        part = min(minutes, feed.rests if resting else feed.may_run(made))
        most -= feed.runs(made, part, most)
        minutes, since = minutes - part, since + part
        if resting and feed.rests <= 0 and not feed.on:
            feed.on = True
            found += [*_way_open(bench, since), turned_machine(bench, Turn.START, since)]
        elif not resting and feed.rests > 0 and feed.on:
            feed.on = False
            found += [turned_machine(bench, Turn.STOP, since), *way_shut(bench, since)]
    return found


def turned_machine(bench: FillBench, turn: Turn, minutes: float = 0.0) -> HandMove:
    """The compressor started, stopped, loaded or unloaded, when some minutes of a step are over."""
    made = bench.setup.session.compressor
    assert made is not None, "there is no compressor to turn"
    return HandMove(turn=turn, part=PanelPart.COMPRESSOR, name=made.label, minutes=minutes)


def halted(bench: FillBench, minutes: float) -> list[HandMove]:
    """What keeps the compressor from making pressure for some minutes, before its way is shut: it
    is unloaded, or stopped where that is for long."""
    if not bench.feed.on:
        return []
    if minutes <= UNLOADED.minutes:
        return [turned_machine(bench, Turn.UNLOAD)]
    bench.feed.on = False
    return [turned_machine(bench, Turn.STOP)]


def loaded(bench: FillBench, ago: float = 0.0) -> list[HandMove]:
    """What lets the compressor make pressure, some minutes `ago`, once its way is open. One that
    was stopped only just before was left to run unloaded instead."""
    feed = bench.feed
    if not feed.on and bench.usual.now - ago - feed.off_at <= UNLOADED.minutes:
        number = max(n for n, step in enumerate(bench.steps) if _stops(step))
        step = bench.steps[number]
        moves = tuple(
            replace(m, turn=Turn.UNLOAD) if m.turn is Turn.STOP else m for m in step.moves
        )
        bench.steps[number], feed.on = replace(step, moves=moves), True
    feed.off_at = -inf
    if feed.on:
        return [turned_machine(bench, Turn.LOAD)]
    feed.on = True
    return [turned_machine(bench, Turn.START, feed.rests)]


def _stops(step: PlanStep) -> bool:
    return any(move.turn is Turn.STOP for move in step.moves)


def _goes_on(bench: FillBench, began: float) -> list[HandMove]:
    """The compressor started where it has a bank to feed and stands, and has rested; `began` is
    when the step does."""
    feed = bench.feed
    if feed.bank is None or feed.on or feed.rests > 0:
        return []
    if feed.full and not takes_more(bench, feed.bank, began):
        return []
    return [*_way_open(bench), *loaded(bench)]


def way_shut(bench: FillBench, minutes: float = 0.0) -> list[HandMove]:
    """The feed of the bank that is fed shut while the compressor rests."""
    feed = bench.feed
    if feed.bank is None or feed.shut:
        return []
    feed.shut, feed.kept = True, False
    label = bench.setup.banks[feed.bank].label
    return [HandMove(turn=Turn.CLOSE, part=PanelPart.FEED, name=label, minutes=minutes)]


def _way_open(bench: FillBench, minutes: float = 0.0) -> list[HandMove]:
    """That feed opened again before the compressor is started, when some minutes are over."""
    feed = bench.feed
    if feed.bank is None or not feed.shut:
        return []
    feed.shut = feed.full = feed.kept = False
    return [replace(_open_feed(bench, feed.bank), minutes=minutes)]


def changed_over(bench: FillBench, bank: int) -> list[HandMove]:
    """Let the compressor feed another bank: the moves of it. Between two banks it is unloaded,
    while its separators are drained."""
    before, opened = bench.feed.bank, _open_feed(bench, bank)
    off = shut_off(bench, 0.0) if before is not None else []
    bench.feed.bank = bank
    bench.feed.shut = bench.feed.full = bench.feed.kept = False
    if not bench.feed.on and bench.feed.rests > 0:  # opened when it has rested
        opened = replace(opened, minutes=bench.feed.rests)
    if before is None:
        return [opened, *loaded(bench)]
    bench.feed.undrained, bench.feed.every = 0.0, inf
    bench.feed.changes += 1
    return [
        *(move for move in off if move.part is PanelPart.COMPRESSOR),
        HandMove(turn=Turn.DRAIN, part=PanelPart.SEPARATORS),
        *(move for move in off if move.part is PanelPart.FEED),
        opened,
        *loaded(bench),
    ]


def _open_feed(bench: FillBench, bank: int) -> HandMove:
    """The move that lets the compressor feed a bank, up to what its gauge may show."""
    each = bench.setup.banks[bank]
    most = fed_to(bench.setup.session, each)
    return HandMove(turn=Turn.OPEN, part=PanelPart.FEED, name=each.label, at=most)


def _next_bank(bench: FillBench) -> int:
    bank, *then = bench.feed.then
    bench.feed.then = tuple(then)
    return bank


def change_where_full(bench: FillBench) -> None:
    """Where the bank that is fed is full, and another is to follow that is not, change over to
    that."""
    if not (bench.feed.full or bench.is_fed_full()):
        return
    while bench.feed.then:
        bank = _next_bank(bench)
        if takes_more(bench, bank, bench.usual.now):
            bench.note(PlanAct.FEED, changed_over(bench, bank))
            return


def _drains(bench: FillBench, ran: float, changed: float | None = None) -> list[HandMove]:
    """The separators are drained before a step in which the compressor would run for longer than
    they can wait; where that is longer than so by itself, every so many minutes meanwhile too: from
    the first on as soon as they can wait, where that saves the draining before it. Where it is
    `changed` over after some minutes of the step, they are drained there."""
    made, feed = bench.setup.session.compressor, bench.feed
    feed.every = inf
    if made is None or ran <= 0:
        return []
    every, before = made.drain_every.minutes, ran
    if changed is not None:
        before = bench.would_run(changed)
    if max(feed.undrained + before, ran - before) <= every + AN_INSTANT:
        return []
    sooner = every - feed.undrained
    can_wait = changed is None and bool(_apart([[ran]], int(sooner)))
    if can_wait and _times(ran, sooner) <= 1 + _times(ran, every):
        feed.undrained, feed.every = 0.0, sooner
        return [HandMove(turn=Turn.DRAIN, part=PanelPart.SEPARATORS, minutes=sooner)]
    if feed.undrained > 0:
        feed.undrained = 0.0
        bench.note(PlanAct.DRAIN, [HandMove(turn=Turn.DRAIN, part=PanelPart.SEPARATORS)])
    if max(before, ran - before) <= every + AN_INSTANT:
        return []
    return [HandMove(turn=Turn.DRAIN, part=PanelPart.SEPARATORS, minutes=every)]


def _times(ran: float, every: float) -> float:
    """How often the separators are drained in some running minutes: as often as a hand is told, in
    whole minutes."""
    told = int(every)
    return inf if told < 1 else max(0, ceil(ran / told - AN_INSTANT) - 1)


def _drained_apart(bench: FillBench, minutes: float, changed: float | None = None) -> None:
    """Tell how often the separators are drained in the last step, of some minutes, so that none of
    it falls within a minute of a stop of the compressor, of its being changed over or of the end,
    as far as that is no more than once oftener; nothing, where it runs for less."""
    step, made = bench.steps[-1], bench.setup.session.compressor
    told = next((m for m in step.moves if m.turn is Turn.DRAIN and m.minutes), None)
    if made is None or told is None or told.minutes < 2 * SHORTEST_WAIT.minutes:
        return
    spans = [_stops_in(step.moves, *ends) for ends in _parts(minutes, changed)]

    def times(every: int) -> int:
        return sum(max(0, ceil(span[-1] / every - AN_INSTANT) - 1) for span in spans if span)

    most = int(told.minutes)
    every = min(_apart(spans, most), key=lambda n: (times(n), -n), default=most)
    if times(every) > times(most) + 1:
        every = most
    again = times(every) > 0
    moves = (m if m is not told else replace(m, minutes=float(every)) for m in step.moves)
    bench.steps[-1] = replace(
        step, moves=tuple(m for m in moves if again or m.turn is not Turn.DRAIN or not m.minutes)
    )
    if changed is None:
        bench.feed.undrained = _undrained(bench, step, minutes)
        if not again:
            bench.feed.undrained += made.drain_every.minutes - told.minutes
    if again and bench.feed.undrained > every + AN_INSTANT:
        bench.feed.undrained %= every


def _apart(spans: Sequence[Sequence[float]], most: int) -> list[int]:
    """How often separators may be drained, in whole minutes, at the most so many and no oftener
    than twice that, with no draining within a minute of any of these running minutes."""
    return [
        every
        for every in range(most, max(1, most // 2), -1)
        if not any(_is_near(at, span[-1], every) for span in spans for at in span)
    ]


def _undrained(bench: FillBench, step: PlanStep, minutes: float) -> float:
    """For how many minutes of a step the compressor made pressure."""
    if step.act is PlanAct.COMPRESSOR:
        return minutes
    return sum(fed.mol for fed in step.fed) / bench.setup.problem.compressor


def _parts(minutes: float, changed: float | None) -> list[tuple[float, float]]:
    """From when to when in a step the separators are not drained for a changing over."""
    if changed is None:
        return [(0.0, minutes)]
    return [(0.0, changed), (changed, minutes)]


def _stops_in(moves: Sequence[HandMove], began: float, ends: float) -> list[float]:
    """After how many running minutes the compressor is stopped between two minutes of a step, the
    end among them."""
    turns = [m for m in moves if m.turn in {Turn.START, Turn.STOP} and began < m.minutes < ends]
    turns.sort(key=lambda move: move.minutes)
    runs, ran, since, found = not turns or turns[0].turn is Turn.STOP, 0.0, began, list[float]()
    for at, to_run in [*((m.minutes, m.turn is Turn.START) for m in turns), (ends, False)]:
        if runs:
            ran += at - since
            found.append(ran)
        since, runs = at, to_run
    return found


def _is_near(at: float, ran: float, every: int) -> bool:
    """Whether separators that are drained every so many of some running minutes are so within a
    minute of another."""
    before = int(at / every) * every
    return any(
        0 < drained < ran - AN_INSTANT and abs(at - drained) < SHORTEST_WAIT.minutes - AN_INSTANT
        for drained in (before, before + every)
    )


def has_come_full(bench: FillBench, job: int) -> bool:
    """Whether a cylinder is sure to settle within the loss that the policy accepts."""
    return is_full(bench, job, bench.holds[job], bench.sure.states[job].rho)


def comes_within(bench: FillBench, job: int) -> bool:
    """Whether a cylinder is expected to settle within the loss that the policy accepts, be that
    sure or not."""
    return settles_within(bench, job, bench.holds[job])


def settles_within(bench: FillBench, job: int, usual: float) -> bool:
    """The same of one that is expected to hold `usual` [mol/L]."""
    kpa = bench.usual.table.at(usual).pressure(bench.setup.session.ambient.kelvin)
    loss = bench.setup.session.policy.acceptable_loss.fraction
    return kpa - STANDARD_ATMOSPHERE.kpa >= bench.setup.vessels[job].target.kpa * (1 - loss)


def was_stopped(bench: FillBench, job: int) -> bool:
    """Whether a cylinder has been brought to its stop, by a bank or the compressor."""
    return job in bench.stopped


def is_full(bench: FillBench, job: int, usual: float, sure: float) -> bool:
    """Whether a cylinder is sure to be full that is expected to hold `usual`, and in nine cases of
    ten holds more than `sure` [mol/L]; how far the gas of a bank may be off goes beside it. What is
    accepted is a loss: a gauge and a room that are off are so at the stop and when it is read."""
    setup = bench.setup
    loss = setup.session.policy.acceptable_loss.fraction
    table, kelvin = bench.usual.table, setup.session.ambient.kelvin
    atmosphere = STANDARD_ATMOSPHERE.kpa
    least = table.at(sure).pressure(kelvin)
    if setup.session.heat and setup.session.doubt.bank:
        expected = table.at(usual).pressure(kelvin)
        off = BAND_HOLDS * setup.session.doubt.of_fall(expected, kelvin)
        least = expected - hypot(expected - least, off)
    return least - atmosphere >= (setup.vessels[job].target.kpa) * (1 - loss)


NO_DOUBT = Doubt()


def _beside(bench: FillBench, usual: float, end: float) -> float:
    """How far [kPa] from the usual the end of a band lies, with what gauge, room and bank may be
    off."""
    session = bench.setup.session
    doubt = session.doubt.of(usual, session.ambient.kelvin)
    return hypot(usual - end, BAND_HOLDS * doubt)


Before = dict[int, tuple[float, float]]
"""Of each cylinder what it held [mol/L] and what its gauge showed [kPa]."""


def told_kpa(bench: FillBench, job: int, shows: float) -> float:
    """What is told of a gauge that shows so much [kPa]: no more than the mark, and the mark, or the
    most that the compressor makes, where it has come to that. Rounded down, one that is short of it
    by a breath would be told a gauge's step too low."""
    mark, made = bench.setup.vessels[job].marked.absolute().kpa, bench.setup.session.compressor
    ends = [mark, *([made.max_pressure.absolute().kpa] if made else [])]
    near = (end for end in ends if 0 <= end - shows <= AT_STOP_KPA)
    return min(next(near, shows), mark)


def as_it_is(bench: FillBench, jobs: Sequence[int]) -> Before:
    """What some cylinders hold now, and what their gauges show."""
    return {j: (bench.holds[j], bench.usual.kpa(j)) for j in jobs}


def changes_of(
    bench: FillBench,
    before: Before,
    jobs: Sequence[int],
    ends: Ends,
    minutes: float,
    most: float | None = None,
) -> list[CylinderChange]:
    """What a step did to some cylinders, that are as they are now; `most` is what their gauge
    [kPa] may come to in it though the flow is expected to stop before."""
    equation, found = bench.setup.equation, []
    for job in jobs:
        (had, showed), vessel, state = (
            before[job],
            bench.setup.vessels[job],
            bench.usual.states[job],
        )
        now, showed = (told_kpa(bench, job, kpa) for kpa in (bench.usual.kpa(job), showed))
        settles = equation.reading(state.rho)
        low, high = _band(bench, job, settles, equation.gauge(now))
        hot = Hot(
            gas=Temperature.of(state.kelvin - 273.15, "degC"), settles=settles, low=low, high=high
        )
        found.append(
            CylinderChange(
                id=vessel.id,
                position=bench.seats[job].name,
                before=equation.reading(had),
                after=settles,
                reads=equation.gauge(showed),
                stop_at=equation.gauge(now),
                at_most=None if most is None else equation.gauge(most),
                ends=ends,
                minutes=minutes,
                hot=hot if bench.setup.session.heat else None,
            )
        )
    return found


def _band(
    bench: FillBench, job: int, settles: GaugePressure, stop: GaugePressure
) -> tuple[GaugePressure, GaugePressure]:
    """Between what a cylinder settles: in the worlds of the band, and with what gauge, room and
    bank may be off. What cools shows no more than it was stopped at."""
    tells = (world for world in bench.worlds if world.case in TELL_THE_BAND)
    readings = [settles, *(world.settled(job) for world in tells)]
    low, high = min(readings, key=lambda r: r.pa), max(readings, key=lambda r: r.pa)
    session = bench.setup.session
    if not session.heat or session.doubt == NO_DOUBT:
        return low, high
    usual, gauge = settles.absolute().kpa, bench.setup.equation.gauge
    above = usual + _beside(bench, usual, high.absolute().kpa)
    most = max(high.absolute().kpa, min(above, stop.absolute().kpa))
    return gauge(usual - _beside(bench, usual, low.absolute().kpa)), gauge(most)


def note_flow(
    bench: FillBench,
    act: PlanAct,
    source: str,
    changes: Sequence[CylinderChange],
    moves: Sequence[HandMove],
    banked: tuple[float, float] | None,
    *,
    in_turn: bool = False,
    waits: float = 0.0,
    likely: float | None = None,
    seen: bool = False,
) -> None:
    """Note a step in which gas flows; `banked` is what the source held before and after. A bank
    that is opened is fed meanwhile only where the end is `seen` on a gauge: with gas coming in, its
    flow would not stop. A running compressor is unloaded or stopped before its way is shut."""
    change_where_full(bench)
    reading, fed = bench.setup.equation.reading, bench.feed.bank
    label = bench.setup.banks[fed].label if fed is not None else ""
    minutes = sum(c.minutes for c in changes) if in_turn else max(c.minutes for c in changes)
    direct = act is PlanAct.COMPRESSOR
    pauses = bool(label) and (direct or (source == label and not seen))
    starts = [] if direct or pauses else _goes_on(bench, bench.usual.now - minutes)
    ran = minutes if direct else 0.0 if pauses else bench.would_run(minutes)
    changes_at = None if direct or pauses else _changed_at(bench, moves, minutes)
    drains = _drains(bench, ran, changes_at)
    runs, shut, again = bench.feed.on, list[HandMove](), list[HandMove]()
    if pauses and not bench.feed.shut:
        shut = shut_off(bench, 0.0 if direct else minutes)
    if direct:
        runs = not _must_rest(bench, minutes)
        if fed is not None and bench.feed.full:
            pauses = pauses and takes_more(bench, fed, bench.usual.now)
        moves = _let_in(bench, moves, minutes, goes_on=runs and pauses, rests=not runs)
    if pauses and runs:
        again = [*_way_open(bench), *loaded(bench)]
    moves = [*starts, *shut, *drains, *moves, *again]
    bench.steps.append(
        PlanStep(
            number=len(bench.steps) + 1,
            load=len(bench.loads),
            act=act,
            source=source,
            ends=changes[-1].ends,
            changes=tuple(changes),
            minutes=minutes,
            moves=tuple(moves),
            in_turn=in_turn,
            held=waits,
            likely=likely,
            source_before=reading(banked[0]) if banked else None,
            source_after=reading(banked[1]) if banked else None,
        )
    )
    _passes(bench, act, source, minutes, banked, pauses=pauses, seen=seen)
    _drained_apart(bench, minutes, changes_at)


def shut_off(bench: FillBench, minutes: float) -> list[HandMove]:
    """What keeps the compressor from making pressure for some minutes, the feed of its bank shut. A
    feed that was opened with no time gone since is not opened: as it was before, the compressor
    stays unloaded, or stopped where that is for long."""
    feed, number = bench.feed, _just_opened(bench)
    if number is None:
        return [*halted(bench, minutes), *way_shut(bench)]
    step = bench.steps[number]
    *moves, _, turned = step.moves
    bench.steps[number] = replace(step, moves=tuple(moves))
    feed.shut, feed.kept = True, False
    if turned.turn is Turn.START:
        feed.on = False
    elif _unloaded_for(bench) + minutes > UNLOADED.minutes:
        _stop_instead(bench)
    if not (moves or step.minutes):
        left = [*bench.steps[:number], *bench.steps[number + 1 :]]
        bench.steps[:] = [replace(each, number=n) for n, each in enumerate(left, start=1)]
    return []


def _just_opened(bench: FillBench) -> int | None:
    """The place of the step with which the feed of the bank that is fed was opened, and the
    compressor turned to it, where no time has gone since; None else."""
    if bench.feed.bank is None or bench.feed.shut:
        return None
    for number in reversed(range(len(bench.steps))):
        step = bench.steps[number]
        lasts, turned = _lasts(bench, step), [m for m in step.moves if m.part in MACHINERY]
        if turned:
            ends = [(m.turn, m.part) for m in step.moves[-2:]]
            late = lasts <= AN_INSTANT or step.changes or turned[-1].minutes >= lasts - AN_INSTANT
            return number if late and ends in _TURNED_TO_IT else None
        if lasts > AN_INSTANT:
            return None
    return None


_TURNED_TO_IT = [
    [(Turn.OPEN, PanelPart.FEED), (turn, PanelPart.COMPRESSOR)] for turn in (Turn.START, Turn.LOAD)
]


def _lasts(bench: FillBench, step: PlanStep) -> float:
    """The minutes that pass in a step."""
    return bench.setup.problem.handling if step.act is PlanAct.CONNECT else step.minutes


def _unloaded_at(bench: FillBench) -> tuple[int, int]:
    """The step, and the move of it, with which the compressor was unloaded last."""
    return max(
        (number, place)
        for number, step in enumerate(bench.steps)
        for place, move in enumerate(step.moves)
        if move.turn is Turn.UNLOAD
    )


def _unloaded_for(bench: FillBench) -> float:
    """For how many minutes a compressor that is unloaded has been."""
    number, place = _unloaded_at(bench)
    flows = any(move.turn is Turn.WATCH for move in bench.steps[number].moves[place:])
    since = bench.steps[number + (not flows) :]
    return sum(_lasts(bench, step) for step in since)


def _stop_instead(bench: FillBench) -> None:
    """Stop the compressor where it was unloaded last."""
    number, place = _unloaded_at(bench)
    moves = list(bench.steps[number].moves)
    moves[place] = replace(moves[place], turn=Turn.STOP)
    bench.steps[number] = replace(bench.steps[number], moves=tuple(moves))
    bench.feed.on = False


def _must_rest(bench: FillBench, minutes: float) -> bool:
    """Whether the compressor must rest when it has filled cylinders for some minutes."""
    made, ahead = bench.setup.session.compressor, copy(bench.feed)
    if made is not None:
        ahead.runs(made, minutes)
    return ahead.rests > 0


def _let_in(
    bench: FillBench, moves: Sequence[HandMove], minutes: float, *, goes_on: bool, rests: bool
) -> list[HandMove]:
    """The moves of cylinders filled from the compressor, with those of the machine: it is loaded
    when its way is open, kept at the stop where a gauge is held, since they then take less than it
    makes, and unloaded or stopped before the last of that is shut."""
    to = next(n for n, m in enumerate(moves) if m.part is PanelPart.COMPRESSOR) + 1
    over = max(n for n, m in enumerate(moves) if m.turn is Turn.WATCH) + 1
    begins = loaded(bench, minutes)
    ends = halted(bench, 0.0 if goes_on else inf)
    bench.feed.off_at = -inf if goes_on or rests else bench.usual.now
    filled = [each for move in moves[to:over] for each in (*_kept(bench, move), move)]
    return [*moves[:to], *begins, *filled, *ends, *moves[over:]]


def _kept(bench: FillBench, watch: HandMove) -> list[HandMove]:
    """The compressor kept to a held gauge: unloaded as it comes there, loaded as it falls."""
    if watch.turn is not Turn.WATCH or not watch.minutes:
        return []
    return [replace(turned_machine(bench, Turn.KEEP), at=watch.at)]


def _passes(
    bench: FillBench,
    act: PlanAct,
    source: str,
    minutes: float,
    banked: tuple[float, float] | None,
    *,
    pauses: bool,
    seen: bool,
) -> None:
    """What the compressor does in the minutes of a step in which gas flows."""
    made, labels = bench.setup.session.compressor, [bank.label for bank in bench.setup.banks]
    if made is None:
        return
    direct, bank = act is PlanAct.COMPRESSOR, None
    drawn = 0.0
    if banked and source in labels:
        bank = labels.index(source)
        drawn = bench.setup.problem.volumes[bank] * (banked[0] - banked[1])
    bench.spans.append(FeedSpan(len(bench.loads), minutes, bank, drawn, not seen, direct))
    if direct:
        bench.feed.runs(made, minutes)
    elif pauses:
        bench.feed.runs(made, minutes, 0.0)
    else:
        _fed_through(bench, minutes)


def _held_in(moves: Sequence[HandMove]) -> int | None:
    """The place of the move with which a gauge is first held; None where none is."""
    held = (n for n, m in enumerate(moves) if m.turn is Turn.WATCH and m.minutes)
    return next(held, None)


def _changed_at(bench: FillBench, moves: Sequence[HandMove], minutes: float) -> float | None:
    """After how many minutes of a step the compressor is changed over to the bank that is to
    follow: where that which it feeds comes full while a gauge is held. None where it is not."""
    feed, made, held = bench.feed, bench.setup.session.compressor, _held_in(moves)
    if made is None or held is None or feed.bank is None or not feed.then:
        return None
    over = feed.minutes_for(made, _room_for(bench, feed.bank))
    if over > minutes - 1:
        return None
    whole = moves[held].minutes
    flows = minutes - sum(m.minutes for m in moves[held:] if m.turn is Turn.WATCH)
    return flows + _whole_waits(min(max(0.0, over - flows), whole), whole)


def _fed_through(bench: FillBench, minutes: float) -> None:
    """Feed while gas flows. Where the bank comes full while a gauge is held, and another is to
    follow, it is changed there."""
    last = bench.steps[-1]
    held, changed = _held_in(last.moves), _changed_at(bench, last.moves, minutes)
    if held is None or changed is None:
        _goes_in(bench, _fed(bench, minutes))
        return
    watch = last.moves[held]
    flows = minutes - sum(m.minutes for m in last.moves[held:] if m.turn is Turn.WATCH)
    part = changed - flows
    rests = _fed(bench, changed)
    first = [replace(watch, minutes=part)]
    again = [replace(watch, minutes=watch.minutes - part)] if part < watch.minutes else []
    over = changed_over(bench, _next_bank(bench))
    over += _fed(bench, minutes - changed, changed)
    moves = [*last.moves[:held], *first, *over, *again, *last.moves[held + 1 :]]
    bench.steps[-1] = replace(bench.steps[-1], moves=tuple(moves))
    _goes_in(bench, rests)


def _whole_waits(part: float, whole: float) -> float:
    """A part of a hold after which it is changed over, so that a hand can wait for either part; in
    whole minutes: told rounded up, both are no longer than the hold."""
    part = float(int(part))
    if part < SHORTEST_WAIT.minutes:
        return 0.0
    return whole if whole - part < SHORTEST_WAIT.minutes else part


def _goes_in(bench: FillBench, rests: Sequence[HandMove]) -> None:
    """Say first in the last step how the compressor is stopped and started for its rests."""
    last, begun = bench.steps[-1], {Turn.OPEN, Turn.START}
    begins = (m.turn in begun and m.part in MACHINERY and not m.minutes for m in last.moves)
    to = next((n for n, each in enumerate(begins) if not each), len(last.moves))
    moves = (*last.moves[:to], *rests, *last.moves[to:])
    bench.steps[-1] = replace(last, moves=moves)
