"""The recording commands, gathered: what each is called, what help says of it, and an example."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tankbook.cli import away, hold, reject, requalify


@dataclass(frozen=True, slots=True)
class Command:
    """A command's function, its line in the list of commands, and a line to run."""

    function: Callable[..., Any]
    briefly: str
    example: str


ACTS: dict[str, Command] = {
    "hold": Command(
        hold.hold,
        "Set cylinders aside until somebody decides.",
        'tankbook hold 14 --why "dent near the foot"',
    ),
    "release": Command(
        hold.release,
        "Let held cylinders go.",
        'tankbook release 16 --why "gauged by the requalifier"',
    ),
    "reject": Command(
        reject.reject,
        "Reject a cylinder, and tell its owner.",
        'tankbook reject 14 --why "line corrosion on the crown" --told letter',
    ),
    "condemn": Command(
        reject.condemn,
        "Record that a requalifier condemned a cylinder.",
        'tankbook condemn 14 --by T123 --why "neck crack" --marked CONDEMNED',
    ),
    "send": Command(
        away.send,
        "Send cylinders to a requalifier or repairer.",
        'tankbook send 14 15 --to "Northside Test House" --for requalification',
    ),
    "back": Command(
        away.back,
        "Have cylinders back from test or repair.",
        "tankbook back 14 15",
    ),
    "refit": Command(
        away.refit,
        "Record cylinders dried and refitted.",
        "tankbook refit 14 15",
    ),
    "requalify": Command(
        requalify.requalify,
        "Record requalifications, passed or failed.",
        'tankbook requalify 14 15 --on 2026-10 --by T123 --stamp "10 T123 26"',
    ),
}
"""Every recording command by its name, in the order help lists them."""
