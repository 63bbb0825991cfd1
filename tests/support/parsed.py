"""A text that was parsed before is not parsed again: nodes never change, and most tests begin with the
same few files."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache

from tankbook.ledger import events
from tankbook.ledger.events import ParseEvent
from tankbook.records.node import Finding, Node

Source = Callable[[str], Iterable[ParseEvent]]


def remember_what_was_parsed() -> None:
    """From here on, in this process."""
    once = lru_cache(maxsize=512)(events.parse_events)

    def parse_events(source: Source, text: str, path: str) -> tuple[Node | None, list[Finding]]:
        root, findings = once(source, text, path)
        return root, [*findings]

    events.parse_events = parse_events
