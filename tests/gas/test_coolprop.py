"""Against CoolProp's reference equations, and the error table of docs/gas-model.md with it.

Source of every figure: CoolProp 8, HEOS. Air is its pseudo-pure air (Lemmon et al. 2000); nitrox
is its mixture of nitrogen, oxygen and argon, held to the gas phase. Mark: computed.
"""

from collections.abc import Callable
from pathlib import Path

import pytest
import reference as cp

from tankbook.gas import AIR, Mixture, molar_density, nitrox, trimix

PAGE = Path(__file__).parents[2] / "docs" / "gas-model.md"
BARS = (1, 50, 100, 150, 200, 232, 300, 345, 415)
CELSIUS = range(5, 61, 5)

GASES: dict[str, tuple[Mixture, str]] = {
    "air": (AIR, "Air"),
    "nitrogen": (Mixture(1, 0, 0, 0), "Nitrogen"),
    "oxygen": (nitrox(1.0), "Oxygen"),
    "nitrox32": (nitrox(0.32), ""),
    "nitrox36": (nitrox(0.36), ""),
    "nitrox50": (nitrox(0.50), ""),
    "nitrox80": (nitrox(0.80), ""),
    "trimix18/45": (trimix(0.18, 0.45), ""),
    "heliox21": (trimix(0.21, 0.79), ""),
    "helium": (Mixture(0, 0, 1, 0), "Helium"),
}
NAMES = ("Nitrogen", "Oxygen", "Helium", "Argon")

ALLOWED = {
    # Percent of density, 1 to 415 bar and 5 to 60 degC.
    "air": 0.10,
    "nitrogen": 0.02,
    "oxygen": 0.28,
    "nitrox32": 0.13,
    "nitrox36": 0.14,
    "nitrox50": 0.18,
    "nitrox80": 0.25,
}


def reference(mixture: Mixture, pure: str) -> Callable[[float, float], float]:
    """A function giving CoolProp's density [mol/L] at bar and degC."""
    present = [(name, x) for name, x in zip(NAMES, mixture.fractions, strict=True) if x > 0]
    state = cp.AbstractState("HEOS", pure or "&".join(name for name, _ in present))
    if not pure:
        state.set_mole_fractions([x for _, x in present])
        state.specify_phase(cp.iphase_gas)

    def density(bar: float, celsius: float) -> float:
        state.update(cp.PT_INPUTS, bar * 1e5, celsius + 273.15)
        return float(state.rhomolar()) / 1000

    return density


def worst_errors(word: str) -> dict[int, float]:
    """The error in percent that is largest over `CELSIUS`, at each of `BARS`."""
    mixture, pure = GASES[word]
    density = reference(mixture, pure)

    def error(bar: float, celsius: float) -> float:
        own = molar_density(mixture, celsius + 273.15, bar * 100)
        return 100 * (own / density(bar, celsius) - 1)

    return {bar: max((error(bar, c) for c in CELSIUS), key=abs) for bar in BARS}


@pytest.mark.parametrize("word", ALLOWED)
def test_density(word: str) -> None:
    assert max(map(abs, worst_errors(word).values())) < ALLOWED[word]


def test_the_error_table_of_the_page_is_true() -> None:
    lines = [
        "| gas | " + " | ".join(f"{bar} bar" for bar in BARS) + " |",
        "|---|" + "---|" * len(BARS),
    ]
    for word in GASES:
        cells = [f"{error:+.2f}".replace("-0.00", "+0.00") for error in worst_errors(word).values()]
        lines.append(f"| {word} | " + " | ".join(cells) + " |")
    table = "\n".join(lines)
    assert table in PAGE.read_text(encoding="utf-8"), f"the table should read\n{table}"
