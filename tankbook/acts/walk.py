"""Following a checklist on one cylinder: the steps that apply, the answers, what they come to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.checklist import Checklist, ChecklistStep
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import StepFinding
from tankbook.records.words import InspectionResult, Seen, StepResult
from tankbook.rules.clearing import CRACK
from tankbook.rules.inforce import normal
from tankbook.rules.materials import material_named
from tankbook.units.nouns import counted

_GRAVITY = {
    StepResult.PASS: InspectionResult.PASS,
    StepResult.NOTE: InspectionResult.PASS,
    StepResult.HOLD: InspectionResult.HOLD,
    StepResult.REJECT: InspectionResult.REJECT,
}
_ORDER = (InspectionResult.PASS, InspectionResult.HOLD, InspectionResult.REJECT)


def steps_for(checklist: Checklist, cylinder: Cylinder) -> tuple[ChecklistStep, ...]:
    """The steps of a checklist that apply to a cylinder's material.

    Raises:
        ValueError: some steps depend on a material that is not recorded.
    """
    said = {material_named(normal(each)) for each in cylinder.specification} - {None}
    material = cylinder.material or (said.pop() if len(said) == 1 else None)
    if material is None and any(s.material for s in checklist.steps):
        raise ValueError(
            f"its material is not recorded, and steps of `{checklist.id}` depend on it; "
            "record `material:` first"
        )
    return tuple(s for s in checklist.steps if not s.material or material in s.material)


class Walk(Struct, frozen=True):
    """A checklist being followed: its steps, and an answer for each one done so far."""

    steps: tuple[ChecklistStep, ...]
    answers: tuple[StepFinding, ...] = ()

    @property
    def at(self) -> ChecklistStep | None:
        """The step to be answered next; None when all are."""
        return self.steps[len(self.answers)] if len(self.answers) < len(self.steps) else None

    def answered(self, answer: StepFinding) -> Walk:
        """One step on. Raises `ValueError` for an answer to another step."""
        if self.at is None or answer.step != self.at.name:
            raise ValueError(f"`{answer.step}` is not the step asked")
        return replace(self, answers=(*self.answers, counted_as(answer)))

    def back(self) -> Walk:
        """One step back; its answer is forgotten."""
        return replace(self, answers=self.answers[:-1])


_AT_LEAST_HELD = frozenset({Seen.SUSPECTED_CRACK, Seen.HEAT})


def looks_for_cracks(step: str) -> bool:
    """Whether a step looks for cracks, by its name."""
    return CRACK in step.casefold()


def counted_as(answer: StepFinding) -> StepFinding:
    """An answer as it counts: a crack takes the cylinder out, and so does what is found at the step
    that looks for cracks, until it is said what it is; a suspected crack and heat hold it."""
    if answer.result is StepResult.PASS:
        return answer
    unsaid = answer.what is None and looks_for_cracks(answer.step)
    if answer.what is Seen.CRACK or unsaid:
        return replace(answer, result=StepResult.REJECT)
    if answer.what in _AT_LEAST_HELD and answer.result is StepResult.NOTE:
        return replace(answer, result=StepResult.HOLD)
    return answer


def passed_except(
    steps: Iterable[ChecklistStep], exceptions: Mapping[str, StepFinding]
) -> tuple[StepFinding, ...]:
    """Every step passed but those of `exceptions`.

    Raises:
        ValueError: an exception names a step that the checklist does not ask of this cylinder.
    """
    asked = tuple(steps)
    names = [s.name for s in asked]
    for name in exceptions:
        if name not in names:
            raise ValueError(f"`{name}` is no step here; the steps are {', '.join(names)}")
    answers = (exceptions.get(n, StepFinding(step=n, result=StepResult.PASS)) for n in names)
    return tuple(map(counted_as, answers))


def outcome(answers: Iterable[StepFinding]) -> InspectionResult:
    """What the answers come to: the gravest of them."""
    return max((_GRAVITY[a.result] for a in answers), key=_ORDER.index, default=_ORDER[0])


def told(answer: StepFinding) -> str:
    """A finding in a few words: `neck-threads: thread 2 worn (1 thread, 4 o'clock)`,
    `cuts-and-dents: gouge, near the foot (0.6 mm deep, 40 mm long)`."""
    parts = []
    if answer.depth is not None:
        parts.append(f"{answer.depth} deep")
    if answer.length is not None:
        parts.append(f"{answer.length} long")
    if answer.count is not None:
        parts.append(counted(answer.count, "thread"))
    if answer.position:
        parts.append(answer.position)
    where = f" ({', '.join(parts)})" if parts else ""
    said = ", ".join(filter(None, (answer.what, answer.note))) or answer.result
    return f"{answer.step}: {said}{where}"
