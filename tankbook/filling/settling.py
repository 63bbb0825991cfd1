"""What the fills of one size tell of its films and its wall, beside what is shipped.

Each fill gives one number: the logarithm of what was read again over where it was stopped. The
model of `heat.py` says what that is for given films and wall, and how it changes with each of
them. What is shipped is the prior, its bands so many standard deviations wide; each fill weighs by
the error of its figures. How long fills took, how long they were held, how warm the banks were and
how gauges differ is not known, is common to all fills of a station, and is estimated beside them:
however many fills there are, they tell no more than these allow. What they do not tell stays as it
was shipped. What is far off counts less (Student's distribution), what is beyond all heat not at
all.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from math import exp, hypot, log, sqrt
from statistics import median

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.figures import (
    ABOVE_STOP,
    AT_REST_AFTER,
    BAND_HOLDS,
    BANK_APART,
    CYLINDERS_DIFFER,
    ENOUGH_TO_SCATTER,
    FARTHEST,
    HOLD_OFF,
    HOLD_PART_OFF,
    INNER_FILM,
    LOGGED_LATE,
    MINUTES_OFF,
    OUTER_DRY,
    STRAYS,
    TOO_COOL,
    WALL_HEAT,
    Band,
)
from tankbook.filling.heat import (
    FilmCases,
    Films,
    GasSource,
    Opening,
    ThermalVessel,
    Wall,
    Warm,
    charge,
    hold,
    rest,
    shipped_films,
)
from tankbook.filling.nouns import VesselHeat
from tankbook.filling.state_table import StateTable
from tankbook.filling.warmth import HOLD_STEPS
from tankbook.units import STANDARD_ATMOSPHERE

BANDS = (INNER_FILM, OUTER_DRY, WALL_HEAT)
"""What is estimated: gas to wall, wall to air, heat of the wall."""

COUNT = len(BANDS)
USUAL = (0.0,) * COUNT


def _spread(band: Band) -> float:
    """The standard deviation of the logarithm of a figure."""
    return log(band.high / band.low) / 2 / BAND_HOLDS


SPREADS = tuple(map(_spread, BANDS))

STEP = 0.5
"""Derivatives are taken over so many standard deviations."""

ROUNDS, REWEIGHINGS = 3, 8
SETTLED = 0.05
"""Standard deviations by which the last round may still move a figure."""

DELAYS = (20, 25, 30, 35, 40, 50, 60, 75, 90, 120, 150, 180, 240, 300, 360, 420)
"""Minutes after a fill that are reckoned; between them it is interpolated."""


class CooledFill(Struct, frozen=True):
    """A fill and what was read again, in plain numbers.

    Pressures are kPa absolute, `minutes` how long it took to the stop and `held` how long it was
    kept there (as a plan had it, else none), `after` how many minutes later it was read,
    `room` [K], `sd` the standard deviation of what was read over the stop, `gauge` how much of
    that [share] may be common to all fills; `at_line`: it came from a compressor alone.
    """

    id: str
    at: dt.datetime
    volume: float
    wall: Wall
    start: float
    stop: float
    read: float
    minutes: float
    after: float
    room: float
    sd: float
    gauge: float = 0.0
    held: float = 0.0
    at_line: bool = False

    @property
    def told(self) -> float:
        """The logarithm of what was read over the stop."""
        return log(self.read / self.stop)


class HeatFit(Struct, frozen=True):
    """What the fills of a size tell.

    `off` is how far each figure of `BANDS` lies from the usual one, in logarithms; `left` is what
    is left of the width of its band, 1 where the fills tell nothing of it. `strays` are, by their
    place, the fills that did not count: below (-1) or above (1) all that heat explains. `weights`
    are between 0 and 1. `cool`: together they fell so little that no heat explains it, and none of
    them counts.
    """

    off: tuple[float, float, float] = (0.0, 0.0, 0.0)
    left: tuple[float, float, float] = (1.0, 1.0, 1.0)
    weights: tuple[float, ...] = ()
    strays: tuple[int, ...] = ()
    cool: bool = False


SHIPPED = HeatFit()
"""What holds where no fill tells anything."""


def fit(fills: Sequence[CooledFill], table: StateTable) -> HeatFit:
    """What fills of one size tell of it. The order in which they are given does not matter."""
    order = sorted(range(len(fills)), key=lambda n: (fills[n].at, fills[n].id, fills[n].read))
    sorted_ = [fills[n] for n in order]
    if not sorted_:
        return SHIPPED
    expected = _expected(sorted_, table)
    middle = _middle(sorted_, expected)
    drops = [max(1e-4, -rested) for _, rested in expected]
    scales = [drop / drops[middle] for drop in drops]
    model = _Model(sorted_[middle], table, sorted_, scales)
    moved, slopes = model.around(USUAL)
    off = [each.told - now for each, (now, _) in zip(sorted_, expected, strict=True)]
    strays = [_is_stray(*each) for each in zip(model.fills, off, slopes, strict=True)]
    kept = [n for n, stray in enumerate(strays) if not stray]
    weights, found, left = [0.0] * len(sorted_), USUAL, (1.0,) * COUNT
    if kept:
        found, left, some = _fitted(model, (moved, slopes), kept, off)
        for n, weight in zip(kept, some, strict=True):
            weights[n] = weight
    place = {n: spot for spot, n in enumerate(order)}
    if max(found) > TOO_COOL:
        every = tuple(strays[place[n]] or 1 for n in range(len(fills)))
        return HeatFit(weights=(0.0,) * len(fills), strays=every, cool=True)
    return HeatFit(
        (found[0] * SPREADS[0], found[1] * SPREADS[1], found[2] * SPREADS[2]),
        (left[0], left[1], left[2]),
        tuple(weights[place[n]] for n in range(len(fills))),
        tuple(strays[place[n]] for n in range(len(fills))),
    )


def _is_stray(fill: CooledFill, off: float, slopes: Sequence[float]) -> int:
    """On which side a fill lies beyond all that films, wall and errors explain; 0 where it does
    not."""
    most = STRAYS * sqrt(fill.sd**2 + CYLINDERS_DIFFER**2 + sum(s * s for s in slopes))
    return (off > most) - (off < -most)


# --- the model


def settled(
    fill: CooledFill,
    table: StateTable,
    films: Films,
    wall: float = 1.0,
    *,
    warmer: float = 0.0,
    slower: float = 1.0,
    longer: float = 0.0,
) -> tuple[ThermalVessel, Warm]:
    """The gas of a fill as its valve is shut, for films and a wall of so many times its heat; from
    a bank so much `warmer` [K], `slower` by a factor, held `longer` by some minutes."""
    own = replace(fill.wall, heat_capacity=fill.wall.heat_capacity * wall)
    vessel = ThermalVessel(table, fill.volume, own, films, fill.room)
    begins = Warm(table.under(fill.start).state(fill.room)[0], fill.room, fill.room)
    gas = GasSource(
        table.densest
        if fill.at_line
        else table.under(ABOVE_STOP * fill.stop).state(fill.room + warmer)[0],
        fill.room + warmer,
        at_line=fill.at_line,
    )
    rate = (fill.stop - fill.start) / (fill.minutes * slower)
    done = charge([vessel], [begins], gas, Opening(fill.stop, rate))
    left, number = fill.held + longer, 0
    while left > 0:
        part = min(left, HOLD_STEPS[min(number, len(HOLD_STEPS) - 1)])
        done, left, number = hold([vessel], done, part), left - part, number + 1
    return vessel, done.states[0]


def _cooling(
    fill: CooledFill, vessel: ThermalVessel, state: Warm, delays: Sequence[float]
) -> list[float]:
    """The logarithm of what the gauge shows over the stop, after some minutes each, rising; after
    `AT_REST_AFTER` it is as warm as the room."""
    found, now = [], 0.0
    for after in delays:
        if after >= AT_REST_AFTER.minutes:
            kelvin = fill.room
        else:
            state = rest(vessel, state, after - now, max(2, min(12, int((after - now) / 3))))
            now, kelvin = after, state.kelvin
        found.append(log(vessel.table.at(state.rho).pressure(kelvin) / fill.stop))
    return found


def _expected(fills: Sequence[CooledFill], table: StateTable) -> list[tuple[float, float]]:
    """What the shipped figures expect to be read over each stop, in logarithms, and what it comes
    to at rest. Fills that are nearly alike are reckoned once."""
    known: dict[tuple[object, ...], tuple[float, float]] = {}
    found = []
    for fill in fills:
        alike = _rounded(fill)
        key = (alike.start, alike.stop, alike.minutes, alike.held, alike.after, alike.room,
               alike.volume, alike.wall, alike.at_line)  # fmt: skip
        if key not in known:
            vessel, state = settled(alike, table, Films())
            now, rested = _cooling(alike, vessel, state, (alike.after, AT_REST_AFTER.minutes))
            known[key] = now, rested
        found.append(known[key])
    return found


def _rounded(fill: CooledFill) -> CooledFill:
    """A fill to the nearest figures that make no difference: some 2 % of what is added, 5 % of how
    long it took, 4 K. What it settles to over its stop moves by less than a part in a thousand."""
    part = max(1.0, (fill.stop - fill.start) / 50)
    step = 2.0 ** round(log(part, 2))
    pace = 2.0 ** round(log(fill.minutes, 2)) / 16
    after = min(fill.after, AT_REST_AFTER.minutes)
    return replace(
        fill,
        start=max(STANDARD_ATMOSPHERE.kpa, step * round(fill.start / step)),
        stop=step * round(fill.stop / step),
        minutes=pace * round(fill.minutes / pace),
        held=round(fill.held * 8) / 8,
        after=round(after),
        room=4 * round(fill.room / 4),
    )


def _middle(fills: Sequence[CooledFill], expected: Sequence[tuple[float, float]]) -> int:
    """The fill that stands for all: that whose fall is in the middle."""
    order = sorted(range(len(fills)), key=lambda n: (expected[n][1], n))
    return order[len(order) // 2]


class _Model:
    """How what is read changes with films, wall, and what nobody knows: reckoned for one fill, and
    carried to the others by how far each falls."""

    def __init__(
        self, one: CooledFill, table: StateTable, fills: Sequence[CooledFill], scales: list[float]
    ) -> None:
        self.one, self.table, self.scales = one, table, scales
        at_rest = AT_REST_AFTER.minutes
        self.late = [min(fill.after, at_rest) for fill in fills]
        last = max(late for late in (*self.late, DELAYS[0]) if late < at_rest or late == DELAYS[0])
        self.delays = [*(float(d) for d in DELAYS if d < last + DELAYS[0]), at_rest]
        self.start = self._at(USUAL)
        self.common = self._of_all(fills)
        minute = [self._sinks(late) * LOGGED_LATE.minutes for late in self.late]
        pairs = zip(fills, minute, scales, strict=True)
        self.fills = [replace(f, sd=sqrt(f.sd**2 + (m * scale) ** 2)) for f, m, scale in pairs]

    def _curve(self, off: Sequence[float], **more: float) -> list[float]:
        films, wall = films_at(off)
        vessel, state = settled(self.one, self.table, films, wall, **more)
        return _cooling(self.one, vessel, state, self.delays)

    def _at(self, off: Sequence[float], **more: float) -> list[float]:
        """What the fill in the middle would read after as long as each of the others."""
        self.last = self._curve(off, **more)
        return [_between(self.delays, self.last, after) for after in self.late]

    def _sinks(self, after: float) -> float:
        """By how much a gauge sinks in a minute, as shipped."""
        if after >= AT_REST_AFTER.minutes:
            return 0.0
        curve = self._usual
        return (_between(self.delays, curve, after) - _between(self.delays, curve, after + 5)) / 5

    def _of_all(self, fills: Sequence[CooledFill]) -> list[list[float]]:
        """How each changes with what is common to all: how long fills took, how long they were
        held, how warm the bank was, how the gauges differ; for a standard deviation each."""
        self._usual, here = self.last, self.start
        slower = self._at(USUAL, slower=1.1)
        longer = self._at(USUAL, longer=0.5)
        warmer = self._at(USUAL, warmer=BANK_APART)
        return [
            [
                (slower[n] - here[n]) / log(1.1) * scale * MINUTES_OFF,
                (longer[n] - here[n]) / 0.5 * scale * hypot(HOLD_OFF, HOLD_PART_OFF * fill.held),
                (warmer[n] - here[n]) * scale,
                fill.gauge,
            ]
            for n, (fill, scale) in enumerate(zip(fills, self.scales, strict=True))
        ]

    def around(self, off: Sequence[float]) -> tuple[list[float], list[list[float]]]:
        """By how much more than as shipped each is to read, and how that changes with a standard
        deviation of each figure, and of what is common to all."""
        here = self._at(off) if tuple(off) != USUAL else self.start
        columns = [self._at([o + STEP * (k == n) for n, o in enumerate(off)]) for k in range(COUNT)]
        moved = [(a - b) * s for a, b, s in zip(here, self.start, self.scales, strict=True)]
        slopes = [
            [*((column[n] - here[n]) / STEP * scale for column in columns), *self.common[n]]
            for n, scale in enumerate(self.scales)
        ]
        return moved, slopes


def films_at(off: Sequence[float]) -> tuple[Films, float]:
    """The films and the wall that are so many standard deviations off the usual ones."""
    inner, outer, wall = (
        band.usual * exp(spread * o) for band, spread, o in zip(BANDS, SPREADS, off, strict=True)
    )
    return Films(inner, outer), wall


def _between(xs: Sequence[float], ys: Sequence[float], x: float) -> float:
    """The value at `x` of a line through points with rising `xs`."""
    for n in range(1, len(xs)):
        if x <= xs[n] or n == len(xs) - 1:
            part = min(1.0, max(0.0, (x - xs[n - 1]) / (xs[n] - xs[n - 1])))
            return ys[n - 1] + part * (ys[n] - ys[n - 1])
    return ys[0]


# --- the estimate


def _fitted(
    model: _Model,
    around: tuple[list[float], list[list[float]]],
    kept: Sequence[int],
    off: Sequence[float],
) -> tuple[tuple[float, ...], tuple[float, ...], list[float]]:
    """The figures in standard deviations, what is left of the width of each, and the weights."""
    fills = [model.fills[n] for n in kept]
    many = {f.id: sum(o.id == f.id for o in fills) for f in fills}
    at: tuple[float, ...] = USUAL
    left, weights = (1.0,) * COUNT, [1.0] * len(kept)
    for turn in range(ROUNDS):
        moved, every = model.around(at) if turn else around
        slopes = [every[n] for n in kept]
        rest_ = [
            off[n] - moved[n] + sum(s * a for s, a in zip(every[n], at, strict=False)) for n in kept
        ]
        middle = None if turn else median(rest_)
        solved, left, weights = _weighed(fills, slopes, rest_, many, middle, at)
        then = tuple(max(-FARTHEST, min(FARTHEST, s)) for s in solved)
        near = max(abs(a - b) for a, b in zip(then, at, strict=True)) < SETTLED
        at = then
        if near:
            break
    return at, left, weights


def _weighed(
    fills: Sequence[CooledFill],
    slopes: Sequence[Sequence[float]],
    rest_: Sequence[float],
    many: dict[str, int],
    middle: float | None,
    at: Sequence[float],
) -> tuple[list[float], tuple[float, ...], list[float]]:
    """The most likely figures, what is left of each width, and the weights of the fills."""
    errors = [r - middle for r in rest_] if middle is not None else None
    solved: list[float] = [*at, *[0.0] * (len(slopes[0]) - COUNT)]
    scatter = 1.0
    weights, wide = [1.0] * len(fills), [[0.0]]
    for _ in range(REWEIGHINGS):
        if errors is None:
            errors = _errors(slopes, rest_, solved)
        weights, scatter = _weights(fills, errors, many)
        size = len(slopes[0])
        matrix = [[float(a == b) for b in range(size)] for a in range(size)]
        right = [0.0] * size
        for fill, slope, r, weight in zip(fills, slopes, rest_, weights, strict=True):
            own = (scatter * fill.sd) ** 2 + many[fill.id] * CYLINDERS_DIFFER**2
            for a in range(size):
                right[a] += weight * slope[a] * r / own
                for b in range(size):
                    matrix[a][b] += weight * slope[a] * slope[b] / own
        wide = inverse(matrix)
        solved = [sum(w * r for w, r in zip(row, right, strict=True)) for row in wide]
        errors = _errors(slopes, rest_, solved)
    left = tuple(min(1.0, sqrt(wide[k][k])) for k in range(COUNT))
    return solved[:COUNT], left, weights


def _errors(
    slopes: Sequence[Sequence[float]], rest_: Sequence[float], solved: Sequence[float]
) -> list[float]:
    """What is left unexplained of each fill."""
    return [
        r - sum(s * z for s, z in zip(slope, solved, strict=True))
        for slope, r in zip(slopes, rest_, strict=True)
    ]


def _weights(
    fills: Sequence[CooledFill], errors: Sequence[float], many: dict[str, int]
) -> tuple[list[float], float]:
    """How much each fill counts, and by how much more the fills scatter than their figures err.
    One that is far off counts less, and so do all of a cylinder that is."""
    widths = [sqrt(fill.sd**2 + CYLINDERS_DIFFER**2) for fill in fills]
    scatter = 1.0
    if len(fills) >= ENOUGH_TO_SCATTER:
        scatter = max(1.0, 1.4826 * median(abs(e) / w for e, w in zip(errors, widths, strict=True)))
    sums: dict[str, float] = {}
    for fill, error in zip(fills, errors, strict=True):
        sums[fill.id] = sums.get(fill.id, 0.0) + error
    found = []
    for fill, error, width in zip(fills, errors, widths, strict=True):
        count = many[fill.id]
        of_all = sqrt(CYLINDERS_DIFFER**2 + fill.sd**2 / count)
        own = error / (width * scatter)
        shared = sums[fill.id] / count / (of_all * scatter)
        found.append(_counts(own) * (_counts(shared) if len(many) > 1 else 1.0))
    return found, scatter


def _counts(deviations: float) -> float:
    """By Student's distribution, 1 for what is not far off."""
    return min(1.0, (STRAYS + 1) / (STRAYS + deviations * deviations))


