"""The numbers of GERG-2008 for the four gases of breathing mixtures.

Source: O. Kunz and W. Wagner, "The GERG-2008 Wide-Range Equation of State for Natural Gases and
Other Mixtures: An Expansion of GERG-2004", J. Chem. Eng. Data 57(11), 3032-3091 (2012); the same
in ISO 20765-2:2015 and in AGA Report No. 8 Part 2 (2017). The figures are those of NIST's public
reference data for AGA 8. The enthalpy constants put the zero of enthalpy where that data has it.

GERG-2008 gives no departure function to any pair of these gases.
"""

from __future__ import annotations

from typing import NamedTuple

R = 8.314472
"""The molar gas constant of the equation, J/(mol K)."""

R_IDEAL = 8.314510
"""The older constant that the ideal-gas heat capacities were fitted with, J/(mol K). Using one
for the other costs 3e-6."""


class PureGas(NamedTuple):
    """One gas.

    `molar_mass` in g/mol, `critical_temperature` in K, `critical_density` in mol/L. `c0`,
    `sinh_terms` and `cosh_terms` (pairs of v and theta in K) give the ideal-gas heat capacity,
    `enthalpy_constant` (K) the zero of its enthalpy. `residual` holds the terms (n, d, t, c) of
    the reduced residual Helmholtz energy.
    """

    name: str
    molar_mass: float
    critical_temperature: float
    critical_density: float
    c0: float
    sinh_terms: tuple[tuple[float, float], ...]
    cosh_terms: tuple[tuple[float, float], ...]
    enthalpy_constant: float
    residual: tuple[tuple[float, int, float, int], ...]


class Pair(NamedTuple):
    """How two gases reduce together: beta and gamma for volume and for temperature."""

    beta_v: float
    gamma_v: float
    beta_t: float
    gamma_t: float


NITROGEN = PureGas(
    name="nitrogen",
    molar_mass=28.0134,
    critical_temperature=126.192,
    critical_density=11.1839,
    c0=3.50031,
    sinh_terms=(
        (0.13732, 662.738),
        (0.90066, 1740.06),
    ),
    cosh_terms=((-0.1466, 680.562),),
    enthalpy_constant=-2801.727709358,
    residual=(
        (0.59889711801201, 1, 0.125, 0),
        (-1.6941557480731, 1, 1.125, 0),
        (0.24579736191718, 2, 0.375, 0),
        (-0.23722456755175, 2, 1.125, 0),
        (0.017954918715141, 4, 0.625, 0),
        (0.014592875720215, 4, 1.5, 0),
        (0.10008065936206, 1, 0.625, 1),
        (0.73157115385532, 1, 2.625, 1),
        (-0.88372272336366, 1, 2.75, 1),
        (0.31887660246708, 2, 2.125, 1),
        (0.20766491728799, 3, 2, 1),
        (-0.019379315454158, 6, 1.75, 1),
        (-0.16936641554983, 2, 4.5, 2),
        (0.13546846041701, 3, 4.75, 2),
        (-0.033066712095307, 3, 5, 2),
        (-0.060690817018557, 4, 4, 2),
        (0.012797548292871, 4, 4.5, 2),
        (0.0058743664107299, 2, 7.5, 3),
        (-0.018451951971969, 3, 14, 3),
        (0.0047226622042472, 4, 11.5, 3),
        (-0.0052024079680599, 5, 26, 6),
        (0.043563505956635, 6, 28, 6),
        (-0.036251690750939, 6, 30, 6),
        (-0.0028974026866543, 7, 16, 6),
    ),
)

OXYGEN = PureGas(
    name="oxygen",
    molar_mass=31.9988,
    critical_temperature=154.595,
    critical_density=13.63,
    c0=3.50146,
    sinh_terms=((1.07558, 2235.71),),
    cosh_terms=((1.01334, 1116.69),),
    enthalpy_constant=-2318.321327358,
    residual=(
        (0.88878286369701, 1, 0.25, 0),
        (-2.4879433312148, 1, 1.125, 0),
        (0.59750190775886, 1, 1.5, 0),
        (0.0096501817061881, 2, 1.375, 0),
        (0.07197042871277, 3, 0.25, 0),
        (0.00022337443000195, 7, 0.875, 0),
        (0.18558686391474, 2, 0.625, 1),
        (-0.03812936803576, 5, 1.75, 1),
        (-0.15352245383006, 1, 3.625, 2),
        (-0.026726814910919, 4, 3.625, 2),
        (-0.025675298677127, 3, 14.5, 3),
        (0.0095714302123668, 4, 12, 3),
    ),
)

HELIUM = PureGas(
    name="helium",
    molar_mass=4.002602,
    critical_temperature=5.1953,
    critical_density=17.399,
    c0=2.5,
    sinh_terms=(),
    cosh_terms=(),
    enthalpy_constant=-745.373637358,
    residual=(
        (-0.45579024006737, 1, 0, 0),
        (1.2516390754925, 1, 0.125, 0),
        (-1.5438231650621, 1, 0.75, 0),
        (0.020467489707221, 4, 1, 0),
        (-0.34476212380781, 1, 0.75, 1),
        (-0.020858459512787, 3, 2.625, 1),
        (0.016227414711778, 5, 0.125, 1),
        (-0.057471818200892, 5, 1.25, 1),
        (0.019462416430715, 5, 2, 1),
        (-0.03329568012302, 2, 1, 2),
        (-0.010863577372367, 1, 4.5, 3),
        (-0.022173365245954, 2, 5, 3),
    ),
)

ARGON = PureGas(
    name="argon",
    molar_mass=39.948,
    critical_temperature=150.687,
    critical_density=13.407429659,
    c0=2.5,
    sinh_terms=(),
    cosh_terms=(),
    enthalpy_constant=-745.373637358,
    residual=(
        (0.85095714803969, 1, 0.25, 0),
        (-2.400322294348, 1, 1.125, 0),
        (0.54127841476466, 1, 1.5, 0),
        (0.016919770692538, 2, 1.375, 0),
        (0.068825965019035, 3, 0.25, 0),
        (0.00021428032815338, 7, 0.875, 0),
        (0.17429895321992, 2, 0.625, 1),
        (-0.033654495604194, 5, 1.75, 1),
        (-0.13526799857691, 1, 3.625, 2),
        (-0.016387350791552, 4, 3.625, 2),
        (-0.024987666851475, 3, 14.5, 3),
        (0.0088769204815709, 4, 12, 3),
    ),
)

GASES = (NITROGEN, OXYGEN, HELIUM, ARGON)
"""In the order of the pairs of `REDUCING`, and of the fields of a mixture."""

REDUCING = {
    (0, 1): Pair(0.99952177, 0.997082328, 0.997190589, 0.995157044),  # nitrogen and oxygen
    (0, 2): Pair(0.969501055, 0.932629867, 0.692868765, 1.47183158),  # nitrogen and helium
    (0, 3): Pair(1.004166412, 1.002212182, 0.999069843, 0.990034831),  # nitrogen and argon
    (1, 2): Pair(1, 1, 1, 1),  # oxygen and helium
    (1, 3): Pair(0.999746847, 0.993907223, 1.000023103, 0.990430423),  # oxygen and argon
    (2, 3): Pair(1, 1, 1, 1),  # helium and argon
}
"""By the places of the two gases in `GASES`; the first is the i of the formula, which matters
where a beta is not 1."""
