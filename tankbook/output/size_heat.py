"""What the fills that were read again tell of the heat of each size, for people and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from tankbook.filling.nouns import SizeHeat
from tankbook.filling.plan_form import size_form
from tankbook.filling.read_again import FillReadAgain, NotCounted
from tankbook.filling.size_heat import ToldOfSize
from tankbook.output.page import Page, counted
from tankbook.output.tables import PRESSURE, Column, Table


def every_said(sizes: Sequence[SizeHeat], page: Page) -> Iterator[str]:
    """Which values a plan took for each size; those that are as shipped in one sentence."""
    yield from (said(size, page) for size in sizes if size.fills)
    shipped = [str(size.kind) for size in sizes if not size.fills]
    if shipped:
        whose = "it" if len(shipped) == 1 else "them"
        yield (
            f"Heat of {', '.join(shipped)}: shipped values; no fill tells of {whose} "
            "(`fills --settled` says why)."
        )


def said(size: SizeHeat, page: Page) -> str:
    """Which values a plan took for a size, from what, and how sure they are."""
    head = f"Heat of {size.kind}:"
    if not size.fills:
        return f"{head} shipped values; no fill tells of it."
    whose = f" of {counted(size.cylinders, 'cylinder')}" if size.cylinders > 1 else ""
    many = f"{counted(size.fills, 'fill')}{whose} that {_was(size.fills)} read again"
    return f"{head} from {many}: {_settles(size, page)}."


def _was(count: int) -> str:
    return "was" if count == 1 else "were"


def _settles(size: SizeHeat, page: Page) -> str:
    start, stop, below, least, most, shipped = (
        "-" if p is None else page.whole(p)
        for p in (
            size.start, size.stop, size.below, size.least, size.most, size.shipped_below,
        )
    )  # fmt: skip
    return (
        f"{start} to {stop} settles {below} below its stop, {least} to {most}; by the shipped "
        f"values {shipped}"
    )


def briefly(size: SizeHeat) -> str:
    """`11 L aluminium by 14 fills`, for the card."""
    how = f"by {counted(size.fills, 'fill')}" if size.fills else "as shipped"
    return f"{size.kind} {how}"


# --- fills --settled


def _after(minutes: float) -> str:
    """`35 min`, `14 h`, `3 days`."""
    if minutes < 120:
        return f"{minutes:.0f} min"
    return f"{minutes / 60:.0f} h" if minutes < 48 * 60 else f"{minutes / 1440:.0f} days"


Told = tuple[FillReadAgain, float | None]

COLUMNS = Table[Told](
    Column("at", lambda t: t[0].filled.at, "filled", lambda at: f"{at:%Y-%m-%d %H:%M}", wrap=True),
    Column("id", lambda t: t[0].id, "id"),
    Column("from", lambda t: t[0].filled.from_, "from", reading=Page.whole, units=PRESSURE,
           right=True),
    Column("stop", lambda t: t[0].filled.to, "stop", reading=Page.whole, units=PRESSURE,
           right=True),
    Column("read_at", lambda t: t[0].read and t[0].read.at),
    Column("minutes", lambda t: t[0].minutes, "after", _after, right=True),
    Column("read", lambda t: t[0].read and t[0].read.to, "read", reading=Page.whole,
           units=PRESSURE, right=True),
    Column("weight", lambda t: t[1], "counts", lambda w: f"{w:.0%}", right=True),
    Column("why_not", lambda t: t[0].why and t[0].why.value),
)  # fmt: skip
"""What is said of a fill that was read again. Pressures are gauge; `minutes` are those from the
fill to the reading."""

SHOWN = COLUMNS.pick("filled", "id", "from", "stop", "after", "read", "counts")
MOST_NAMED = 6
"""So many fills are named that do not count for one reason, the newest; JSON has all."""


def data(sizes: Sequence[ToldOfSize], unit: str) -> dict[str, Any]:
    """The JSON shape of `fills --settled`."""
    return {
        "unit": unit,
        "counted": sum(each.size.fills for each in sizes),
        "sizes": [
            {**size_form(each.size, unit), "read_again": COLUMNS.objects(each.fills)}
            for each in sizes
        ],
    }


MEND = (
    "To tell a plan how warm your cylinders get, log a fill as its gauge stops, without "
    "--temperature or by `fill --plan`, and read it again once it is cool (`tankbook reading`)."
)
HOW = (
    "Each size's films and wall are those that make these readings likeliest, beside the shipped "
    "values, which weigh as much as their band is wide. What a reading is off by more than gauge, "
    "room and bank explain counts less. `docs/fill-planning.md` has the rest."
)


def text(sizes: Sequence[ToldOfSize], page: Page) -> str:
    """What fills settled to, for people."""
    every, good = sum(len(each.fills) for each in sizes), sum(each.size.fills for each in sizes)
    head = f"{good} of {counted(every, 'fill')} that {_was(every)} read again tell of the heat"
    if not every:
        head = "No fill was read again once it had cooled: a plan takes the shipped values"
    parts = ["\n".join(_of_size(each, page)) for each in sizes]
    return page.answer(head, *parts, page.wrap(HOW if good else MEND))


def _of_size(each: ToldOfSize, page: Page) -> Iterator[str]:
    yield page.wrap(said(each.size, page), hang="  ")
    if each.size.fills:
        told = ", ".join(each.size.told) or "little; what is shipped holds"
        yield page.wrap(
            f"They tell of: {told}. Taken: gas to wall {each.size.inner:.0f}, wall to air "
            f"{each.size.outer:.1f} W/(m2 K), wall {each.size.wall:.0%} of what its mass takes.",
            hang="  ",
        )
    if each.size.fills:
        yield SHOWN.text([told for told in each.fills if told[0].why is None], page)
    passed: dict[NotCounted, list[str]] = {}
    for fill, _ in each.fills:
        if fill.why is not None:
            passed.setdefault(fill.why, []).append(f"{fill.id} {fill.filled.at.date()}")
    for why, named in sorted(passed.items(), key=lambda pair: (-len(pair[1]), pair[0])):
        more = [f"{len(named) - MOST_NAMED} more"] if len(named) > MOST_NAMED else []
        yield page.items(f"Not counted ({len(named)}): {why}", [*named[-MOST_NAMED:], *more])
