"""Which commits a ledger had at a moment, worked out from parents and dates that may be wrong.

Along the first parents, the dates that fit together most are believed. A commit dated otherwise was
made some time between those around it, and it is not known when: with it and without it are two
heads of that time. Where not twice as many dates of a stretch fit together as do not, none of them
is known better than the other: each lies between the nearest that are right, whichever clock is.
What came in by a merge was made no later than that.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import accumulate

from msgspec import Struct

_DAY = 24 * 3600
_HOUR = 3600
"""Clocks that are no further apart leave nothing open."""
_NEVER = 1 << 62


class KnownCommit(Struct, frozen=True):
    """A commit by its name, its parents, and its committer's and author's date in seconds."""

    id: str
    parents: tuple[str, ...]
    at: int
    authored: int | None = None


class Head(Struct, frozen=True):
    """A commit that was the latest of a line of descent at a moment, or may have been.

    `merged_in` is the commit that merged it later, empty where it lies along the first parents.
    `doubt` is the commit whose dates leave it open: what may have been made later than the moment,
    or the head itself, which may have been made by then.
    """

    id: str
    merged_in: str
    doubt: str = ""


class Then(Struct, frozen=True):
    """The commit along the first parents that counted at a moment, and the other heads."""

    base: str
    others: tuple[Head, ...]


class _MadeBetween(Struct, frozen=True):
    """Between when a commit was made; one that is known for sure has no doubt."""

    low: int
    high: int


def heads_at(
    commits: Sequence[KnownCommit], tip: str, moment: int, until: int | None = None
) -> Then | None:
    """The heads there were at a moment; None where nothing was surely committed yet.

    Args:
        commits: every commit up to the tip, parents first.
        tip: the commit whose history it is.
        moment: seconds, included.
        until: the end of today: what is dated later has a wrong date, unless the moment itself is.
    """
    known = {c.id: c for c in commits}
    chain = list(_first_parents(known, tip))
    bound = _NEVER if until is None or moment > until else until
    every, believed = _spans(chain, bound)
    place = bisect_right(believed, moment) - 1
    first = bisect_right([s.high for s in every], moment) - 1
    last = bisect_right([s.low for s in every], moment) - 1
    if first < 0:
        return None
    heads = [Head(chain[i].id, "", doubt=chain[i].id) for i in range(last, place, -1)]
    heads += [Head(chain[i].id, "", doubt=chain[i + 1].id) for i in range(place - 1, first - 1, -1)]
    spans = dict(zip((c.id for c in chain), every, strict=True))
    seen = set(_ancestors(known, chain[first]))
    merges: dict[str, str] = {}
    for merge, names in _beside(known, chain[first + 1 :], seen):
        _date(known, names, merge, spans)
        merges |= dict.fromkeys(names, merge)
    found = [name for name in merges if spans[name].low <= moment]
    below = {p for name in found if spans[name].high <= moment for p in known[name].parents}
    for name in found:
        if name not in below:
            doubt = name if spans[name].high > moment else ""
            heads.append(Head(name, merges[name], doubt))
    after = [c.id for c in chain[last + 1 :]] + [n for n in merges if n not in found]
    heads += _written(known, after, merges, moment)
    return Then(chain[place].id, tuple(heads))


def _written(
    known: Mapping[str, KnownCommit], later: Sequence[str], merges: Mapping[str, str], moment: int
) -> Iterator[Head]:
    """What had been written by a moment by its author's date, and was committed anew after it."""
    every = (known[name] for name in later)
    found = [c for c in every if (c.authored or _NEVER) <= moment and len(c.parents) < 2]
    below = {p for c in found for p in c.parents}
    for commit in found:
        if commit.id not in below:
            yield Head(commit.id, merges.get(commit.id, ""), doubt=commit.id)


