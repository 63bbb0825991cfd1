"""The cautions that go with a plan."""

from __future__ import annotations

from tankbook.filling.check import same_gas
from tankbook.filling.nouns import PositionKind
from tankbook.filling.results import Act
from tankbook.filling.setup import Setup
from tankbook.filling.simulate import Bench
from tankbook.units import GaugePressure

ALWAYS = (
    "A trained operator decides. The maker's and local rules come first.",
    "Crack each cylinder valve and blow its outlet dry before connecting it; open the cylinder "
    "valve before the bank valve; bleed the whip before removing it.",
    "No gauge may show more than the marked pressure. Read the checked master gauge.",
    "Analyse before labelling and again at pick-up.",
)
HOT = (
    "Stops and settled pressures are predictions for gas still warm: read each cylinder again "
    "when it has cooled for an hour."
)
LEVELS = "Where flow is to stop, open slowly and wait: a warm cylinder takes more as it cools."
HELIUM = "Helium: the gas model is unvalidated for it, up to about 1 % out at 300 bar."


def cautions_of(setup: Setup, bench: Bench) -> tuple[str, ...]:
    """What the operator is to be told, the general first."""
    said = list(ALWAYS)
    if setup.session.heat:
        said += [HOT, LEVELS]
    if not setup.session.gas.validated:
        said.append(HELIUM)
    said += _of_clean_states(setup)
    said += _of_gauges(setup)
    said += _of_banks(setup, bench)
    if any(step.act is Act.EQUALIZE for step in bench.steps):
        said.append("Equalize throttled, with both cylinders' contents known.")
    whips = {p.label for p in setup.positions if p.kind is PositionKind.OPEN_WHIP}
    used = [s.position for load in bench.loads for s in load.seats if s.position in whips]
    if used:
        said.append(f"Open whip {used[0]} is used: keep everyone away from it while it fills.")
    return tuple(said)


def _of_clean_states(setup: Setup) -> list[str]:
    if setup.session.oxygen_grade:
        return []
    return [
        f"{vessel.id} is clean for {vessel.clean_state}: gas not of oxygen grade ends that."
        for vessel in setup.vessels
        if vessel.clean_state != "air"
    ]


def _of_gauges(setup: Setup) -> list[str]:
    unit = setup.session.unit
    return [
        f"Gauge {gauge.label} shows {_shown(gauge.shows, unit)} where the master shows "
        f"{_shown(gauge.true, unit)}: replace it, do not correct for it."
        for gauge in setup.session.gauges
        if abs(gauge.shows.pa - gauge.true.pa) > setup.session.policy.gauge_error.pa
    ]


def _of_banks(setup: Setup, bench: Bench) -> list[str]:
    session = setup.session
    said = [
        f"Bank {bank.label} holds {bank.gas}: it stays shut."
        for bank in session.banks
        if not same_gas(bank.gas, session.gas)
    ]
    emptiest = min((job.start for job in setup.problem.jobs), default=0.0)
    for bank, density in zip(setup.banks, setup.problem.densities, strict=True):
        if density <= emptiest:
            said.append(f"Bank {bank.label} is below every cylinder: it gives nothing.")
    return said


def _shown(pressure: GaugePressure, unit: str) -> str:
    return pressure.format(unit, 0 if unit == "psi" else 1)
