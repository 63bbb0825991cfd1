"""The recording commands, gathered: what each is called, what help says of it, and an example."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tankbook.cli import (
    away,
    book_in,
    correct,
    fill,
    hold,
    inspect,
    reading,
    reject,
    requalify,
    sticker,
    tidy,
)


@dataclass(frozen=True, slots=True)
class Command:
    """A command's function, its line in the list of commands, and a line to run."""

    function: Callable[..., Any]
    briefly: str
    example: str


ACTS: dict[str, Command] = {
    "book-in": Command(
        book_in.book_in,
        "Book in one cylinder or a delivery.",
        'tankbook book-in --marks "DOT-3AL 3000 K200001 09A26" --use sale',
    ),
    "inspect": Command(
        inspect.inspect,
        "Inspect a cylinder by a checklist.",
        "tankbook inspect 14 --pass-all --neck-thread SP12 --valve-thread SP12",
    ),
    "sticker": Command(
        sticker.sticker,
        "Put a withheld sticker on, or void a number.",
        "tankbook sticker 51",
    ),
    "fill": Command(
        fill.fill,
        "Log fills.",
        "tankbook fill 14 15=2980 --to 3000 --source B1 --looked",
    ),
    "reading": Command(
        reading.reading,
        "Log what gauges show.",
        "tankbook reading 14=1200",
    ),
    "drain": Command(
        reading.drain,
        "Log that gas was let out.",
        "tankbook drain 14=3000 --from 3200",
    ),
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
    "correct": Command(
        correct.correct,
        "Strike out what is wrong, enter what is right.",
        "tankbook correct 14 fill 2026-11-20 --why misread --set to=2950",
    ),
    "tidy": Command(
        tidy.tidy,
        "Put the fill log in order after a merge.",
        "tankbook tidy --dry-run",
    ),
}
"""Every recording command by its name, in the order help lists them."""
