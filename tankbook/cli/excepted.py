"""What was found at some steps while all others pass: the options of `inspect --pass-all`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tankbook.cli.answer import RequestError

if TYPE_CHECKING:
    from tankbook.records.entries import StepFinding


@dataclass(frozen=True, slots=True)
class Excepted:
    """The exceptions as given, and what was seen, counted and placed, with or without a step."""

    results: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    counts: tuple[str, ...] = ()
    positions: tuple[str, ...] = ()

    def findings(self, steps: Sequence[str]) -> tuple[dict[str, StepFinding], str]:
        """The findings by step, and the note that is about none of them.

        Raises:
            RequestError: an option cannot be understood, or does not say which step it is about.
        """
        from tankbook.cli import ask
        from tankbook.records.entries import StepFinding
        from tankbook.records.words import StepResult

        results = dict(map(_pair, self.results))
        notes, loose = _by_step(self.notes, steps, results)
        counts, other = _by_step(self.counts, steps, results)
        positions, others = _by_step(self.positions, steps, results)
        for option, left in (("--count", other), ("--position", others)):
            if left:
                mend = f"as in {option} neck-threads:{left[0]}"
                raise RequestError(f"{option}: which step is it about?", mend)
        found = {
            step: StepFinding(
                step=step,
                result=ask.word(f"--except {step}", result, StepResult),
                note=notes.get(step),
                count=_count(counts[step]) if step in counts else None,
                position=positions.get(step),
            )
            for step, result in results.items()
        }
        for step in notes:
            if step not in found:
                found[step] = StepFinding(step=step, result=StepResult.NOTE, note=notes[step])
        return found, "; ".join(loose)


def _pair(text: str) -> tuple[str, str]:
    step, sign, result = text.partition(":")
    if not sign:
        raise RequestError(f"--except: {text!r} is not STEP:RESULT", "as in o-ring:hold")
    return step.strip(), result.strip()


def _by_step(
    texts: Sequence[str], steps: Sequence[str], results: dict[str, str]
) -> tuple[dict[str, str], list[str]]:
    """Texts by step; one without a step is about the only exception, or about none."""
    found: dict[str, str] = {}
    loose = []
    for text in texts:
        step, sign, said = text.partition(":")
        if sign and step.strip() in steps:
            found[step.strip()] = said.strip()
        else:
            loose.append(text)
    only = next(iter(results)) if len(results) == 1 else None
    if loose and only and only not in found:
        found[only] = loose.pop(0)
    return found, loose


def _count(text: str) -> int:
    if not text.isdecimal():
        raise RequestError(f"--count: {text!r} is not a whole number")
    return int(text)
