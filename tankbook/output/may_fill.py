"""May it be filled: the answer first, then every reason with the rule it rests on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from tankbook.output.as_json import pressures
from tankbook.output.page import Page, counted
from tankbook.output.words import BASIS, CAUTION, HELIUM, NOT_ADVICE, Sources
from tankbook.records.entries import Labelled
from tankbook.records.rulerow import Gate
from tankbook.rules.answers import Ceiling, Limit, MayFill, Reason
from tankbook.rules.old_alloy import why_asked
from tankbook.units import GaugePressure

if TYPE_CHECKING:
    from tankbook.filling.wish import RefusedFill

NO_AMBIENT = (
    "How warm it is was not said: where it is colder than that, the settled gauge must read less. "
    "Ask again with --ambient."
)


def reason_data(reason: Reason) -> dict[str, Any]:
    """The JSON shape of a reason, in every answer that gives any."""
    return {
        "code": reason.code,
        "text": reason.text,
        "citation": reason.citation,
        "gate": reason.gate,
        "mend": reason.mend or None,
        "may_be_overridden": reason.may_be_overridden,
    }


Untrue = tuple[Labelled, str]
"""A label that was printed and is no longer true, and why."""


def untrue_labels(untrue: Iterable[Untrue]) -> list[str]:
    """Of each label that is no longer true, which one it is and why."""
    return [
        f"its {each.kind.value} label of {each.on}{f' {each.at:%H:%M}' if each.at else ''} is no "
        f"longer true: {why}; take it off"
        for each, why in untrue
    ]


def data(
    answers: Sequence[MayFill], untrue: Mapping[str, Sequence[Untrue]] | None = None
) -> list[dict[str, Any]]:
    """The JSON shape of `may-fill`, with the labels that are no longer true by id. Pressures are
    gauge."""
    if untrue is None:
        return [_datum(a) for a in answers]
    return [{**_datum(a), "untrue_labels": untrue_labels(untrue.get(a.id, ()))} for a in answers]


def _datum(answer: MayFill) -> dict[str, Any]:
    limit, ambient, ceiling = answer.limit, answer.ambient, answer.ceiling
    return {
        "id": answer.id,
        "fillable": answer.fillable,
        **pressures(limit=limit.pressure if limit else None),
        "reference_temperature_c": limit.reference.celsius if limit else None,
        **pressures(target=answer.target),
        "ambient_c": ambient.celsius if ambient else None,
        "reasons": [reason_data(r) for r in answer.reasons],
        "gas": str(answer.gas),
        **pressures(ceiling=ceiling.pressure if ceiling else None),
        "ceiling_part": ceiling.part if ceiling else None,
        "members": answer.members,
        "plus": limit.plus if limit else None,
        "why_no_plus": limit.why_no_plus or None if limit else None,
    }


def text(
    answers: Sequence[MayFill],
    page: Page,
    set_to: GaugePressure | None = None,
    untrue: Mapping[str, Sequence[Untrue]] | None = None,
) -> str:
    """An answer line for each, the detail of each, and the rules they rest on.

    `set_to` is the fill pressure asked with, `untrue` the labels that are no longer true, by id.
    """
    sources = Sources()
    parts = ["\n".join(page.wrap(headline(a, page), hang="    ") for a in answers)]
    for answer in answers:
        detail = _detail(answer, page, sources)
        labels = untrue_labels((untrue or {}).get(answer.id, ()))
        detail += [page.wrap(f"WARNING: {said}", hang="  ") for said in labels]
        named = [answer.id] if len(answers) > 1 else []
        parts.append("\n".join([*named, *detail]) if detail else "")
    parts.append("\n".join(sources.lines(page)))
    foot = [f"Asked with the fill regulator set to {set_to}."] if set_to is not None else []
    if any(a.fillable for a in answers):
        foot.append(page.wrap(CAUTION))
    return "\n\n".join(filter(None, [*parts, "\n".join([*foot, page.wrap(NOT_ADVICE)])])) + "\n"


def headline(answer: MayFill, page: Page) -> str:
    """`NO  RB-014: ...` with every refusal, or `YES RB-014 air: ...` with limit and target."""
    if not answer.fillable:
        return f"NO  {answer.id}: {'; '.join(_grouped(answer.refusals))}"
    warned = f"; {counted(len(answer.warnings), 'warning')}" if answer.warnings else ""
    loud = "".join(f"; {r.text}" for r in answer.warnings if r.loud)
    return f"YES {answer.id} {answer.gas}: {limit_text(answer, page)}{warned}{loud}"


def _grouped(refusals: Sequence[Reason]) -> Iterator[str]:
    """Each refusal once; of many of one kind the first, and how many there are."""
    said = {briefly(r): r.code for r in refusals}
    kinds = Counter(said.values())
    told: set[str] = set()
    for text, code in said.items():
        if kinds[code] <= ONE_BY_ONE:
            yield text
        elif code not in told:
            told.add(code)
            yield f"{text}, and {kinds[code] - 1} more so"


ONE_BY_ONE = 3
"""So many refusals of one kind are told each by itself in the first line."""


def briefly(reason: Reason) -> str:
    """A reason with what it rests on: `visual lapsed Feb 2026 (shop rule)`."""
    return f"{reason.text} ({BASIS[reason.basis]})" if reason.basis else reason.text


def refusals(refused: Iterable[RefusedFill]) -> Iterator[str]:
    """`NO: RB-014: why; how to mend it`, each reason by itself, and what to beware of."""
    for one in refused:
        for reason in one.reasons:
            yield f"NO: {one.id}: {with_mend(reason)}"
        yield from one.dangers


def danger_briefly(danger: str) -> str:
    """`DANGER, it holds 1450 psi (neck bent)`, without what to do: for where there is no room."""
    said, _, _ = danger.partition("): ")
    return f"{said})"


def with_mend(reason: Reason) -> str:
    """A reason with what it rests on and the way out."""
    return f"{briefly(reason)}; {reason.mend}" if reason.mend else briefly(reason)


def limit_text(answer: MayFill, page: Page) -> str:
    """`3000 psi at 70 degF (2760 psi today at 41 degF)`."""
    if answer.limit is None:
        return "no limit can be stated"
    limit = answer.limit
    said = f"{page.marked(limit.pressure)} at {limit.reference}"
    if limit.plus:
        said += " by its plus mark"
    if answer.target is not None and answer.ambient is not None:
        said += f" ({page.target(answer.target, limit.pressure)} today at {answer.ambient})"
    if answer.ceiling is not None and answer.ceiling.pressure < limit.pressure:
        ceiling = answer.ceiling
        said += f", no gauge above {page.marked(ceiling.pressure)} ({ceiling.part})"
    return said


def _detail(answer: MayFill, page: Page, sources: Sources) -> list[str]:
    parts: list[str] = []
    if len(answer.members) > 1:
        parts.append(f"Cylinders: {', '.join(answer.members)}")
    for reason in answer.reasons:
        parts += _reason(reason, page, sources)
    if answer.limit is not None:
        name = "limit" if answer.fillable else "its limit, once it may be filled"
        parts += _limit(name, answer.limit, page, sources)
        if answer.ceiling is not None and answer.ceiling.pressure < answer.limit.pressure:
            parts.append(_ceiling(answer.ceiling, page, sources))
        if answer.fillable and answer.ambient is None:
            parts.append(page.wrap(NO_AMBIENT, hang="  "))
    if answer.fillable and answer.look is not None:
        cited = sources.cite([answer.look])
        parts.append(page.wrap(f"Before the fill: look over the outside{cited}", hang="  "))
    if answer.fillable and answer.gas.helium_percent:
        parts.append(page.wrap(HELIUM, hang="  "))
    return parts


def _reason(reason: Reason, page: Page, sources: Sources) -> list[str]:
    """A reason, marked `refuse` or `WARNING`, and how to mend it."""
    mark = "refuse:" if reason.gate is Gate.REFUSE else "WARNING:"
    cited = sources.cite([reason.row] if reason.row else [])
    found = [page.wrap(f"{mark} {reason.text}{cited}", hang="  ")]
    if why := why_asked(reason):
        found.append(page.wrap(f"why: {why}", "  ", "    "))
    if reason.mend:
        found.append(page.wrap(f"mend: {reason.mend}", "  ", "    "))
    if reason.gate is Gate.REFUSE and reason.may_be_overridden:
        lifted = "a named person may override it, with a reason in the log"
        found.append(page.wrap(lifted, "  ", "    "))
    return found


def _ceiling(ceiling: Ceiling, page: Page, sources: Sources) -> str:
    """Above what no gauge goes, hot or cold, and the part that stands no more."""
    said = f"no gauge above {page.marked(ceiling.pressure)}, hot or cold: {ceiling.part}"
    return page.wrap(f"{said}{sources.cite(ceiling.rows)}", hang="  ")


def _limit(name: str, limit: Limit, page: Page, sources: Sources) -> list[str]:
    plus = ", with the plus mark's share" if limit.plus else ""
    said = f"{name}: {page.marked(limit.pressure)} at {limit.reference}{plus}"
    found = [page.wrap(f"{said}{sources.cite(limit.rows)}", hang="  ")]
    if limit.why_no_plus:
        found.append(page.wrap(f"no plus: {limit.why_no_plus}", "  ", "    "))
    return found
