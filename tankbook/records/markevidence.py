"""What a mark that was not read could be, by its shape alone.

Whoever holds stamps against a card needs to know what an unread mark may hide: a pressure, a date,
a specification, or a row of X. Better one too many than one too few: what these shapes find is
asked about, never believed. They are our own list (`ledger/data/words/stamps.yaml`); no standard
speaks of misread stamps.
"""

from __future__ import annotations

import re
from enum import StrEnum

from tankbook.units.lexicon import Lexicon

STAMPS = Lexicon("stamps", re.NOFLAG)
"""The shapes of marks, and what they are made of; a line of marks is read in capitals."""


class Evidence(StrEnum):
    """What an unread mark could be."""

    PRESSURE = "pressure"
    DATE = "date"
    SPECIFICATION = "specification"
    CONDEMNED = "condemned"


def could_be(text: str) -> frozenset[Evidence]:
    """What an unread mark could be.

    Args:
        text: the mark in capitals, with single blanks.
    """
    bare = re.sub(r"^[^\w?]+|[^\w?]+$", "", text)
    found = {kind for kind in Evidence if STAMPS.shape(f"could be {kind}").fullmatch(bare)}
    return frozenset(found | {Evidence.CONDEMNED} if _struck_over(bare) else found)


def is_crossed(text: str) -> bool:
    """Whether what was taken for a serial by its place could be a pressure with an X over it: one
    X beside figures may be a serial's own."""
    return "X" in text and STAMPS.shape("crossed").fullmatch(text) is not None


def _struck_over(text: str) -> bool:
    """Whether an X stands in a specification, joined to it: `XDOT-3AL3000X`, `(X)DOT-3AL`."""
    without = re.sub("(?<!3A)(?<!3AA)X", "", text)
    plain = re.sub("^[^A-Z0-9]+", "", without)
    return without != text and STAMPS.shape("struck over").match(plain) is not None


def hides_first_test(text: str) -> bool:
    """Whether an unread mark may be the month of a first test: what follows may be a later one."""
    return STAMPS.shape("first test").fullmatch(text.rstrip("+*")) is not None


def is_north_american(specification: str) -> bool:
    """Whether a specification is marked with who sets it in the US or in Canada."""
    return STAMPS.shape("authority").match(specification) is not None
