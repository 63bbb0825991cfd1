"""What a ledger's files and folders are called, where it is found, and what an id's tail means.

Names and paths arrive from outside, so both are suspected."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from itertools import groupby
from pathlib import Path
from string import digits
from typing import NamedTuple

from tankbook.ledger.errors import LedgerError
from tankbook.records.audited import AUDITED_PATH
from tankbook.records.counter import COUNTER_FILE
from tankbook.records.kinds import is_safe_id as is_safe_id
from tankbook.units.patterns import pattern

SETTINGS_FILE = "tankbook.yaml"
STATION_FILE = "station.yaml"
SINGLE = (SETTINGS_FILE, STATION_FILE, COUNTER_FILE, AUDITED_PATH)
"""The files beside the folders that do not go without a word."""

ENDINGS = {
    "cylinders": ".yaml",
    "sets": ".yaml",
    "rules": ".yaml",
    "checklists": ".yaml",
    "fills": ".csv",
}
"""The folders whose files do not go without a word, with how their names end."""
CARDS = ("cylinders", "sets")
LOGS = "fills"


SHOWN = 8
"""So many ids are named; the rest are counted."""


def find_root(start: Path) -> Path:
    """The ledger that `start` lies in: the nearest folder upward that holds tankbook.yaml.

    Raises:
        LedgerError: there is none.
    """
    for folder in (start, *start.parents):
        if os.path.lexists(folder / SETTINGS_FILE):
            return folder
    for folder in (start, *start.parents):
        with suppress(OSError):
            raise_misspelt(str(folder), [each.name for each in folder.iterdir()])
    text = f"no {SETTINGS_FILE} here or in any folder above"
    raise LedgerError(
        str(start), text, "name the ledger with --ledger DIR, or make one with `tankbook init DIR`"
    )


_NEAR = 0.85
"""How much a name is like that of the settings, by the ratio of difflib, to be a slip of it (own
choice)."""


def raise_misspelt(where: str, names: Iterable[str]) -> None:
    """Say of a folder without settings that a file of it is called nearly so.

    Raises:
        LedgerError: there is such a file.
    """
    from difflib import get_close_matches

    small = {name.casefold(): name for name in names}
    near = get_close_matches(SETTINGS_FILE, small, n=1, cutoff=_NEAR)
    if near:
        text = f"there is no {SETTINGS_FILE}, and a file {small[near[0]]!a}"
        raise LedgerError(where, text, f"name that {SETTINGS_FILE} where it is the ledger's")


def tops(root: Path) -> Iterator[tuple[Path, tuple[str, ...]]]:
    """The folders with a `.git` in them that a ledger lies in or below, the nearest first, and the
    way from each to the ledger.

    A folder reached through a symbolic link is looked for where the link lies, then where it leads.
    """
    written, real = Path(os.path.abspath(root)), Path(os.path.realpath(root))  # noqa: PTH100
    seen = set()
    for start in (written, real) if written.exists() and written.samefile(real) else (real,):
        for top in (start, *start.parents):
            place = Path(os.path.realpath(top)), start.relative_to(top).parts
            if os.path.lexists(place[0] / ".git") and place not in seen:
                seen.add(place)
                yield place


def resolve_among(known: Sequence[str], text: str, serials: Iterable[tuple[str, str]] = ()) -> str:
    """As `resolve`, among ids that are known, and pairs of id and serial.

    A number stands for an id that ends in it, whatever zeros are before it, and so do its letters
    and its number: `RB4`, `rb-4` and `rb 4` for `RB-004`.

    Raises:
        LedgerError: no id, or more than one, ends so.
    """
    if text in known:
        return text
    wanted = text.casefold()
    exact = [k for k in known if k.casefold() == wanted]
    number = wanted.lstrip("0") if wanted.isdigit() else ""
    asked = _numbered(text)
    tails = exact or [
        k
        for k in known
        if k.casefold().endswith(wanted)
        or (number and _tail_number(k) == number)
        or (asked is not None and asked.letters and asked == _numbered(k))
    ]
    tails = tails or [id_ for id_, serial in serials if serial.casefold() == wanted]
    if len(tails) == 1:
        return tails[0]
    if not tails and _RANGE.fullmatch(text):
        raise LedgerError(text, "this is a range, and one is asked for", "name one of them")
    if not tails and "," in text:
        apart = " ".join(part for part in text.split(",") if part)
        raise LedgerError(text, "no id has a comma", f"leave a blank between two: `{apart}`")
    if not tails:
        like = [k for k in known if asked is not None and _ends_like(_numbered(k), asked)]
        mend = "`tankbook list` shows them all"
        if asked is not None and like:
            mend = f"write more of it: {', '.join(sorted(like)[:SHOWN])} end in {asked.number}"
        raise LedgerError(text, "no cylinder or set of this ledger ends so", mend)
    shown = ", ".join(sorted(tails)[:SHOWN])
    raise LedgerError(text, f"{len(tails)} ids end so: {shown}", "write more of it")


def _ends_like(id_: _Numbered | None, asked: _Numbered) -> bool:
    """Whether an id has the letters that were asked for, and a longer number that ends so."""
    alike = id_ is not None and bool(asked.letters) and id_.letters == asked.letters
    return alike and id_ is not None and str(id_.number).endswith(str(asked.number))


def _tail_number(id_: str) -> str:
    return id_[len(id_.rstrip(digits)) :].lstrip("0")


# --- ranges of ids -------------------------------------------------------------------------------

LONGEST_RANGE = 500
"""Ids in one range; a longer one is taken for a slip, as of serials."""

_RANGE = pattern(r"([^=/]*?)\.\.([^=/]*)([=/].*)?", re.DOTALL)
_ENDS_IN_DIGITS = pattern(r"(.*?)([0-9]{1,9})")
_BETWEEN = pattern(r"[\s._-]+")


class _Numbered(NamedTuple):
    """An id as its letters, in small ones and without what stands between them and its number."""

    letters: str
    number: int


def _numbered(text: str) -> _Numbered | None:
    """An id, or what stands for one, by its letters and its number; None where it ends in none."""
    # a line break or another sign that nobody sees is no slip of the keys
    found = _ENDS_IN_DIGITS.fullmatch(text.strip()) if text.isprintable() else None
    return _Numbered(_BETWEEN.sub("", found[1]).casefold(), int(found[2])) if found else None


def spread_range(known: Sequence[str], text: str, serials: Iterable[str] = ()) -> tuple[str, ...]:
    """A range as the ids that it stands for, each with what was said of all of them: `1..3=500` is
    `RB-001=500`, `RB-002=500`, `RB-003=500`. Any other text is left as it is.

    The letters may be said once, `RB1..12`, or not at all where one series alone has such numbers.

    Raises:
        LedgerError: an end has no number, the range runs backward, is longer than `LONGEST_RANGE`
            or of more than one series, or not every id of it is there.
    """
    found = _RANGE.fullmatch(text)
    if not found or text.casefold() in {s.casefold() for s in serials}:
        return (text,)
    said = f"{found[1].strip()}..{found[2].strip()}"
    first, last = _numbered(found[1]), _numbered(found[2])
    if first is None or last is None:
        raise LedgerError(said, "both ends of a range end in a number", "as in SF-001..SF-012")
    letters = {end.letters for end in (first, last) if end.letters}
    if len(letters) > 1:
        raise LedgerError(said, "its ends are of two series", "give a range of each by itself")
    if last.number < first.number:
        raise LedgerError(said, "it runs backward", "give the lower number first")
    if last.number - first.number >= LONGEST_RANGE:
        raise LedgerError(said, f"it is of more than {LONGEST_RANGE} ids", "give shorter ones")
    series = _series(known, letters, range(first.number, last.number + 1))
    if not series:
        mend = "`tankbook list` shows them all"
        raise LedgerError(said, "no cylinder or set of this ledger is in it", mend)
    if len(series) > 1:
        named_ = "; ".join(_runs(ids) for ids in series.values())
        one = next(iter(next(iter(series.values())).values()))
        mend = f"write the letters, as in {one.rstrip(digits)}{first.number}..{last.number}"
        raise LedgerError(said, f"it may be of {len(series)} series: {named_}", mend)
    ids = next(iter(series.values()))
    lacking = [n for n in range(first.number, last.number + 1) if n not in ids]
    if lacking:
        raise LedgerError(said, _not_there(ids, lacking), f"write {_runs(ids)}")
    return tuple(f"{ids[number]}{found[3] or ''}" for number in sorted(ids))


def _series(
    known: Sequence[str], letters: Collection[str], numbers: range
) -> dict[str, dict[int, str]]:
    """The ids with such numbers, by the letters before them; of some letters where they are said.

    Raises:
        LedgerError: two ids differ in the writing of their number alone.
    """
    found: dict[str, dict[int, str]] = {}
    for id_ in sorted(known):
        each = _numbered(id_)
        if each is None or each.number not in numbers or (letters and each.letters not in letters):
            continue
        ids = found.setdefault(each.letters, {})
        if each.number in ids:
            two = f"{ids[each.number]} and {id_} have one number"
            raise LedgerError(id_, two, "name each by itself")
        ids[each.number] = id_
    return found


def _not_there(ids: Mapping[int, str], lacking: Sequence[int]) -> str:
    """Which ids of a range are not there, written as those that are."""
    like = next(iter(ids.values()))
    head, width = like.rstrip(digits), len(like) - len(like.rstrip(digits))
    names = [f"{head}{n:0{width}d}" for n in lacking[:SHOWN]]
    more = f" and {len(lacking) - SHOWN} more" if len(lacking) > SHOWN else ""
    return f"{', '.join(names)}{more} {'is' if len(lacking) == 1 else 'are'} not there"


def _runs(ids: Mapping[int, str]) -> str:
    """Ids as ranges without a gap, as they are typed: `RB-001..RB-003 RB-005`."""
    said: list[str] = []
    for _, run in groupby(enumerate(sorted(ids)), key=lambda pair: pair[1] - pair[0]):
        numbers = [number for _, number in run]
        ends = dict.fromkeys(ids[n] for n in (numbers[0], numbers[-1]))
        said.append("..".join(ends))
    more = " ..." if len(said) > SHOWN else ""
    return " ".join(said[:SHOWN]) + more


PRIVATE_FOLDER = ".tankbook"
"""Holds the lock and the journal; git ignores it."""
JOURNAL = f"{PRIVATE_FOLDER}/journal"

_CLOSED = {".git", PRIVATE_FOLDER}


def is_record(folder: str, name: str) -> bool:
    """Whether a file in a folder is read as a record or a log."""
    return name.endswith(ENDINGS[folder]) and not name.startswith(".")


def would_be_missed(path: str) -> bool:
    """Whether a file of the ledger, by its path in it, does not go without a word."""
    folder, _, name = path.rpartition("/")
    return path in SINGLE or (folder in ENDINGS and is_record(folder, name))


def within(root: Path, path: str) -> Path:
    """Where the file `path`, relative to the ledger and with `/`, really lies.

    Symbolic links are followed as long as they stay in the ledger.

    Raises:
        LedgerError: the path is not a plain one, leads out of the ledger's own files or to itself,
            or what is there is neither a file nor a folder.
    """
    parts = path.split("/")
    if "\\" in path or ":" in path or not path.isprintable() or {"", ".", ".."} & set(parts):
        raise LedgerError(ascii(path), "this is not a path inside a ledger", "check the name")
    top = os.path.realpath(root)
    real = os.path.realpath(Path(top, *parts))
    if os.path.commonpath([top, real]) != top or real == top:
        mend = "replace the symbolic link by the file itself"
        raise LedgerError(path, "this leads out of the ledger", mend)
    for part in (*parts, *Path(real).relative_to(top).parts):
        if part.casefold() in _CLOSED:
            raise LedgerError(path, f"{part} holds no records", "check the name")
    _refuse_odd(real, path)
    return Path(real)


def _refuse_odd(real: str, path: str) -> None:
    """Refuse what is neither a file nor a folder: opening a pipe waits for a writer."""
    try:
        mode = os.lstat(real).st_mode
    except OSError:
        return  # none is there yet, or whoever opens it is told why not
    if stat.S_ISLNK(mode):
        mend = "replace the symbolic link by the file itself"
        raise LedgerError(path, "it is a link that leads to itself", mend)
    if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
        raise LedgerError(path, "it is no ordinary file", "put the record itself here")
