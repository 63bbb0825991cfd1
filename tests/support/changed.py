"""A noun with some of its values changed, a struct of the package or a dataclass of the tests."""

from __future__ import annotations

import dataclasses
from typing import Any, TypeVar

from msgspec import Struct, structs

T = TypeVar("T")


def replace(noun: T, **changes: Any) -> T:
    """As `structs.replace` and `dataclasses.replace`."""
    change: Any = structs.replace if isinstance(noun, Struct) else dataclasses.replace
    changed: T = change(noun, **changes)
    return changed
