"""Connecting cylinders and removing them, and what the regulator is set to."""

from __future__ import annotations

from collections.abc import Sequence

from tankbook.filling.feeding import feed_for_load
from tankbook.filling.fill_bench import FillBench
from tankbook.filling.levels import by_density
from tankbook.filling.nouns import BACKED_OFF, Vessel
from tankbook.filling.results import HandMove, Load, PanelPart, PlanAct, Seat, Turn
from tankbook.records.station import Position
from tankbook.records.words import Isolator
from tankbook.units import GaugePressure


def begin_load(bench: FillBench, members: Sequence[int]) -> None:
    """What comes before the cylinders of a load are connected: a regulator that stands higher
    lowered, and the compressor turned to what it is to feed."""
    setup, problem = bench.setup, bench.setup.problem
    pressure = setup.vessels[members[0]].marked
    if bench.loads:
        _lower(bench, bench.regulator, pressure)
    seats = _seats(bench, members)
    bench.loads.append(
        Load(
            number=len(bench.loads) + 1,
            fill_pressure=pressure,
            seats=tuple(
                Seat(
                    id=setup.vessels[j].id,
                    position=at.name,
                    gauge=setup.session.watched.get(at.name, ""),
                )
                for j, at in seats.items()
            ),
            handling_minutes=problem.handling,
        )
    )
    if len(bench.loads) == 1:  # a step of the first load: there is none before it
        _back_off_unknown(bench)
        _lower(bench, setup.session.regulator, pressure)
    feed_for_load(bench)


def _seats(bench: FillBench, members: Sequence[int]) -> dict[int, Position]:
    """Which cylinder of a load is connected where."""
    places = bench.setup.problem.seats(members)
    assert places is not None, "a load was made that the positions do not take"
    return {j: bench.setup.positions[place] for j, place in zip(members, places, strict=True)}


def connect(bench: FillBench, members: Sequence[int]) -> None:
    """Connect the cylinders of a load that was begun, the regulator set to their mark first."""
    setup, problem = bench.setup, bench.setup.problem
    bench.seats, pressure = _seats(bench, members), setup.vessels[members[0]].marked
    moves: tuple[HandMove, ...] = ()
    if pressure != bench.regulator:
        moves = (HandMove(turn=Turn.SET, part=PanelPart.REGULATOR, at=pressure),)
    bench.regulator = pressure
    for job, at in bench.seats.items():
        id_ = setup.vessels[job].id
        moves += (
            HandMove(turn=Turn.CRACK, part=PanelPart.CYLINDER, name=id_),
            HandMove(turn=Turn.CONNECT, part=PanelPart.CYLINDER, name=id_),
            *_isolator(setup.vessels[job]),
            *(
                (HandMove(turn=Turn.CLOSE, part=PanelPart.BLEED, name=at.name),)
                if at.bleed is not False
                else ()
            ),
            HandMove(turn=Turn.OPEN, part=PanelPart.CYLINDER, name=id_),
        )
    bench.note_while(PlanAct.CONNECT, moves, problem.handling)


def _isolator(vessel: Vessel) -> tuple[HandMove, ...]:
    """Doubles are filled through one valve, their isolator open; where that is shut, one side is
    filled by itself (common practice, no source). It is looked at whatever the record says."""
    if vessel.doubles and vessel.isolator is not Isolator.NONE:
        turn = Turn.OPEN
    elif not vessel.doubles and vessel.isolator is Isolator.SHUT:
        turn = Turn.CLOSE
    else:
        return ()
    return (HandMove(turn=turn, part=PanelPart.ISOLATOR, name=vessel.id),)


def _back_off_unknown(bench: FillBench) -> None:
    """Back a regulator off, and see that its gauge reads nothing, where nobody wrote down what it
    stands at: it may stand above what is connected."""
    if bench.setup.session.regulator is not None:
        return
    moves = [
        HandMove(turn=Turn.BACK_OFF, part=PanelPart.REGULATOR),
        HandMove(turn=Turn.BLEED, part=PanelPart.LINE),
        HandMove(turn=Turn.WATCH, part=PanelPart.GAUGE, at=BACKED_OFF),
    ]
    bench.note(PlanAct.BACK_OFF, moves)


def _lower(bench: FillBench, stands: GaugePressure | None, pressure: GaugePressure) -> None:
    """Lower a regulator that stands higher, in a step of its own."""
    if stands is None or stands <= pressure:
        return
    lower = [
        HandMove(turn=Turn.BLEED, part=PanelPart.LINE),
        HandMove(turn=Turn.SET, part=PanelPart.REGULATOR, at=pressure),
        *_read_back(bench, pressure),
    ]
    bench.note(PlanAct.LOWER, lower)
    bench.regulator = pressure


def _read_back(bench: FillBench, pressure: GaugePressure) -> list[HandMove]:
    """The regulator's gauge read with every position shut, on the emptiest bank above it."""
    above = [
        n for n in by_density(bench.banks) if bench.usual.bank_kpa(n) > pressure.absolute().kpa
    ]
    if not above or any(at.valve is False for at in bench.setup.positions):
        return []
    bank = bench.setup.banks[above[0]].label
    return [
        HandMove(turn=Turn.OPEN, part=PanelPart.BANK, name=bank),
        HandMove(turn=Turn.WATCH, part=PanelPart.GAUGE, at=pressure),
        HandMove(turn=Turn.CLOSE, part=PanelPart.BANK, name=bank),
    ]


def remove(bench: FillBench) -> None:
    """Every cylinder valve is shut before anything is bled: a line is bled through the position."""
    ids = [bench.setup.vessels[job].id for job in bench.seats]
    bled = [at.name for at in bench.seats.values() if at.bleed is not False]
    through = [
        at.name for at in bench.seats.values() if at.bleed is False and at.valve is not False
    ]
    by_line = any(at.bleed is False for at in bench.seats.values())
    moves = [
        *(HandMove(turn=Turn.CLOSE, part=PanelPart.CYLINDER, name=id_) for id_ in ids),
        *(HandMove(turn=Turn.BLEED, part=PanelPart.BLEED, name=name) for name in bled),
        *(HandMove(turn=Turn.OPEN, part=PanelPart.POSITION, name=name) for name in through),
        *((HandMove(turn=Turn.BLEED, part=PanelPart.LINE),) if by_line else ()),
        *(HandMove(turn=Turn.CLOSE, part=PanelPart.POSITION, name=name) for name in through),
        *(HandMove(turn=Turn.REMOVE, part=PanelPart.CYLINDER, name=id_) for id_ in ids),
    ]
    bench.note(PlanAct.REMOVE, moves)
    bench.seats, bench.at_stop = {}, set()
