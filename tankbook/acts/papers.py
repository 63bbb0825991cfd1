"""How the paper of an entry is asked for: whoever has the file reads it, the act gets its name and
digest."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Opt
from tankbook.records.station import Certificate

Paper = Annotated[
    Certificate | None,
    Opt("FILE", "Its paper: name and SHA-256 of the file are kept.", "--certificate"),
]


def with_paper(sentence: str, certificate: Certificate | None) -> str:
    """What an act says of itself, and the name of its paper."""
    return f"{sentence}; certificate {certificate.name}" if certificate else sentence
