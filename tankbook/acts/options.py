"""How an act is asked for on the command line: said beside the parameters of its plan.

A plan is a function of the book that says what an act would do. `Annotated[GaugePressure,
Opt("PRESSURE", "What it showed.")]` makes a parameter of it an option: its type says how the text
becomes a value, its default whether it must be given. The parser, the help and the pages under
docs/ follow. `by` and `on`, which every act has, are said nowhere: who signs, and the day.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Annotated, NamedTuple

from tankbook.records.words import UserLevel
from tankbook.units import PartialDate


class Opt(NamedTuple):
    """An option with a value.

    Attributes:
        metavar: what the help calls its value.
        says: what the help says of it.
        name: how it is typed, as `--to`; like the parameter, if not said.
        twins: words of the other shore, and the word of the closed set that each stands for.
        least: the least that a count may be.
    """

    metavar: str
    says: str
    name: str = ""
    twins: Iterable[tuple[str, str]] = ()
    least: int | None = None


class Arg(NamedTuple):
    """What stands behind the command without a name; `ids` are resolved, a tail will do."""

    metavar: str
    says: str
    ids: bool = False


class Flag(NamedTuple):
    """An option that is there or not."""

    says: str
    name: str = ""


IDS = Arg("ID", "Cylinders or sets; a tail will do, or a range: 1..12.", ids=True)
Ids = Annotated[Iterable[str], IDS]
Id = Annotated[str, Arg("ID", "The cylinder; a tail will do.", ids=True)]
TIME = Opt("TIME", "At what time of the day (16:30); now, if it is dated today.")
At = Annotated[dt.time | None, TIME]
"""The time of the day an act is dated; where it is today and nobody says it, the clock's."""

Hour = Annotated[
    dt.time | None,
    Opt("HH:MM", "At what time, where it was filled that day too.", "--at"),
]
"""The time of the day of work on a cylinder: nobody's clock is taken for it."""

Note = Annotated[str, Opt("TEXT", "Anything worth knowing.")]
Told = Annotated[str, Opt("HOW", "Owner told: in person, telephone, letter.", "--told")]
Began = Annotated[
    PartialDate | None, Opt("DATE", "Which job, by the day it was taken in.", "--job")
]

Level = Annotated[
    UserLevel | None,
    Opt(
        "LEVEL",
        "What the user was seen to be trained for: nitrox, rich-nitrox, trimix.",
        "--certified",
    ),
]
CardSeen = Annotated[str, Opt("TEXT", "What was seen for it: number, whose card.", "--card")]
Analysed = Annotated[
    Sequence[str],
    Opt("[ID=]OXYGEN[/HELIUM]", "What the user analysed: 31.8, 14=31.8, 18.2/44.6."),
]
Deepest = Annotated[
    Sequence[str], Opt("[ID=]DEPTH", "How deep the user wrote: 33m, 14=110ft.", "--depth")
]
UserInitials = Annotated[str, Opt("XX", "Initials that the user wrote.", "--user")]
Left = Annotated[str, Opt("REASON", "It has left already: a fact against advice.", "--happened")]
