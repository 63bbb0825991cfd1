"""CoolProp's functions. It takes seconds to load, so that it is loaded where a test first asks."""

from importlib import import_module
from typing import Any


def __getattr__(name: str) -> Any:
    return getattr(import_module("CoolProp.CoolProp"), name)
