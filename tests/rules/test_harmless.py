"""Reasons to hold a cylinder that say nothing of its shell."""

from __future__ import annotations

import pytest

from tankbook.rules.harmless import is_harmless

HARMLESS = (
    "boot loose",
    "boot cracked",
    "valve leaks",
    "o-ring leaking",
    "burst disc leaks",
    "sticker illegible",
    "waiting for parts",
    "owner decides",
    "hydro due",
    "handwheel cracked",
    "not paid yet",
    "mixed up with ST-081",
    "Ventil undicht",
    "wartet auf Kunde",
    "gas not analysed",
    "customer away till 12 May",
    "net torn",
    "valve is stiff",
    "leaks at the valve",
    "boot is cracked",
    "valve o-ring leaks a bit",
    "knob removed",
    "valve repaired",
    "stock count",
    "waiting for the club's instructor",
    "reserved for class",
)
MAY_BE_OF_THE_SHELL = (
    "",
    "-",
    "ST-081",
    "leaks",
    "cracked",
    "bent",
    "kaputt",
    "belly",
    "oval",
    "Brand",
    "boiled",
    "lightning",
    "dirty",
    "leaks at the neck thread",
    "valve leaks at the thread",
    "hissing from the neck",
    "line in thread 4",
    "paint blistered",
    "torch used to free the valve",
    "valve sheared off",
    "worn neck threads",
    "smells odd",
    "fell over",
    "sweats at the crown",
    "leaks, valve ok",
    "leaks, not the valve",
    "leaking, o-ring is new",
    "leaks still, valve and o-ring new",
    "gas leaks at the ring",
    "CO in it",
    "OIL in it",
    "pressure 5000",
    "filled to 330",
    "rattle in it",
    "dates removed",
    "repaired by the owner",
    "burst",
    "hard",
)


@pytest.mark.parametrize("reason", HARMLESS)
def test_what_is_of_a_fitting_a_paper_or_an_owner(reason: str) -> None:
    assert is_harmless(reason)


def test_initials_say_nothing_where_they_are_known() -> None:
    assert is_harmless("KD to look at it", {"KD"})
    assert not is_harmless("KD to look at it")
    assert not is_harmless("CO in it", {"KD"})


@pytest.mark.parametrize("reason", MAY_BE_OF_THE_SHELL)
def test_whatever_else_may_be_of_the_shell(reason: str) -> None:
    assert not is_harmless(reason)
