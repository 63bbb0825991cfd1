"""What a gas is called, and what it wants of a cylinder, is told in one place."""

from __future__ import annotations

import pytest

from tankbook.gas import Gas
from tankbook.records.words import Service
from tankbook.rules.services import has_no_air, service_for
from tankbook.rules.worked import GasGroup, group_of


@pytest.mark.parametrize(
    ("gas", "no_air", "group", "service"),
    [
        (Gas.parse("air"), False, GasGroup.AIR, Service.AIR),
        (Gas.of(32), False, GasGroup.NITROX, Service.NITROX),
        (Gas.of(89.9), False, GasGroup.NITROX, Service.NITROX),
        (Gas.of(90), False, GasGroup.NITROX, Service.OXYGEN),
        (Gas.of(98.9), False, GasGroup.NITROX, Service.OXYGEN),
        (Gas.of(99), True, GasGroup.OXYGEN, Service.OXYGEN),
        (Gas.of(100), True, GasGroup.OXYGEN, Service.OXYGEN),
        (Gas.of(21, 78), True, GasGroup.HELIUM, Service.NITROX),
        (Gas.of(18, 45), False, GasGroup.HELIUM, Service.NITROX),
        (Gas.of(0, 100), True, GasGroup.HELIUM, Service.NITROX),
    ],
    ids=str,
)
def test_a_gas_is_pure_from_one_figure_on(
    gas: Gas, no_air: bool, group: GasGroup, service: Service
) -> None:
    assert has_no_air(gas) is no_air
    assert group_of(gas) is group
    assert service_for(gas) is service


def test_of_a_gas_that_nobody_knows_nothing_is_said() -> None:
    assert not has_no_air(None)
    assert group_of(None) is GasGroup.UNKNOWN
