"""When a hand drains separators that a plan says are drained every so many minutes, and how near to a
turn of the compressor. Read from the JSON alone."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any, NamedTuple

Json = dict[str, Any]

RUNS, STANDS = {"start", "load", "keep"}, {"stop", "unload"}
NEAR = 1.0
"""Minutes: what is nearer to another turn no hand does as it is told."""


class Turned(NamedTuple):
    """What is done of the compressor, so many minutes into the session, in a step."""

    at: float
    what: str
    step: int


def lasts(made: Json, step: Json) -> float:
    """The minutes of a step; connecting takes those of its load."""
    handling = {load["number"]: load["handling_minutes"] for load in made["loads"]}
    return float(step["minutes"]) + (handling[step["load"]] if step["act"] == "connect" else 0.0)


def turns_in(step: Json, over: float) -> Iterator[tuple[float, str]]:
    """What is turned of the compressor in a step, in order: what has no minutes of its own is when
    what is watched before it is over."""
    watched = [move["minutes"] for move in step["moves"] if move["turn"] == "watch"]
    flows, now, found = over - sum(watched), 0.0, []
    for move in step["moves"]:
        if move["turn"] == "watch":
            now, flows = now + flows + move["minutes"], 0.0
        elif move["part"] == "separators" and not move["minutes"]:
            found.append((now, "drain"))
        elif move["part"] == "compressor" and move["turn"] in RUNS | STANDS:
            found.append((move["minutes"] or now, move["turn"]))
        elif move["part"] == "feed valve" and move["turn"] != "keep":
            found.append((move["minutes"] or now, f"{move['turn']} {move['name']}"))
    yield from sorted(found, key=lambda each: each[0])


def worked(made: Json) -> tuple[list[Turned], list[Turned]]:
    """The drainings that are told as every so many minutes, each when it comes, and all turns of
    the compressor with the other drainings."""
    began, runs, drained, turned = 0.0, False, list[Turned](), list[Turned]()
    for step in made["steps"]:
        over, number = lasts(made, step), step["number"]
        told = [int(m["minutes"]) for m in step["moves"] if m["turn"] == "drain" and m["minutes"]]
        every, since, now = max(told, default=0), 0.0, 0.0
        for at, what in [*turns_in(step, over), (over, "")]:
            while runs and every and since + at - now >= every - 1e-6:
                now, since = now + every - since, 0.0
                if now < over - 1e-6:
                    drained.append(Turned(began + now, "drain", number))
            since, now = since + (at - now) * runs, at
            runs = what in RUNS or (runs and what not in STANDS)
            since = 0.0 if what == "drain" else since
            if what and what != "keep":
                turned.append(Turned(began + at, what, number))
        began += over
    return drained, turned


def too_near(made: Json) -> list[tuple[Turned, Turned]]:
    """Drainings within a minute of another turn of the compressor, or of the next draining."""
    drained, turned = worked(made)
    pairs = [(each, other) for each in drained for other in turned]
    pairs += pairwise(drained)
    return [(a, b) for a, b in pairs if abs(a.at - b.at) < NEAR - 1e-6]