def _date(
    known: Mapping[str, KnownCommit],
    names: Sequence[str],
    merge: str,
    spans: dict[str, _MadeBetween],
) -> None:
    """Say between when each commit was made that a merge brought in, parents first.

    A date that contradicts no other is believed, one that does leaves all open that lies between.
    """
    last = spans[merge]
    lows: dict[str, int] = {}
    dates: dict[str, int] = {}
    """Those that contradict nothing."""
    for name in names:
        commit = known[name]
        there = (spans[p].low if p in spans else lows.get(p, 0) for p in commit.parents)
        lows[name] = low = min(max(there, default=0), last.high)
        if low - _HOUR <= commit.at <= last.high + _HOUR and not _doubtful(commit):
            dates[name] = min(max(commit.at, low), last.high)
    soonest = dict.fromkeys(names, last.high)
    for name in reversed(names):
        if name in dates:
            soonest[name] = min(soonest[name], dates[name])
        for parent in known[name].parents:
            if parent in soonest:
                soonest[parent] = min(soonest[parent], soonest[name])
    for name in names:
        before = [spans[p] for p in known[name].parents if p in spans]
        low = max((s.low for s in before), default=0)
        high = max((s.high for s in before), default=0)
        if name not in dates:
            spans[name] = _MadeBetween(min(low, last.high), last.high)
            continue
        latest = min(max(dates[name], high), last.high)
        spans[name] = _MadeBetween(min(max(soonest[name], low), latest), latest)


def _doubtful(commit: KnownCommit) -> bool:
    """Whether a commit was written after it was committed, by its two dates."""
    return commit.authored is not None and commit.authored - commit.at > _DAY


def _first_parents(known: Mapping[str, KnownCommit], tip: str) -> Iterator[KnownCommit]:
    chain = []
    here = known.get(tip)
    while here is not None:
        chain.append(here)
        here = known.get(here.parents[0]) if here.parents else None
    return reversed(chain)


def _ancestors(known: Mapping[str, KnownCommit], start: KnownCommit) -> Iterator[str]:
    """A commit and all that are reachable from it."""
    left, seen = [start.id], {start.id}
    while left:
        name = left.pop()
        yield name
        for parent in known[name].parents:
            if parent in known and parent not in seen:
                seen.add(parent)
                left.append(parent)


def _beside(
    known: Mapping[str, KnownCommit], later: Sequence[KnownCommit], seen: set[str]
) -> Iterator[tuple[str, list[str]]]:
    """Each merge among later commits along the first parents, and what it brought in, parents
    first."""
    for merge in later:
        seen.add(merge.id)
        order: list[str] = []
        left = [(p, False) for p in merge.parents[1:] if p in known]
        while left:
            name, done = left.pop()
            if done:
                order.append(name)
            elif name not in seen:
                seen.add(name)
                left.append((name, True))
                left += [(p, False) for p in known[name].parents if p in known]
        yield merge.id, order


def _spans(chain: Sequence[KnownCommit], bound: int) -> tuple[list[_MadeBetween], list[int]]:
    """Between when each commit of a line of descent was made, and when by the dates that fit
    together most; none of these ever goes back.

    Those before the first that is believed count as that: nothing is answered from before it.
    """
    places = [i for i, c in enumerate(chain) if c.at <= bound and not _doubtful(c)]
    dates = list(_smooth(chain[i].at for i in places))
    dated = dict(zip(places, dates, strict=True))
    fit = _longest(dates)
    found = dict(zip(places, _fitting(dates, fit, bound), strict=True))
    lows, highs = _both_ends([found.get(i) for i in range(len(chain))], bound)
    fits = {places[i] for i in fit}
    at = dated[min(fits)] if fits else bound
    believed = []
    for i in range(len(chain)):
        at = dated[i] if i in fits else at
        believed.append(at)
    return [_MadeBetween(*ends) for ends in zip(lows, highs, strict=True)], believed


