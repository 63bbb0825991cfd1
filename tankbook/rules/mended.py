"""Whether a part of the station that failed was mended since."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TypeVar

from msgspec import Struct

from tankbook.records.settings import Person
from tankbook.records.station import REPLACED, Checked, UpkeepDone, that_stand
from tankbook.records.words import Skill, TestResult
from tankbook.rules.signing import why_not
from tankbook.rules.wording import says_nothing, says_seal_leaked
from tankbook.units import PartialDate

_Looked = TypeVar("_Looked", Checked, UpkeepDone)


def unmended(
    checked: Iterable[_Looked],
    fitted: PartialDate | None = None,
    mends: Callable[[_Looked, _Looked], bool] | None = None,
) -> _Looked | None:
    """The failed check after which a part was neither fitted new nor passed again with what was
    repaired; None where there is none. That it passed another day mends nothing, and what was
    fitted on that day, or in that month, may be what failed. `mends`: whether a check with a repair
    answers a failed one; any does, if not said."""
    failed: _Looked | None = None
    for check in that_stand(checked):
        if check.result is TestResult.FAIL:
            failed = check
        elif failed is not None and check.repaired and not says_nothing(check.repaired):
            failed = None if mends is None or mends(failed, check) else failed
    replaced = failed is not None and fitted is not None and fitted.first > failed.on
    return None if replaced else failed


class Mending(Struct, frozen=True):
    """Who says of a part that holds pressure that it holds again after it failed: somebody
    certified, but of a seal, and of what was fitted new (common practice, no source).

    Attributes:
        people: the ledger's people.
        hose: it is one, which is replaced where nobody is certified.
        checked: its checks as they are written; what an incident says of it is answered by anybody
            who is known.
    """

    people: Mapping[str, Person]
    hose: bool
    checked: tuple[Checked, ...]

    def why_not(self, failed: Checked, check: Checked) -> str:
        """Why a check with a repair does not answer one that failed, or an empty text."""
        written = any(each is failed for each in self.checked)
        if not written or check.repaired == REPLACED or says_seal_leaked(failed.note or ""):
            return ""
        if self.hose and not any(each.certifications for each in self.people.values()):
            return "nobody is on record as certified"
        return why_not(self.people, check.by, Skill.INSPECTOR, check.on)

    def mends(self, failed: Checked, check: Checked) -> bool:
        """Whether a check with a repair answers one that failed."""
        return not self.why_not(failed, check)

    def unproven(self) -> tuple[tuple[Checked, Checked, str], ...]:
        """The repairs that answer nothing: what failed, the check, and why."""
        found, failed = list[tuple[Checked, Checked, str]](), None
        for check in that_stand(self.checked):
            if check.result is TestResult.FAIL:
                found, failed = [], check
            elif failed is not None and check.repaired and not says_nothing(check.repaired):
                why = self.why_not(failed, check)
                found = [*found, (failed, check, why)] if why else []
                failed = failed if why else None
        return tuple(found)
