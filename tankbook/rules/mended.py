"""Whether a part of the station that failed was mended since."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from tankbook.records.station import Checked, UpkeepDone, that_stand
from tankbook.records.words import TestResult
from tankbook.rules.wording import says_nothing
from tankbook.units import PartialDate

_Looked = TypeVar("_Looked", Checked, UpkeepDone)


def unmended(checked: Iterable[_Looked], fitted: PartialDate | None = None) -> _Looked | None:
    """The failed check after which a part was neither fitted new nor passed again with what was
    repaired; None where there is none. That it passed another day mends nothing, and what was
    fitted on that day, or in that month, may be what failed."""
    failed: _Looked | None = None
    for check in that_stand(checked):
        if check.result is TestResult.FAIL:
            failed = check
        elif check.repaired and not says_nothing(check.repaired):
            failed = None
    replaced = failed is not None and fitted is not None and fitted.first > failed.on
    return None if replaced else failed
