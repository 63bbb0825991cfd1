"""What an act says of itself in the journal, so that whoever finishes it can tell it, and a repeat
of it is known."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import asdict

from tankbook.records.edits import Act, AddEntry, AddLine, Edit, NewFile, SetValue
from tankbook.units.patterns import pattern

_NEAR = dt.timedelta(minutes=2)
"""How far the time in an entry may lie from the moment it was given, to be that moment: several
lines of one act stand seconds apart, and a card has no seconds (own bound)."""

_CLOCK = pattern(r"\d{2}:\d{2}")


class Note(Struct, frozen=True):
    """An act's own words.

    Attributes:
        verb: the command's word.
        subjects: the ids it is about.
        sentence: what happened, in one line.
        by: initials of who gave it; empty where nobody signs.
        at: when it was given, with its UTC offset.
        edits: what it changes, as data.
        commit: whether git was to have it.
    """

    verb: str
    subjects: tuple[str, ...]
    sentence: str
    by: str
    at: dt.datetime
    edits: tuple[Mapping[str, Any], ...] = ()
    commit: bool = False

    @classmethod
    def of(cls, act: Act, by: str, at: dt.datetime, commit: bool = False) -> Note:
        """The note of an act that is given at a moment."""
        edits = tuple(_plain(each) for each in act.edits)
        subjects = tuple(map(_shown, act.subjects))
        return cls(act.verb, subjects, _shown(act.sentence), _shown(by), at, edits, commit)

    @classmethod
    def read(cls, data: Any) -> Note:
        """A note from its data. Raises KeyError, TypeError or ValueError where it is none."""
        texts = [data[name] for name in ("verb", "sentence", "by")]
        subjects, edits = tuple(data["subjects"]), tuple(data["edits"])
        if not all(isinstance(text, str) and text.isprintable() for text in (*texts, *subjects)):
            raise TypeError("a note of the wrong kind")
        if not all(isinstance(each, dict) for each in edits):
            raise TypeError("an edit of the wrong kind")
        verb, sentence, by = texts
        at = dt.datetime.fromisoformat(data["at"])
        if at.tzinfo is None:
            raise ValueError("a moment without its offset")
        return cls(verb, subjects, sentence, by, at, edits, bool(data["commit"]))

    def data(self) -> dict[str, Any]:
        """The note as data."""
        return asdict(self) | {"at": self.at.isoformat()}

    def __str__(self) -> str:
        """`Held RB-014: dent (MV, 2026-11-25 09:31)`."""
        who = f"{self.by}, " if self.by else ""
        return f"{self.sentence} ({who}{self.at:%Y-%m-%d %H:%M})"

    def is_again(self, other: Note) -> bool:
        """Whether two notes are of one act, given twice: the same change to the same files.

        The time of the clock tells them apart no more than the day does: each stands for the moment
        its act was given.
        """
        mine, theirs = (_timeless(each.edits, each.at) for each in (self, other))
        return (self.verb, sorted(self.subjects)) == (other.verb, sorted(other.subjects)) and (
            mine == theirs or self.edits == other.edits
        )

    def act_edits(self) -> tuple[Edit, ...]:
        """The edits as the act had them. Raises as `read`."""
        return tuple(map(_edit, self.edits))


def _shown(text: str) -> str:
    """A text as it may stand on a terminal, whatever was typed."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


_KINDS: dict[str, type[Edit]] = {
    "set": SetValue,
    "entry": AddEntry,
    "file": NewFile,
    "line": AddLine,
}


def _plain(edit: Edit) -> dict[str, Any]:
    kind = next(name for name, each in _KINDS.items() if isinstance(edit, each))
    values = {name: _values(getattr(edit, name)) for name in edit.__struct_fields__}
    return {"kind": kind} | values


def _values(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: _values(inner) for name, inner in value.items()}
    if isinstance(value, tuple | list):
        return [_values(inner) for inner in value]
    return value if isinstance(value, int) else str(value)


def _edit(data: Mapping[str, Any]) -> Edit:
    values = {name: value for name, value in data.items() if name != "kind"}
    if "trail" in values:
        values["trail"] = tuple(values["trail"])
    return _KINDS[data["kind"]](**values)


def _timeless(value: Any, given: dt.datetime) -> Any:
    """A value with the moment it was given in the place of every time that is that moment."""
    if isinstance(value, Mapping):
        return {name: _timeless(inner, given) for name, inner in value.items()}
    if isinstance(value, tuple | list):
        return [_timeless(inner, given) for inner in value]
    if not isinstance(value, str):
        return value
    if value == str(given.date()):
        return "the day"
    return "the moment" if _is_moment(value, given) else value


def _is_moment(text: str, given: dt.datetime) -> bool:
    try:
        if _CLOCK.fullmatch(text):
            at = dt.datetime.combine(given.date(), dt.time.fromisoformat(text), given.tzinfo)
        elif len(text) == 25:
            at = dt.datetime.fromisoformat(text)
        else:
            return False
        return at.tzinfo is not None and abs(at - given) < _NEAR
    except (ValueError, OverflowError):
        return False
