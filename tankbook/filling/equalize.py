"""Equalizing cylinders with each other: where they settle, and what they then hold."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from tankbook.filling.equation import gauge_of
from tankbook.filling.nouns import PlanError, Vessel
from tankbook.filling.setup import same_gas
from tankbook.gas import Gas, Mixture, molar_density, pressure_kpa
from tankbook.units import SAID_LIKE, GaugePressure, Temperature

HALVINGS = 80

CAUTIONS = (
    "A trained operator decides. Throttle the flow to the fill rate of the emptier cylinder.",
    "Settled figures, at ambient and with all valves left open until the flow has stopped.",
)


class LevelCylinder(Struct, frozen=True, kw_only=True):
    """One cylinder before and after. `gas` is its mixture afterwards."""

    id: str
    before: GaugePressure
    after: GaugePressure
    mixture: Mixture


class Equalized(Struct, frozen=True, kw_only=True):
    """Where cylinders settle: real gas, and the ideal figure beside it. `mixed` says that gases
    were mixed, so that each cylinder must be analysed."""

    pressure: GaugePressure
    ideal: GaugePressure
    cylinders: tuple[LevelCylinder, ...]
    mixed: bool
    cautions: tuple[str, ...]


def equalize(
    vessels: Sequence[Vessel],
    ambient: Temperature,
    unit: str,
    *,
    non_return_valves: bool | None,
    mix: bool = False,
) -> Equalized:
    """Open cylinders to each other until they are level, at `ambient`.

    With one gas, volumes and densities alone decide: rho = sum(V rho) / sum V. With `mix`, two
    cylinders of different gases may be equalized: the fuller keeps its gas, the emptier gets a
    blend. Raises `PlanError` for what the bench forbids, `RangeError` beyond the gas model.
    """
    _allowed(vessels, non_return_valves, unit)
    known = [(v, v.start, v.gas) for v in vessels if v.start is not None and v.gas is not None]
    gases = [gas for _, _, gas in known]
    if all(same_gas(gas, gases[0]) for gas in gases):
        found = _one_gas(known, ambient, unit)
    elif not mix or len(known) != 2:
        named = " and ".join(dict.fromkeys(gas.word for gas in gases))
        raise PlanError(
            f"the cylinders hold different gases, {named}",
            "equalize like with like; two cylinders may be mixed with --mix",
        )
    else:
        found = _two_gases(known, ambient, unit)
    _within_marks(vessels, found)
    return found


def _allowed(vessels: Sequence[Vessel], non_return_valves: bool | None, unit: str) -> None:
    if len(vessels) < 2 or len({v.id for v in vessels}) < len(vessels):
        raise PlanError("equalizing takes two or more cylinders", "name each once")
    if non_return_valves is not False:
        fitted = "has" if non_return_valves else "is not known to be without"
        raise PlanError(
            f"the panel {fitted} non-return valves: nothing flows from a cylinder",
            "say `non_return_valves: no` in station.yaml where that is so",
        )
    for vessel in vessels:
        _known(vessel, unit)
    if len({v.marked for v in vessels}) > 1:
        raise PlanError(
            "the cylinders are of unlike working pressures", "connect only alike ones together"
        )
    if len({v.clean_state for v in vessels}) > 1:
        raise PlanError(
            "the cylinders are not cleaned for the same service", "equalize like with like"
        )


def _known(vessel: Vessel, unit: str) -> None:
    if not vessel.own:
        raise PlanError(
            f"{vessel.id} is not of the own fleet", "equalize only cylinders of the own fleet"
        )
    if vessel.start is None:
        raise PlanError(
            f"the reading of {vessel.id} is missing",
            f"read its gauge, as in {vessel.id}={SAID_LIKE[unit].empty}",
        )
    if vessel.gas is None:
        raise PlanError(f"what {vessel.id} holds is unknown", "analyse it first")


def _one_gas(
    known: Sequence[tuple[Vessel, GaugePressure, Gas]], ambient: Temperature, unit: str
) -> Equalized:
    mixture, kelvin = known[0][2].mixture, ambient.kelvin
    total = sum(v.water_volume.litres for v, _, _ in known)
    gas = sum(
        v.water_volume.litres * molar_density(mixture, kelvin, start.absolute().kpa)
        for v, start, _ in known
    )
    after = gauge_of(pressure_kpa(mixture, kelvin, gas / total), unit)
    return _made([(v.id, start, mixture) for v, start, _ in known], after, known, unit, False)


def _two_gases(
    known: Sequence[tuple[Vessel, GaugePressure, Gas]], ambient: Temperature, unit: str
) -> Equalized:
    """Gas leaves the fuller until the pressures are equal: halving on the amount that flows."""
    (giver, high, gas), (taker, low, other) = sorted(known, key=lambda k: -k[1].si)
    kelvin = ambient.kelvin
    large, small = giver.water_volume.litres, taker.water_volume.litres
    had = large * molar_density(gas.mixture, kelvin, high.absolute().kpa)
    held = small * molar_density(other.mixture, kelvin, low.absolute().kpa)

    def blend(flows: float) -> Mixture:
        return Mixture.blended((held, other.mixture), (flows, gas.mixture))

    least, most = 0.0, had
    for _ in range(HALVINGS):
        flows = (least + most) / 2
        gives = pressure_kpa(gas.mixture, kelvin, (had - flows) / large)
        if gives > pressure_kpa(blend(flows), kelvin, (held + flows) / small):
            least = flows
        else:
            most = flows
    after = gauge_of(pressure_kpa(gas.mixture, kelvin, (had - least) / large), unit)
    mixtures = {giver.id: gas.mixture, taker.id: blend(least)}
    rows = [(v.id, start, mixtures[v.id]) for v, start, _ in known]
    return _made(rows, after, known, unit, True)


def _made(
    rows: Sequence[tuple[str, GaugePressure, Mixture]],
    after: GaugePressure,
    known: Sequence[tuple[Vessel, GaugePressure, Gas]],
    unit: str,
    mixed: bool,
) -> Equalized:
    total = sum(v.water_volume.litres for v, _, _ in known)
    ideal = sum(v.water_volume.litres * p.pa for v, p, _ in known) / total
    cautions: tuple[str, ...] = CAUTIONS
    if mixed:
        cautions += ("Gases were mixed: analyse each cylinder before labelling it.",)
    if not all(mixture.validated for _, _, mixture in rows):
        cautions += ("Helium: the gas model is unvalidated for it.",)
    return Equalized(
        pressure=after,
        ideal=GaugePressure.of(GaugePressure.of(ideal / 1000, "kPa").to(unit), unit),
        cylinders=tuple(
            LevelCylinder(id=name, before=before, after=after, mixture=mixture)
            for name, before, mixture in rows
        ),
        mixed=mixed,
        cautions=cautions,
    )


def _within_marks(vessels: Sequence[Vessel], found: Equalized) -> None:
    for vessel in vessels:
        rises = vessel.start is not None and vessel.start < found.pressure
        if rises and found.pressure > vessel.target:
            raise PlanError(
                f"{vessel.id} would settle at {found.pressure.format(found.pressure.unit, 0)}, "
                f"above its target {vessel.target}",
                "close the valve at the target",
            )
