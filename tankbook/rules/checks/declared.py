"""How a check is declared: its code, how grave it is, and what it is given to look at.

A check is a function of the parts it names. `card` is one cylinder, `doubles` one set, `lines`
the lines of the log of one of them; every other parameter is a part of the records listed in
`parts.py`. It is given those and nothing else, so that
what it reads is written in its signature.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from enum import StrEnum
from typing import Any, NamedTuple, TypeAlias

from msgspec import Struct

from tankbook.records.node import Severity, Where

FAULT, WARN, ADVICE = Severity.FAULT, Severity.WARN, Severity.ADVICE


class Scope(StrEnum):
    """What a check is asked of. Those of what is unread repeat for an answer what reading has said
    already: `validate` leaves them out."""

    CYLINDER = "cylinder"
    SET = "set"
    LINES = "lines"
    LOG = "log"
    STATION = "station"
    SETTINGS = "settings"
    RULES = "rules"
    FILES = "files"
    UNREAD = "unread"


class Says(NamedTuple):
    """What a check found. `touches` and `severity` are the check's own where None; `missing` is the
    cylinder or set without a card that it is about."""

    where: Where
    text: str
    mend: str = ""
    severity: Severity | None = None
    touches: tuple[str, ...] | None = None
    missing: str = ""


Find: TypeAlias = Callable[..., Iterator[Says]]


class Check(Struct, frozen=True):
    """One thing that can be wrong.

    Attributes:
        code: its short stable word.
        gravity: the gravest it finds; a single finding may be less grave, never more.
        scope: what it is asked of.
        reads: the parts it is given, as named in its signature.
        touches: what it touches where it does not say otherwise; None: its own cylinder or set.
        find: the function.
        since: the version that first refused for it; empty where it always did.
        adverse: it is of what was found or happened, not of two records that say two things.
    """

    code: str
    gravity: Severity
    scope: Scope
    reads: tuple[str, ...]
    touches: tuple[str, ...] | None
    find: Find
    since: str
    adverse: bool = False

    @property
    def doc(self) -> str:
        """What it says, in a line."""
        return (self.find.__doc__ or "").strip().split("\n")[0]


CHECKS: dict[str, Check] = {}
"""Every check, by its code."""


def _declares(
    scope: Scope, touches: tuple[str, ...] | None
) -> Callable[..., Callable[[Find], Find]]:
    def declare(
        code: str, gravity: Severity, *, since: str = "", adverse: bool = False
    ) -> Callable[[Find], Find]:
        def register(find: Find) -> Find:
            code_of: Any = find.__code__
            reads = code_of.co_varnames[: code_of.co_argcount]
            if code in CHECKS:
                raise ValueError(f"two checks are called {code}")
            CHECKS[code] = Check(code, gravity, scope, reads, touches, find, since, adverse)
            return find

        return register

    return declare


EVERYTHING = ("*",)
on_cylinder = _declares(Scope.CYLINDER, None)
on_set = _declares(Scope.SET, None)
on_lines = _declares(Scope.LINES, None)
on_log = _declares(Scope.LOG, ())
on_station = _declares(Scope.STATION, EVERYTHING)
on_settings = _declares(Scope.SETTINGS, ())
on_rules = _declares(Scope.RULES, EVERYTHING)
on_files = _declares(Scope.FILES, ())
on_unread = _declares(Scope.UNREAD, ())
