"""How much the searches try: a part in every run of the tests, all of it with TANKBOOK_SWEEP=1."""

import os

SWEEP = bool(os.environ.get("TANKBOOK_SWEEP"))


def tries(usual: int, sweep: int) -> int:
    """How many tries are made, usually and in a sweep."""
    return sweep if SWEEP else usual
