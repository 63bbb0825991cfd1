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


@cache
def words() -> Words:
    """Every list of words, read once, when the first of them is asked for."""
    import json
    from pkgutil import get_data

    frozen: Words = json.loads(get_data("tankbook.units", "frozen/words.json") or b"")
    return frozen
