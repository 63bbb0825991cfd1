"""A picture read back from its SVG: what its words say, and the scales that they make."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any, NamedTuple
from xml.etree import ElementTree

from tankbook.output.drawing import LETTER_WIDE, Drawing
from tankbook.output.svg import standing_alone

SVG = "{http://www.w3.org/2000/svg}"
MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()


class Word(NamedTuple):
    """A text of a picture: where it stands, its size, and how it is anchored."""

    said: str
    x: float
    y: float
    size: float
    anchor: str
    bold: bool

    @property
    def box(self) -> tuple[float, float, float, float]:
        """About what it covers: left, top, right, bottom."""
        wide = len(self.said) * self.size * LETTER_WIDE
        left = self.x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor]
        return left, self.y - self.size * 0.72, left + wide, self.y


class Seen(NamedTuple):
    """A picture as it was read."""

    root: Any
    words: list[Word]
    circles: list[tuple[float, float, str]]
    traces: list[dict[str, Any]]
    boxes: list[tuple[float, float, float, float, str]]


def seen(*drawings: Drawing) -> Seen:
    """The picture, parsed as any program would."""
    text = standing_alone(drawings)
    text.encode("utf-8")
    root = ElementTree.fromstring(text)
    return Seen(
        root,
        [_word(e) for e in root.iter(f"{SVG}text")],
        [
            (float(e.get("cx", 0)), float(e.get("cy", 0)), str(e.get("fill")))
            for e in root.iter(f"{SVG}circle")
        ],
        [
            {"points": _points(e), "weight": float(e.get("stroke-width", 0)),
             "dash": e.get("stroke-dasharray", "")}
            for e in root.iter(f"{SVG}polyline")
        ],
        [_box(e) for e in root.iter(f"{SVG}polygon")],
    )  # fmt: skip


def _word(e: Any) -> Word:
    return Word(
        e.text or "",
        float(e.get("x")),
        float(e.get("y")),
        float(e.get("font-size")),
        e.get("text-anchor", "start"),
        e.get("font-weight") == "700",
    )


def _points(e: Any) -> list[tuple[float, float]]:
    return [tuple(map(float, pair.split(","))) for pair in e.get("points").split()]  # type: ignore[misc]


def _box(e: Any) -> tuple[float, float, float, float, str]:
    xs, ys = zip(*_points(e), strict=True)
    return min(xs), min(ys), max(xs), max(ys), str(e.get("fill"))


def heights(found: Seen, x: float = 41.0, top: float = 0.0, foot: float = 1e9) -> Any:
    """From a height back to a value, by the figures written along the left of a frame."""
    marks = [
        (w.y - w.size * 0.36, float(w.said))
        for w in found.words
        if w.anchor == "end" and abs(w.x - x) < 0.01 and re.fullmatch(r"[\d.e+]+", w.said)
        and top <= w.y <= foot
    ]  # fmt: skip
    (low, small), (high, large) = marks[0], marks[-1]
    return lambda y: small + (large - small) * (y - low) / (high - low)


def moments(found: Seen) -> Any:
    """From a place across back to a moment, by the words along the foot of the first frame; None
    where fewer than two are written."""
    rows = sorted({w.y for w in found.words if w.anchor == "middle" and not w.bold})
    for y in rows:
        ticks = [w for w in found.words if w.y == y and w.anchor == "middle" and not w.bold]
        below = {w.x: w.said for w in found.words if w.bold and 0 < w.y - y < 20}
        under, marks = "", []
        for tick in ticks:
            under = below.get(tick.x, under)
            if (at := _moment(tick.said, under)) is not None:
                marks.append((tick.x, (at - dt.datetime(1970, 1, 1)).total_seconds()))  # noqa: DTZ001
        if len(marks) > 1:
            (a, first), (b, last) = marks[0], marks[-1]
            return lambda x: first + (last - first) * (x - a) / (b - a)
    return None


def _moment(said: str, under: str) -> dt.datetime | None:
    """What a word along the foot means with the one below it."""
    if re.fullmatch(r"\d\d:\d\d", said) and under:
        day, month, year = under.split()
        hour, minute = map(int, said.split(":"))
        return dt.datetime(int(year), MONTHS.index(month) + 1, int(day), hour, minute)  # noqa: DTZ001
    if said in MONTHS and under:
        return dt.datetime(int(under), MONTHS.index(said) + 1, 1)  # noqa: DTZ001
    if re.fullmatch(r"\d{1,2} [A-Z][a-z]{2}", said) and under:
        day, month = said.split()
        return dt.datetime(int(under), MONTHS.index(month) + 1, int(day))  # noqa: DTZ001
    return dt.datetime(int(said), 1, 1) if re.fullmatch(r"\d{4}", said) else None  # noqa: DTZ001


def overlapping(found: Seen) -> list[tuple[str, str]]:
    """The words that lie on one another."""
    pairs = []
    for place, one in enumerate(found.words):
        for other in found.words[place + 1 :]:
            a, b = one.box, other.box
            across = a[0] < b[2] - 0.1 and b[0] < a[2] - 0.1
            if across and a[1] < b[3] - 0.1 and b[1] < a[3] - 0.1:
                pairs.append((one.said, other.said))
    return pairs


def outside(found: Seen) -> list[str]:
    """The words that run out of the picture."""
    box = [float(n) for n in str(found.root.get("viewBox")).split()]
    edges = ((w.said, w.box) for w in found.words)
    return [s for s, (a, b, c, d) in edges if a < -0.5 or c > box[2] + 0.5 or b < 0 or d > box[3]]