def inverse(matrix: Sequence[Sequence[float]]) -> list[list[float]]:
    """The inverse of a positive definite matrix, by elimination."""
    size = len(matrix)
    rows = [[*row, *(float(a == b) for b in range(size))] for a, row in enumerate(matrix)]
    for a in range(size):
        head = rows[a][a]
        rows[a] = [value / head for value in rows[a]]
        for b in range(size):
            if b != a and rows[b][a]:
                by = rows[b][a]
                rows[b] = [v - by * w for v, w in zip(rows[b], rows[a], strict=True)]
    return [row[size:] for row in rows]


# --- what a plan reckons with


def films_of(found: HeatFit, outer: Band = OUTER_DRY) -> VesselHeat:
    """Films and wall as fitted. Each band is as wide as shipped, times what the fills leave of it,
    about the figure that they make likely; the coolest is none that is hotter than as shipped, so
    that no fit lets a gauge be stopped higher. Of a water bath, `outer`, dry fills tell nothing."""
    dry = outer is OUTER_DRY
    off, left = (found.off[1], found.left[1]) if dry else (0.0, 1.0)

    def moved(films: Films) -> Films:
        return Films(
            _narrowed(films.inner, INNER_FILM, found.off[0], found.left[0]),
            _narrowed(films.outer, outer, off, left),
        )

    shipped = shipped_films(wet=not dry)
    coolest = moved(shipped.coolest)
    films = FilmCases(
        usual=moved(shipped.usual),
        sure=moved(shipped.sure),
        hottest=moved(shipped.hottest),
        coolest=coolest,
        guard=Films(
            max(coolest.inner, shipped.guard.inner), max(coolest.outer, shipped.guard.outer)
        ),
    )
    return VesselHeat(films, exp(found.off[2]))


def _narrowed(value: float, band: Band, off: float, left: float) -> float:
    return band.usual * exp(off + left * log(value / band.usual))
