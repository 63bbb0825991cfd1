"""A hand at the panel: it does what the moves of a fill plan say, and nothing else is known to it.

It reads the JSON of a plan (`steps`: `moves`, `act`, `minutes` of a wait; `loads`: who sits where,
how long handling takes), the facts that are stamped on cylinders and banks, and the fill rates. What comes of it follows from physics
written here anew: it shares no module with the program. The gas is air by CoolProp (HEOS, its
"Air"), through a fit that is compared with CoolProp in `test_hand.py`. Time goes in small steps, in
each of which gas is moved, then heat: energy and gas are conserved to rounding.

    gas in a cylinder  d(n u) = h dn - a_in A_in (T - T_wall) dt
    its wall           C dT_wall = a_in A_in (T - T_wall) dt - a_out A_out (T_wall - T_ambient) dt
    gas in a bank      d(n u) = -h dn - a_in A_in (T - T_ambient) dt

How the hand works: the gauge rises no faster than the slowest fill rate of those that are open, and
never above the regulator. Cylinders that are open together share one line; one that is above the
line takes nothing, and how far it was above is told as a fault, since without a non-return valve it
would give gas away. Where a gauge is to read something, the hand waits until it does or until the
flow has stopped; where nothing is named, until the flow has stopped, which is when the bank is
within 5 psi of the line, but no higher than the move says at most. A load's handling passes as it is connected, as the plan counts it.

Several natures (films, wall masses) are worked through at once; each has its own clock, and every
result is an array with one number for each. Inside: kPa absolute, K, mol, L, seconds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from math import pi
from typing import Any

import numpy as np
import reference as cp
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ATMOSPHERE = 101.325
KPA_OF = {"psi": 6.894757293168, "bar": 100.0}
GAS_CONSTANT = 8.314462618

FLOW_STOPS = 5 * KPA_OF["psi"]
READS = 0.5 * KPA_OF["psi"]
"""A gauge is read as well as this."""

PASSES = "wait", "let the compressor rest", "let the compressor raise a bank"
"""Steps in which a hand waits."""

NO_FLOW = "lower the regulator", "back the regulator off"
"""Steps in which a gauge is read with nothing open."""

MOST_TICKS = 100_000


# --- air, by CoolProp


class Air:
    """Air over the range of a filling station, as polynomials in density and temperature.

    p / rho and u are smooth there: 0 to 16.5 mol/L, 210 to 450 K.
    """

    DENSEST, COLDEST, HOTTEST = 16.5, 210.0, 450.0
    IN_RHO, IN_T = 13, 8

    def __init__(self) -> None:
        state = cp.AbstractState("HEOS", "Air")
        rho = (1 - np.cos(pi * (np.arange(26) + 0.5) / 26)) / 2 * self.DENSEST
        kelvin = self.COLDEST + (1 - np.cos(pi * (np.arange(18) + 0.5) / 18)) / 2 * (
            self.HOTTEST - self.COLDEST
        )
        known = []
        for r in rho:
            for k in kelvin:
                state.update(cp.DmolarT_INPUTS, 1000 * r, k)
                known.append((state.p() / 1000 / r, state.umolar()))
        x, y = np.meshgrid(*self._scaled(rho, kelvin), indexing="ij")
        fitted = np.polynomial.chebyshev.chebvander2d(
            x.ravel(), y.ravel(), [self.IN_RHO, self.IN_T]
        )
        waves, *_ = np.linalg.lstsq(fitted, np.array(known), rcond=None)
        shape = (self.IN_RHO + 1, self.IN_T + 1)
        parts: list[Floats] = []
        for one in waves.T:
            value = _powers(one.reshape(shape))
            by_rho = np.zeros(shape)
            by_rho[:-1] = value[1:] * np.arange(1, shape[0])[:, None] * 2 / self.DENSEST
            by_t = np.zeros(shape)
            by_t[:, :-1] = value[:, 1:] * np.arange(1, shape[1]) * 2 / (self.HOTTEST - self.COLDEST)
            parts += [value, by_rho, by_t]
        self.coefficients = np.stack(parts, axis=1).reshape(shape[0], -1)
        self.parts = len(parts)

    def _scaled(self, rho: Floats, kelvin: Floats) -> tuple[Floats, Floats]:
        return (
            2 * rho / self.DENSEST - 1,
            2 * (kelvin - self.COLDEST) / (self.HOTTEST - self.COLDEST) - 1,
        )

    def at(self, rho: Floats, kelvin: Floats) -> tuple[Floats, ...]:
        """Pressure, energy [J/mol], then dp/drho, dp/dT, du/drho and du/dT."""
        x, y = self._scaled(rho, kelvin)
        in_rho = np.vander(x.ravel(), self.IN_RHO + 1, increasing=True)
        in_t = np.vander(y.ravel(), self.IN_T + 1, increasing=True)
        mixed = (in_rho @ self.coefficients).reshape(-1, self.parts, self.IN_T + 1)
        found = np.einsum("npt,nt->pn", mixed, in_t).reshape(self.parts, *np.shape(rho))
        f, f_rho, f_t, u, u_rho, u_t = found
        return rho * f, u, f + rho * f_rho, rho * f_t, u_rho, u_t

    def pressure(self, rho: Floats, kelvin: float) -> Floats:
        """What a gauge shows of a density, absolute."""
        return self.at(rho, np.full_like(rho, kelvin))[0]

    def density(self, kpa: Floats, kelvin: float) -> Floats:
        """What makes a pressure."""
        rho = kpa / (GAS_CONSTANT * kelvin)
        for _ in range(60):
            p, _, slope, *_ = self.at(rho, np.full_like(rho, kelvin))
            step = (p - kpa) / slope
            rho = np.clip(rho - step, 1e-6, self.DENSEST)
            if np.all(np.abs(step) < 1e-11):
                break
        return rho


def _powers(waves: Floats) -> Floats:
    """The coefficients of plain powers, from those of Chebyshev polynomials in both directions."""
    shape = waves.shape
    turned = [
        np.pad(p := np.polynomial.chebyshev.cheb2poly(row), (0, shape[1] - len(p))) for row in waves
    ]
    columns = np.array(turned).T
    return np.array(
        [
            np.pad(p := np.polynomial.chebyshev.cheb2poly(row), (0, shape[0] - len(p)))
            for row in columns
        ]
    ).T


@cache
def air() -> Air:
    """Air, fitted once."""
    return Air()


# --- what stands at the station


@dataclass(frozen=True)
class Tank:
    """A cylinder: litres, kilograms of wall, J/(kg K), what it shows, its mark and the fill rate.

    Pressures in the unit of the plan, gauge; the rate in that unit a minute.
    """

    id: str
    litres: float
    kilograms: float
    specific_heat: float
    start: float
    mark: float
    rate: float


@dataclass(frozen=True)
class Store:
    """A bank: litres and what it shows."""

    label: str
    litres: float
    reads: float


@dataclass(frozen=True)
class Nature:
    """What nobody knows of a cylinder: its films [W/(m2 K)], and how heavy it is for its kind."""

    inner: float = 150.0  # the usual one of the shipped figures, copied
    outer: float = 10.0  # the same
    mass: float = 1.0


LENGTH_TO_BORE, OUTSIDE_TO_INSIDE = 3.5, 1.15  # of the shipped figures, copied


def inside(litres: float) -> float:
    """The area within a cylinder [m2], of a plain round one with flat ends."""
    bore = (4e-3 * litres / (pi * LENGTH_TO_BORE)) ** (1 / 3)
    return pi * bore**2 * (LENGTH_TO_BORE + 0.5)


# --- what came of it


@dataclass(frozen=True)
class Look:
    """A look at a gauge: what it was to read (None: until the flow stops), and what it did read."""

    step: int
    name: str
    at: float | None
    reads: Floats
    minutes: Floats


@dataclass(frozen=True)
class Shut:
    """A cylinder as its position was shut: what its gauge showed, and what it settles to."""

    step: int
    id: str
    reads: Floats
    settles: Floats


@dataclass(frozen=True)
class Fault:
    """Something that should not happen, and by how much it did (the plan's unit of pressure)."""

    step: int
    what: str
    name: str
    by: Floats


@dataclass
class Worked:
    """What the hand has to tell."""

    looks: list[Look] = field(default_factory=list)
    shut: list[Shut] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    settled: dict[str, Floats] = field(default_factory=dict)
    highest: dict[str, Floats] = field(default_factory=dict)
    banks: dict[str, Floats] = field(default_factory=dict)
    minutes: Floats = field(default_factory=lambda: np.zeros(1))
    gas_lost: Floats = field(default_factory=lambda: np.zeros(1))
    energy_lost: Floats = field(default_factory=lambda: np.zeros(1))


# --- working


class Hand:
    """Works a plan through. `finer` divides every step of time.

    `delivers` is what the compressor gives [mol/min] up to `highest` (gauge, in the plan's unit), to
    the bank whose feed valve is open, or to cylinders; `unvalved` are the positions that have no
    valve: they are open whenever the bank is.
    """

    def __init__(
        self,
        plan: Mapping[str, Any],
        tanks: Sequence[Tank],
        stores: Sequence[Store],
        natures: Sequence[Nature] = (Nature(),),
        *,
        delivers: float = 0.0,
        highest: float = 0.0,
        unvalved: Iterable[str] = (),
        finer: float = 1.0,
    ) -> None:
        self.plan, self.tanks, self.stores = plan, tanks, stores
        self.unit = KPA_OF[plan["unit"]]
        self.ambient = plan["ambient_c"] + 273.15
        self.delivers, self.unvalved, self.finer = delivers / 60, set(unvalved), finer
        self.highest_fed = highest * self.unit + ATMOSPHERE
        self.feeds: list[tuple[int, float]] = []
        self.makes = False
        self.column = {tank.id: n for n, tank in enumerate(tanks)}
        self.bank = {store.label: len(tanks) + n for n, store in enumerate(stores)}
        self.air = air()
        lanes, width = len(natures), len(tanks) + len(stores)
        self.lanes, self.cylinders = lanes, len(tanks)
        one = np.ones((lanes, 1))
        litres = np.array([*(t.litres for t in tanks), *(s.litres for s in stores)])
        areas = np.array([inside(v) for v in litres])
        shows = np.array([*(t.start for t in tanks), *(s.reads for s in stores)])
        masses = np.array([t.kilograms * t.specific_heat for t in tanks] + [0.0] * len(stores))
        inner = np.array([[n.inner] for n in natures])
        outer = np.array([[n.outer] for n in natures])
        heavy = np.array([[n.mass] for n in natures])
        self.volume = one * litres
        self.through = inner * areas
        self.out = outer * areas * OUTSIDE_TO_INSIDE
        self.wall_heat = heavy * masses
        self.out[:, len(tanks) :], self.wall_heat[:, len(tanks) :] = 0.0, 1e15
        self.rho = one * self.air.density(shows * self.unit + ATMOSPHERE, self.ambient)
        self.kelvin = np.full((lanes, width), self.ambient)
        self.wall = self.kelvin.copy()
        self.energy = self.air.at(self.rho, self.kelvin)[1]
        rows = np.linspace(0.01, self.air.DENSEST - 0.5, 200)
        p, u, *_ = self.air.at(rows, np.full_like(rows, self.ambient))
        self.at_ambient = p, u + p / rows
        self.began = self._gas_and_heat()
        self.fed, self.gone = np.zeros(lanes), np.zeros(lanes)
        self.fed_heat = np.zeros(lanes)
        self.seats: dict[str, str] = {}
        self.open_cylinders: set[str] = set()
        self.open_positions: set[str] = set()
        self.source: str | None = None
        self.regulator = 0.0
        self.clock = np.zeros(lanes)
        self.told = Worked()
        self.now = self._state()
        self.highest = self.now[0]

    def _gas_and_heat(self) -> tuple[Floats, Floats]:
        """All the gas there is, and all the energy of gas and cylinder walls."""
        amounts = self.rho * self.volume
        walls = self.wall_heat[:, : self.cylinders] * self.wall[:, : self.cylinders]
        return amounts.sum(1), (amounts * self.energy).sum(1) + walls.sum(1)

    # --- the moves

    def work(self) -> Worked:
        """Do every move of every step, then let everything cool."""
        for step in self.plan["steps"]:
            self._step(step)
        told, (gas, heat) = self.told, self._gas_and_heat()
        told.minutes = self.clock / 60
        told.gas_lost = (self.began[0] + self.fed - gas) / gas
        told.energy_lost = (self.began[1] + self.fed_heat - self.gone - heat) / np.abs(heat)
        cold = self._cold()
        told.settled = {id_: cold[:, n] for id_, n in self.column.items()}
        shown = (self.highest - ATMOSPHERE) / self.unit
        told.highest = {id_: shown[:, n] for id_, n in self.column.items()}
        told.banks = {label: cold[:, n] for label, n in self.bank.items()}
        if self.source or self.open_positions or self.open_cylinders or self.feeds:
            self._fault(self.plan["steps"][-1], "left open", str(self.open_cylinders))
        return told

    def _step(self, step: Mapping[str, Any]) -> None:
        handling = next(
            (w["handling_minutes"] for w in self.plan["loads"] if w["number"] == step["load"]), 0.0
        )
        if step["act"] == "connect":
            self._pass(60 * handling)
        for move in (m for m in step["moves"] if not _is_later(m)):
            self._move(step, move)
        if step["act"] in PASSES:
            self._pass(60 * step["minutes"])
        for move in filter(_is_later, step["moves"]):
            self._move(step, move)

    def _move(self, step: Mapping[str, Any], move: Mapping[str, Any]) -> None:
        name, at = move["name"], move["at"]
        match move["turn"], move["part"]:
            case "set", "regulator":
                self.regulator = at * self.unit + ATMOSPHERE
            case "back off", "regulator":
                self.regulator = 0.0
            case "connect", "cylinder valve":
                load = next(w for w in self.plan["loads"] if w["number"] == step["load"])
                self.seats[name] = load["positions"][name]
            case "remove", "cylinder valve":
                if name in self.open_cylinders or self.seats[name] in self.open_positions:
                    self._fault(step, "removed while open", name)
                del self.seats[name]
            case "open", "cylinder valve":
                if self.source is not None:
                    self._meets(step, [name])
                self.open_cylinders.add(name)
            case "close", "cylinder valve":
                if self.source is not None:
                    self._shuts(step, [name])
                self.open_cylinders.discard(name)
            case "open", "position valve":
                self._meets(step, [id_ for id_, at in self.seats.items() if at == name])
                self.open_positions.add(name)
            case "close", "position valve":
                self._shuts(step, [id_ for id_, at in self.seats.items() if at == name])
                self.open_positions.discard(name)
            case "open", "bank" | "compressor":
                if self.source is not None:
                    self._fault(step, "two sources", name)
                self.source = f"{move['part']} {name}"
                if move["part"] == "compressor" and self.feeds:
                    self._fault(step, "feeds a bank as well", name)
                if not self._taking() and step["act"] != "lower the regulator":
                    self._fault(step, "opened to nothing", name)
                self._meets(step, [t.id for t in self.tanks if self.column[t.id] in self._taking()])
            case "close", "bank" | "compressor":
                still = {n for n in self._taking() if self.seats[self.tanks[n].id] in self.unvalved}
                self._shuts(step, [self.tanks[n].id for n in still])
                self.source = None
            case "open", "feed valve":
                if not self.delivers:
                    self._fault(step, "fed from nothing", name)
                most = min(self.highest_fed, at * self.unit + ATMOSPHERE)
                self.feeds.append((self.bank[name], most))
            case "close", "feed valve":
                self.feeds = [each for each in self.feeds if each[0] != self.bank[name]]
            case "drain", "separators":
                pass
            case ("start" | "load" | "stop" | "unload") as turn, "compressor":
                self.makes = turn in ("start", "load")
                if move["minutes"] and turn == "start":
                    self._fault(step, "must rest", name)
            case "watch", "gauge" if step["act"] in NO_FLOW:
                pass  # it reads what was set: no gas flows
            case (("open" | "close"), "isolator") | ("keep", "compressor" | "feed valve"):
                pass
            case "watch", "gauge":
                self._watch(step, name, at, move.get("at_most"), held=bool(move["minutes"]))
                if move["minutes"] and self._taking():
                    self._keep(step, name, at, 60 * move["minutes"])
            case ("crack", "cylinder valve") | ("close", "bleed") | ("bleed", "bleed" | "line"):
                pass
            case turn, part:
                raise AssertionError(f"a hand cannot {turn} a {part}")

    def _fault(self, step: Mapping[str, Any], what: str, name: str, by: Any = 1.0) -> None:
        amount = np.broadcast_to(np.asarray(by, dtype=float), (self.lanes,))
        self.told.faults.append(Fault(step["number"], what, name, amount))

    def _taking(self) -> list[int]:
        """The cylinders that are open to the line, by column."""
        return [
            self.column[id_]
            for id_, at in self.seats.items()
            if id_ in self.open_cylinders
            and (at in self.open_positions or (at in self.unvalved and self.source is not None))
        ]

    def _meets(self, step: Mapping[str, Any], ids: Sequence[str]) -> None:
        """A cylinder is opened: is it above what it is opened to? Two may be made level."""
        if self.source is None:
            return
        already, shows = self._taking(), self.now[0]
        for id_ in ids:
            mine, others = self.column[id_], [n for n in already if n != self.column[id_]]
            if others:
                line = shows[:, others].min(1)
                over = (shows[:, mine] - line) / self.unit
                self._fault(step, "above the line", id_, over)
            elif (bank := self._bank()) is not None:
                over = (shows[:, mine] - shows[:, bank]) / self.unit
                self._fault(step, "above the bank", id_, over)

    def _shuts(self, step: Mapping[str, Any], ids: Sequence[str]) -> None:
        cold = self._cold()
        for id_ in ids:
            n = self.column[id_]
            reads = (self.now[0][:, n] - ATMOSPHERE) / self.unit
            self.told.shut.append(Shut(step["number"], id_, reads, cold[:, n]))

    def _cold(self) -> Floats:
        """What everything would show at ambient."""
        return (self.air.pressure(self.rho, self.ambient) - ATMOSPHERE) / self.unit

    def _bank(self) -> int | None:
        kind, _, name = (self.source or "").partition(" ")
        return self.bank[name] if kind == "bank" else None

    # --- time

    def _watch(
        self,
        step: Mapping[str, Any],
        name: str,
        at: float | None,
        most: float | None,
        *,
        held: bool,
    ) -> None:
        taking, bank = self._taking(), self._bank()
        if not taking:
            self._fault(step, "nothing open", name)
            return
        if self.source is None:
            self._level(taking)
            return
        told = [kpa * self.unit + ATMOSPHERE for kpa in (at, most) if kpa is not None]
        ceiling = min([self.regulator, *told])
        began = self.clock.copy()
        for _ in range(MOST_TICKS):
            line = self._line(taking)
            over = line >= ceiling - READS
            if bank is not None:
                near = FLOW_STOPS if at is None else READS
                over |= line >= self.now[0][:, bank] - near
            if over.all():
                break
            pace = self._pace(taking)
            most = np.minimum(5.0, np.clip(0.03 * line, 15.0, 400.0) / pace) / self.finer
            self._tick(np.where(over, 0.0, most), taking, bank, np.full(self.lanes, ceiling), pace)
        else:
            raise AssertionError("the flow never stops")
        reads = (self._line(taking) - ATMOSPHERE) / self.unit
        self.told.looks.append(Look(step["number"], name, at, reads, (self.clock - began) / 60))
        if at is not None:
            what = "comes late to its stop" if held else "does not come to what it is to read"
            self._fault(step, what, name, at - reads)

    def _keep(self, step: Mapping[str, Any], name: str, at: float | None, seconds: float) -> None:
        """Keep the gauge where it is to be, or at the level of the bank, for some time."""
        taking, bank = self._taking(), self._bank()
        pieces = max(1, int(seconds / 20 * self.finer + 0.999))
        most = self.regulator if at is None else min(self.regulator, at * self.unit + ATMOSPHERE)
        ceiling = np.full(self.lanes, most)
        pace = self._pace(taking)
        for _ in range(pieces):
            self._tick(np.full(self.lanes, seconds / pieces), taking, bank, ceiling, pace)
        if at is not None:
            reads = (self._line(taking) - ATMOSPHERE) / self.unit
            self._fault(step, "falls while held", name, at - reads)

    def _pass(self, seconds: float) -> None:
        pieces = max(1, int(seconds / 60 * self.finer + 0.999))
        for _ in range(pieces):
            self._tick(np.full(self.lanes, seconds / pieces), [], None, np.zeros(self.lanes), 0.0)

    def _line(self, taking: Sequence[int]) -> Floats:
        """What the gauge of the line shows: the least of those open to it."""
        return np.asarray(self.now[0][:, taking].min(1))

    def _pace(self, taking: Sequence[int]) -> float:
        """The slowest fill rate of those that are open [kPa/s]."""
        return min(self.tanks[n].rate for n in taking) * self.unit / 60

    def _tick(
        self,
        seconds: Floats,
        taking: Sequence[int],
        bank: int | None,
        ceiling: Floats,
        pace: float,
    ) -> None:
        """A small step of time: how much gas goes where is told from the slopes as it begins."""
        p, u, p_rho, p_t, u_rho, cv = self.now
        dt = seconds[:, None]
        had = self.rho * self.volume
        heat = had * cv
        both = heat * self.wall_heat / (heat + self.wall_heat)
        inward = both * -np.expm1(-self.through * dt / both) * (self.kelvin - self.wall)
        outward = self.wall_heat * -np.expm1(-self.out * dt / self.wall_heat)
        outward *= self.wall - self.ambient
        warmer = -inward / heat
        energy, moved = had * self.energy - inward, np.zeros_like(had)
        if self.feeds and self.makes and (self.source or "").split(" ")[0] != "compressor":
            into, most = self.feeds[-1]
            brings = np.interp(p[:, into], *self.at_ambient)
            by_feed = (brings - u[:, into] - (self.rho * u_rho)[:, into]) / heat[:, into]
            # as much as brings its gauge to the most, not more
            slope = (p_rho / self.volume)[:, into] + p_t[:, into] * by_feed
            room = (most - p[:, into] - (p_t * warmer)[:, into]) / slope
            feed = np.clip(room, 0.0, self.delivers * seconds)
            moved[:, into] += feed
            energy[:, into] += feed * brings
            warmer[:, into] += feed * by_feed
            self.fed, self.fed_heat = self.fed + feed, self.fed_heat + feed * brings
        if taking:
            still = p + p_t * warmer + p_rho / self.volume * moved
            came = self._enthalpy(bank, self._line(taking))
            # of each mole that comes in: the rise in temperature, and in pressure
            by_mole = (came[:, None] - u - self.rho * u_rho) / heat
            rise = p_rho / self.volume + p_t * by_mole
            wanted = np.minimum(self._line(taking) + pace * seconds, ceiling)
            slope, low = rise[:, taking], still[:, taking]
            for _ in range(3):
                opens = low < wanted[:, None]
                ease = np.where(opens, 1 / slope, 0.0).sum(1)
                base = np.where(opens, low / slope, 0.0).sum(1)
                if bank is None:
                    most = (self.delivers * self.makes * seconds + base) / np.maximum(ease, 1e-12)
                else:
                    left = (p / self.rho - self.rho * u_rho) / heat
                    falls = (p_rho / self.volume + p_t * left)[:, bank]
                    most = (still[:, bank] + falls * base) / (1 + falls * ease)
                wanted = np.where(ease > 0, np.minimum(wanted, most), wanted)
            gives = np.maximum(0.0, (wanted[:, None] - low) / slope)
            gives = np.where(dt > 0, gives, 0.0)
            moved[:, taking] = gives
            energy[:, taking] += gives * came[:, None]
            warmer[:, taking] += gives * by_mole[:, taking]
            total = gives.sum(1)
            if bank is None:
                self.fed += total
                self.fed_heat += total * came
            else:
                moved[:, bank] -= total
                energy[:, bank] -= total * came
                warmer[:, bank] -= total * left[:, bank]
        has = had + moved
        self.rho, self.energy = has / self.volume, energy / has
        self.kelvin = self.kelvin + warmer
        self.gone += outward.sum(1) + inward[:, self.cylinders :].sum(1)
        self.wall = self.wall + (inward - outward) / self.wall_heat
        self.clock = self.clock + seconds
        self.now = self._state()
        self.highest = np.maximum(self.highest, self.now[0])

    def _enthalpy(self, bank: int | None, line: Floats) -> Floats:
        """What each mole brings: that of the bank, or of the compressor's gas, which comes at
        ambient and at the pressure of the line."""
        if bank is None:
            return np.interp(line, *self.at_ambient)
        p, u = self.now[0], self.now[1]
        return np.asarray(u[:, bank] + p[:, bank] / self.rho[:, bank])

    def _state(self) -> tuple[Floats, ...]:
        """Everything of the gas as it is, its temperature mended so that the energy is right."""
        p, u, p_rho, p_t, u_rho, cv = self.air.at(self.rho, self.kelvin)
        amiss = (self.energy - u) / cv
        self.kelvin = self.kelvin + amiss
        return p + p_t * amiss, self.energy, p_rho, p_t, u_rho, cv

    def _level(self, taking: Sequence[int]) -> None:
        """Let the fuller of two cylinders flow into the emptier, at the pace of that."""
        low, high = sorted(taking, key=lambda n: float(self.now[0][0, n]))
        pace = self._pace([low])
        for _ in range(MOST_TICKS):
            shows = self.now[0][:, taking]
            over = np.abs(shows[:, 0] - shows[:, 1]) <= FLOW_STOPS
            if over.all():
                return
            most = np.minimum(2.0, np.maximum(10.0, 0.01 * self.now[0][:, low]) / pace) / self.finer
            full = np.full(self.lanes, np.inf)
            self._tick(np.where(over, 0.0, most), [low], high, full, pace)
        raise AssertionError("two cylinders never come level")


def _is_later(move: Mapping[str, Any]) -> bool:
    """Whether it is done as a bank comes full within a step: this hand, whose bank takes no more
    then, does it when the step is over."""
    return bool(move["minutes"]) and move["part"] in ("compressor", "feed valve")


def changes(plan: Mapping[str, Any]) -> Iterable[tuple[Mapping[str, Any], Mapping[str, Any]]]:
    """Every step of a plan with each of its cylinders."""
    return ((step, each) for step in plan["steps"] for each in step["cylinders"])
