"""What was found at some steps while all others pass: the options of `inspect --pass-all`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from tankbook.cli.answer import RequestError, shown

if TYPE_CHECKING:
    from tankbook.records.entries import StepFinding
    from tankbook.records.words import Seen
    from tankbook.units import Length


class Excepted(Struct, frozen=True):
    """The exceptions as given, and what was seen, counted, placed, named and measured, each with or
    without a step."""

    results: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    counts: tuple[str, ...] = ()
    positions: tuple[str, ...] = ()
    what: tuple[str, ...] = ()
    depths: tuple[str, ...] = ()
    lengths: tuple[str, ...] = ()

    def findings(self, steps: Sequence[str]) -> tuple[dict[str, StepFinding], str]:
        """The findings by step, and the note that is about none of them.

        Raises:
            RequestError: an option cannot be understood, or does not say which step it is about.
        """
        from tankbook.cli import option_values
        from tankbook.records.entries import StepFinding
        from tankbook.records.words import StepResult

        results = dict(map(_pair, self.results))
        notes, loose = _by_step(self.notes, steps, results)
        counts = _of_steps("--count", self.counts, steps, results)
        positions = _of_steps("--position", self.positions, steps, results)
        what = _of_steps("--what", self.what, steps, results)
        depths = _of_steps("--depth", self.depths, steps, results)
        lengths = _of_steps("--length", self.lengths, steps, results)
        noted = dict.fromkeys((*notes, *what, *depths, *lengths), StepResult.NOTE.value)
        found = {
            step: StepFinding(
                step=step,
                result=option_values.word(f"--except {step}", result, StepResult),
                what=_seen(what.get(step)),
                depth=_length("--depth", depths.get(step)),
                length=_length("--length", lengths.get(step)),
                note=notes.get(step),
                count=_count(counts[step]) if step in counts else None,
                position=positions.get(step),
            )
            for step, result in {**noted, **results}.items()
        }
        return found, "; ".join(loose)


def _of_steps(
    option: str, texts: Sequence[str], steps: Sequence[str], results: dict[str, str]
) -> dict[str, str]:
    """As `_by_step`, of an option that is always about a step."""
    found, loose = _by_step(texts, steps, results)
    if loose:
        mend = f"as in {option} {steps[0] if steps else 'neck-threads'}:{loose[0]}"
        raise RequestError(f"{option}: which step is it about?", mend)
    return found


def _seen(text: str | None) -> Seen | None:
    from tankbook.cli import option_values
    from tankbook.records.words import SEEN_TWINS, Seen

    return option_values.word("--what", text, Seen, dict(SEEN_TWINS)) if text else None


def _length(option: str, text: str | None) -> Length | None:
    from tankbook.cli import option_values

    return option_values.length(option, text) if text else None


def _pair(text: str) -> tuple[str, str]:
    step, sign, result = text.partition(":")
    if not sign:
        raise RequestError(f"--except: {shown(text)} is not STEP:RESULT", "as in o-ring:hold")
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
        raise RequestError(f"--count: {shown(text)} is not a whole number")
    return int(text)
