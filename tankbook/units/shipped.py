"""What comes with tankbook for the pure rooms, frozen when it was built: words, and nothing else.

The words of a note are needed where no ledger is at hand, deep within what is judged, so the one
module here that reads a file is this one. It reads packaged data alone, which is as much a part of
the program as its code: the same on every day and for every ledger. People edit the YAML of
`ledger/data/words`; a test holds what is read here against it, and writes it anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache

Words = Mapping[str, Mapping[str, Sequence[str]]]
"""Of each subject its lists by their names, and of each list its lines."""
LineNeedles = Mapping[str, Mapping[str, Sequence[Sequence[str]]]]
"""Of each line of those lists the pieces of which whatever it finds holds at least one."""


@cache
def words() -> Words:
    """Every list of words, read once, when the first of them is asked for."""
    import json
    from pkgutil import get_data

    frozen: Words = json.loads(get_data("tankbook.units", "frozen/words.json") or b"")
    return frozen


@cache
def needles() -> LineNeedles:
    """What each line must find; of a line that may find what has no piece of a kind, nothing."""
    import json
    from pkgutil import get_data

    frozen: LineNeedles = json.loads(get_data("tankbook.units", "frozen/needles.json") or b"")
    return frozen
