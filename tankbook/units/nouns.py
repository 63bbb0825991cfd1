"""How many of what, in words."""

from __future__ import annotations


def counted(count: int, one: str, many: str = "") -> str:
    """So many of what `one` names, or `many` where that does not end in an s.

    >>> counted(1, "file"), counted(2, "file"), counted(0, "fill was", "fills were")
    ('1 file', '2 files', '0 fills were')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def times(count: int) -> str:
    """How often.

    >>> times(1), times(2), times(3)
    ('once', 'twice', '3 times')
    """
    return {1: "once", 2: "twice"}.get(count, f"{count} times")