def _both_ends(spans: Sequence[_MadeBetween | None], bound: int) -> tuple[list[int], list[int]]:
    """The soonest and the latest that each commit can have been made, none before the one before
    it; one of which nothing is known lies between its neighbours."""
    sure = [s for s in spans if s is not None]
    low, high = min((s.low for s in sure), default=bound), bound
    lows, highs = [], []
    for span in spans:
        low = span.low if span is not None else low
        lows.append(low)
    for span in reversed(spans):
        high = span.high if span is not None else high
        highs.append(high)
    lows = list(accumulate(reversed(lows), min))[::-1]
    return lows, list(accumulate(reversed(highs), max))


def _fitting(dates: Sequence[int], fit: Collection[int], bound: int) -> list[_MadeBetween | None]:
    """What dates tell of when each was: the date itself where it fits, nothing where it does not.

    In a stretch where as good as nothing is known, either those ahead are wrong or those behind:
    each was made between its nearest neighbours that are right by one of the two.
    """
    size = len(dates)
    soonest = list(accumulate(reversed(dates), min))[::-1]
    latest = list(accumulate(dates, max))
    unclear: list[range] = []
    start = 0
    for end in range(1, size + 1):
        if end < size and latest[end - 1] > soonest[end]:
            continue  # some date before is later than one after
        good = sum(i in fit for i in range(start, end))
        if good < 2 * (end - start - good):
            unclear.append(range(start, end))
        start = end
    doubted = {i for places in unclear for i in places}
    unless_behind = [d == latest[i] if i in doubted else i in fit for i, d in enumerate(dates)]
    unless_ahead = [d == soonest[i] if i in doubted else i in fit for i, d in enumerate(dates)]
    highs = _latest(dates, unless_behind, unclear, bound)
    turned = [range(size - p.stop, size - p.start) for p in unclear]
    backwards = [-d for d in reversed(dates)]
    lows = _latest(backwards, unless_ahead[::-1], turned, -min(dates, default=0))
    spans = (_MadeBetween(-low, high) for low, high in zip(reversed(lows), highs, strict=True))
    return [span if i in doubted or i in fit else None for i, span in enumerate(spans)]


def _latest(
    dates: Sequence[int], right: Sequence[bool], unclear: Iterable[range], bound: int
) -> list[int]:
    """The latest that each was made, where some dates are right and the others are behind: the
    date of the next that is right.

    One after the last that is right of its stretch was behind by no more than those before, where
    these tell of one clock that was behind by as much all the while.
    """
    pairs = list(zip(dates, right, strict=True))
    before = list(accumulate((d if ok else -_NEVER for d, ok in pairs), max))
    after = list(accumulate((d if ok else bound for d, ok in reversed(pairs)), min))[::-1]
    for stretch in unclear:
        last = max(i for i in stretch if right[i])
        between = [i for i in stretch if not right[i] and i < last]
        trailing = range(last + 1, stretch.stop)
        if len({after[i] for i in between}) < 2:
            continue  # one gap tells nothing of a clock
        most = [after[i] - dates[i] for i in between]
        if max(before[i] - dates[i] for i in (*between, *trailing)) <= min(most):
            for i in trailing:
                after[i] = min(after[i], dates[i] + max(most) + _HOUR)
    return after


def _smooth(dates: Iterable[int]) -> Iterator[int]:
    """Dates, without going back where clocks are a little apart."""
    last = -_NEVER
    for at in dates:
        last = last if last - _HOUR <= at < last else at
        yield last


def _longest(dates: Sequence[int]) -> set[int]:
    """The places of the most dates of which none is earlier than one before it.

    Of as many the earlier ones stay: looked for from the end, where a smaller date fits before
    more.
    """
    tails: list[int] = []
    values: list[int] = []
    before: list[int] = [-1] * len(dates)
    for place in range(len(dates) - 1, -1, -1):
        at = bisect_right(values, -dates[place])
        before[place] = tails[at - 1] if at else -1
        if at == len(tails):
            tails.append(place)
            values.append(-dates[place])
        else:
            tails[at], values[at] = place, -dates[place]
    found: set[int] = set()
    place = tails[-1] if tails else -1
    while place >= 0:
        found.add(place)
        place = before[place]
    return found
