"""What a plan is asked for by the people at the bench, and what comes of asking the gate."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from msgspec import Struct, field

from tankbook.acts.fill_request import FillAnswer
from tankbook.filling.nouns import Session
from tankbook.filling.problem import Favour
from tankbook.gas import Gas
from tankbook.rules.answers import Reason
from tankbook.units import GaugePressure, PressureRate, RunningTime, Temperature


class QueueEntry(Struct, frozen=True):
    """A cylinder or set of the queue, and what its gauge shows; None for what is on record."""

    id: str
    start: GaugePressure | None = None


class Wish(Struct, frozen=True, kw_only=True):
    """What a plan is asked for.

    `ambient` None: that of the station, else of the settings. `rates` are those of single
    cylinders, `holds` what was analysed where the log does not know, `banks` readings taken now,
    `most` a cold pressure above which none is filled, `top_offs` how often a cylinder may be
    connected again; None: as the station has it.
    """

    gas: Gas
    queue: tuple[QueueEntry, ...]
    unit: str
    ambient: Temperature | None = None
    banks: Mapping[str, GaugePressure] = field(default_factory=dict)
    holds: Mapping[str, Gas] = field(default_factory=dict)
    rate: PressureRate | None = None
    rates: Mapping[str, PressureRate] = field(default_factory=dict)
    most: GaugePressure | None = None
    favour: Favour = Favour.GAS
    ready_in: RunningTime | None = None
    wet: bool = False
    top_offs: int | None = None
    compressor: bool = True


class RefusedFill(Struct, frozen=True):
    """A cylinder that may not be filled, why, and what to beware of with it."""

    id: str
    reasons: tuple[Reason, ...]
    dangers: tuple[str, ...] = ()


class Prepared(Struct, frozen=True):
    """A session ready to plan, None where nobody may be filled, and what goes beside it.

    `shut` is what the station itself refuses, told once and not with each cylinder. `warnings`
    pair an id, empty for the station, with what the gate warns of; `assumed` is what the plan
    rests on without a record.
    """

    session: Session | None
    ambient: Temperature
    refused: tuple[RefusedFill, ...]
    shut: tuple[Reason, ...]
    warnings: tuple[tuple[str, str], ...]
    assumed: tuple[str, ...]


class Case(Struct, frozen=True):
    """A cylinder of the queue: its reading and gas, when it was read, and the gate's answer."""

    entry: QueueEntry
    start: GaugePressure | None
    gas: Gas | None
    read_on: dt.date | None
    answered: FillAnswer

    @property
    def refused(self) -> bool:
        """Whether it may not be filled, or nobody knows how far."""
        return bool(self.answered.refusals) or self.answered.answer.limit is None
