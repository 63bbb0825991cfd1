"""What inspectors found, held against the limits read; and notes that should be findings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Held, Inspected, Rejected, Rented, StepFinding, standing
from tankbook.records.finding import FindingRow
from tankbook.records.life import is_open, verdict
from tankbook.records.log import LogLine
from tankbook.records.node import Where
from tankbook.records.words import InspectionResult, Seen, StepResult
from tankbook.rules.checks.declared import FAULT, WARN, Says, on_cylinder
from tankbook.rules.clearing import speaks_of
from tankbook.rules.signing import Bench, counts


@on_cylinder("finding-not-accepted", FAULT, since="0.2")
def findings_accepted(
    card: Cylinder, bench: Bench, finding_rows: Sequence[FindingRow]
) -> Iterator[Says]:
    """What a passed inspection found is something that a standard accepts."""
    for look in _since_last_full(card, bench):
        for found in look.findings if look.result is InspectionResult.PASS else ():
            for why in _not_accepted(card, found, finding_rows) if found.what else ():
                text = f"its inspection of {look.on} passed with {why}"
                yield Says(found.source.at("what"), text, "inspect it again and record what it is")


_ANSWERED_ELSEWHERE = frozenset({Seen.CRACK, Seen.SUSPECTED_CRACK, Seen.HEAT})


def _not_accepted(card: Cylinder, found: StepFinding, rows: Sequence[FindingRow]) -> Iterator[str]:
    for row in rows:
        if row.what is not found.what or (row.material and card.material not in row.material):
            continue
        if row.never and row.what not in _ANSWERED_ELSEWHERE:
            yield f"a {found.what}, and none is accepted ({row.citation})"
        if row.deepest and found.depth and found.depth > row.deepest:
            yield f"a {found.what} {found.depth} deep, over {row.deepest} ({row.citation})"
        if row.longest and found.length and found.length > row.longest:
            yield f"a {found.what} {found.length} long, over {row.longest} ({row.citation})"


def _since_last_full(card: Cylinder, bench: Bench) -> tuple[Inspected, ...]:
    """The newest passed full inspection that counts, and those after it."""
    looks = standing(card.inspected)
    full = [n for n, i in enumerate(looks) if counts(bench, i) and bench.is_full(i)]
    return looks[full[-1] :] if full else looks


@on_cylinder("note-asks-for-finding", WARN, since="0.2")
def notes_are_findings(
    card: Cylinder,
    about: Sequence[LogLine],
    rentals: Sequence[Rented],
    finding_rows: Sequence[FindingRow],
    bench: Bench,
) -> Iterator[Says]:
    """A note that speaks of damage says so as a finding, which somebody can judge."""
    for where, text in _notes(card, about, bench):
        for row in finding_rows:
            word = _spoken_of(text, row)
            if word and (not row.material or card.material in row.material):
                said = f"a note speaks of {word}: `{text[:60]}`"
                mend = f"record it as a finding (`what: {row.what}`) at an inspection, or reword it"
                yield Says(where, said, mend)
                break


def _notes(card: Cylinder, about: Sequence[LogLine], bench: Bench) -> Iterator[tuple[Where, str]]:
    """The notes since the last full inspection that counts, and on the card itself."""
    looks = standing(card.inspected)
    passed = [i for i in looks if counts(bench, i) and bench.is_full(i)]
    since = passed[-1].on.first if passed else None
    if card.note:
        yield card.source.at("note"), card.note
    aside: tuple[Held | Rejected, ...] = (*card.held, *card.rejected)
    for each in aside:  # while it is open it holds anyway
        if each.void is None and not is_open(each) and (since is None or each.on.last >= since):
            yield each.source.at("why"), each.why
    for look in looks:
        if since is None or look.on.last >= since:
            named = any(f.what for f in look.findings)
            if look.note and not named:
                yield look.source.at("note"), look.note
            passed_so = look.findings if verdict(look) is InspectionResult.PASS else ()
            for found in passed_so:
                if found.note and found.what is None and found.result is not StepResult.PASS:
                    yield found.source.at("note"), found.note
    for test in standing(card.requalified):
        if test.note and (since is None or test.on.last >= since):
            yield test.source.at("note"), test.note
    for line in about:
        if line.note and (since is None or line.at.date() >= since):
            yield Where(line.path, line.line, 1), line.note


def _spoken_of(text: str, row: FindingRow) -> str:
    """The word by which a note speaks of a finding, or an empty text; `no crack` speaks of none."""
    return next(filter(None, (speaks_of(text, word) for word in row.words)), "")
