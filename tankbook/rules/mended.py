"""Whether a part of the station that failed was mended since."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TypeVar

from msgspec import Struct

from tankbook.records.settings import Person
from tankbook.records.station import REPLACED, Checked, UpkeepDone, that_stand
from tankbook.records.words import Skill, TestResult
from tankbook.rules.signing import why_not
from tankbook.rules.wording import says_no_answer, says_seal_leaked
from tankbook.units import PartialDate

_Looked = TypeVar("_Looked", Checked, UpkeepDone)


def unmended(
    checked: Iterable[_Looked],
    fitted: PartialDate | None = None,
    mends: Callable[[_Looked, _Looked], bool] | None = None,
) -> _Looked | None:
    """The last failed check of `every_unmended`; None where there is none."""
    return next(reversed(every_unmended(checked, fitted, mends)), None)


def every_unmended(
    checked: Iterable[_Looked],
    fitted: PartialDate | None = None,
    mends: Callable[[_Looked, _Looked], bool] | None = None,
) -> list[_Looked]:
    """The failed checks, oldest first, after each of which a part was neither fitted new nor passed
    again with what was repaired. That it passed another day mends nothing, and what was fitted on
    that day, or in that month, may be what failed. `mends`: whether a check with a repair answers a
    failed one; any does, if not said."""
    failed = list[_Looked]()
    for check in that_stand(checked):
        if check.result is TestResult.FAIL:
            failed.append(check)
        elif check.repaired and not says_no_answer(check.repaired):
            failed = [each for each in failed if mends is not None and not mends(each, check)]
    return [each for each in failed if fitted is None or fitted.first <= each.on]


SET_ANEW = "set from "
"""How it is said that a relief valve was set to something else, which is no repair."""


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
        return self._why_unsigned(check)

    def why_not_alone(self, check: Checked) -> str:
        """As `why_not`, of a repair of what nobody wrote down as failed: what was done about it
        says whether that was more than a seal."""
        said = check.repaired or ""
        set_anew = said.startswith(SET_ANEW) or said == REPLACED
        if says_no_answer(said) or set_anew or says_seal_leaked(said):
            return ""
        return self._why_unsigned(check)

    def _why_unsigned(self, check: Checked) -> str:
        if self.hose and not any(each.certifications for each in self.people.values()):
            return "nobody is on record as certified"
        return why_not(self.people, check.by, Skill.INSPECTOR, check.on)

    def mends(self, failed: Checked, check: Checked) -> bool:
        """Whether a check with a repair answers one that failed."""
        return not self.why_not(failed, check)

    def unproven_alone(self, fitted: PartialDate | None = None) -> Checked | None:
        """The last repair of what nobody wrote down as failed, if it says more than a seal, and
        nobody certified says that it holds, then or since; None where there is none, or it was
        fitted new on a later day."""
        found, failed = None, list[Checked]()
        for check in that_stand(self.checked):
            if check.result is TestResult.FAIL:
                failed.append(check)
                continue
            if check.repaired and not failed and self.why_not_alone(check):
                found = check
            elif check.repaired == REPLACED or not self._why_unsigned(check):
                found = None
            if check.repaired and not says_no_answer(check.repaired):
                failed = [each for each in failed if self.why_not(each, check)]
        return found if found and not (fitted and found.on < fitted.first) else None

    def unproven(self) -> tuple[tuple[Checked, Checked, str], ...]:
        """The repairs that answer nothing: what failed, the check, and why."""
        found, failed = list[tuple[Checked, Checked, str]](), list[Checked]()
        for check in that_stand(self.checked):
            if check.result is TestResult.FAIL:
                found, failed = [], [*failed, check]
            elif failed and check.repaired and not says_no_answer(check.repaired):
                each = [(f, check, why) for f in failed if (why := self.why_not(f, check))]
                found = [*found, each[-1]] if each else []
                failed = [f for f, _, _ in each]
        return tuple(found)
