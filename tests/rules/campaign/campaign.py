"""Many small changes to a ledger, each asked about and each judged."""

from __future__ import annotations

import difflib
import hashlib
import random
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from allowed import ALLOWED
from hazards import Hazard, Ledger
from judge import Judge
from mutate import Mutant, Seeded, drawn, seeded
from quay import ASKED, BASE, ON, SMALL_STATION
from runs import Bench, Said, encoded
from sweep import tries
from warned import told

CASES = tries(1150, 11_500)
"""Mutated ledgers in an ordinary run, over all hazards."""
COMPANION = "CD-501"
"""The card that stays beside the one asked about: a condemned one."""


@dataclass(frozen=True, slots=True)
class Subject:
    """What is changed and asked about: a hazard-seeded ledger, or the sound one."""

    key: str
    cylinder: str
    asked: tuple[str, str]
    ledger: Seeded
    sound: Mapping[str, bytes]
    past: Sequence[Mapping[str, bytes]] = ()
    hazard: bool = True
    warns: str = ""

    def is_flip(self, said: Said) -> bool:
        """Whether the hazard is no longer answered: by NO, or by the warning that it asks for."""
        return self.hazard and said.yes and not (self.warns and self.warns in said.warned)


def of_hazard(hazard: Hazard) -> Subject:
    """The seeded ledger, without the cards that have no part in it."""
    past = hazard.past
    others = [hazard.base, *past[-1:]]
    hot = {
        p
        for other in others
        for p in {*other, *hazard.seeded}
        if other.get(p) != hazard.seeded.get(p)
    }
    keep = {*hot, *(f"cylinders/{c}.yaml" for c in _together(hazard.cylinder))}
    keep |= {w.partition("|")[0] for w in hazard.where}

    def trimmed(ledger: Ledger) -> Ledger:
        kept = {p: t for p, t in ledger.items() if not p.startswith("cylinders/") or p in keep}
        return (
            kept
            if "station.yaml" in hot or "station.yaml" not in kept
            else kept | {"station.yaml": SMALL_STATION}
        )

    changed = seeded(
        trimmed(hazard.seeded),
        f"cylinders/{hazard.cylinder}.yaml",
        *map(trimmed, others),
        where=hazard.where,
    )
    return Subject(
        hazard.key,
        hazard.cylinder,
        hazard.asked,
        changed,
        encoded(trimmed(hazard.base)),
        [encoded(trimmed(p)) for p in past],
        warns=hazard.warns,
    )


def of_sound(cylinder: str) -> Subject:
    """The sound ledger, asked about one cylinder."""
    keep = {f"cylinders/{c}.yaml" for c in _together(cylinder)}
    ledger = {p: t for p, t in BASE.items() if not p.startswith("cylinders/") or p in keep}
    return Subject(
        f"sound-{cylinder}",
        cylinder,
        ASKED[cylinder],
        seeded(ledger, f"cylinders/{cylinder}.yaml"),
        encoded(ledger),
        hazard=False,
    )


def _together(cylinder: str) -> set[str]:
    sides = {"RB-041", "RB-042"}
    return {cylinder, COMPANION, *(sides if cylinder in sides else ())}


@dataclass
class Figures:
    """What came of the cases of one subject."""

    cases: int = 0
    yes: int = 0
    flips: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    different: set[bytes] = field(default_factory=set)

    @property
    def told(self) -> dict[str, object]:
        return {
            "cases": self.cases,
            "different": len(self.different),
            "yes": self.yes,
            "flips": dict(self.flips),
            "wrong": len(self.wrong),
        }


def case(subject: Subject, seed: int, number: int) -> Mutant:
    return drawn(subject.ledger, random.Random(f"{seed} {subject.key} {number}"))


def play(subject: Subject, bench: Bench, seed: int, numbers: Sequence[int]) -> Figures:
    """Change, ask, judge. Every YES that the judge or the table does not bear is wrong."""
    found = Figures()
    bench.commit(subject.past)
    known: dict[bytes, Said] = {}
    for number in numbers:
        mutant = case(subject, seed, number)
        digest = hashlib.blake2b(
            repr(sorted(mutant.files.items())).encode(), digest_size=16
        ).digest()
        if digest not in known:
            bench.lay(mutant.files)
            by_hand = bool(subject.past) or number % 40 == 0
            said = known[digest] = _answer(subject, bench, by_hand=by_hand)
            if by_hand and not subject.past and said != _answer(subject, bench, by_hand=False):
                found.wrong.append(f"{subject.key}:{number}: the command line and the gate differ")
            if said.yes:
                found.wrong.extend(_judged(subject, mutant, said, number))
        found.cases += 1
        found.different.add(digest)
        found.yes += known[digest].yes
        if subject.is_flip(known[digest]):
            found.flips.update([mutant.operator])
    return found


def _answer(subject: Subject, bench: Bench, *, by_hand: bool) -> Said:
    if by_hand:
        return bench.asked(subject.cylinder, *subject.asked).said
    return bench.quick(subject.cylinder, *subject.asked)


def _judged(subject: Subject, mutant: Mutant, said: Said, number: int) -> Iterator[str]:
    """Why a YES is wrong, if it is."""
    judge = Judge(mutant.files, ON, subject.past)
    against = judge.why_not(subject.cylinder, *subject.asked)
    name = f"{subject.key}:{number} {mutant.operator} {mutant.where}"
    if against:
        yield f"{name}: YES, though {against[0]}"
        return
    must = told(judge, subject.cylinder)
    silent = [why for codes, why in must if not set(codes.split()) & set(said.warned)]
    if silent:
        yield f"{name}: YES without a word, though {silent[0]}"
    elif subject.is_flip(said) and (mutant.operator, subject.key) not in ALLOWED:
        yield f"{name}: YES, and no pair allows it"
    elif subject.is_flip(said) and not mutant.at_hazard:
        yield f"{name}: YES, though the hazard was not touched"


def shown(subject: Subject, mutant: Mutant) -> str:
    """What a change changed, as a difference of texts."""
    said = []
    for path in sorted({*mutant.files, *subject.ledger.files}):
        before, after = (
            files.get(path, b"").decode("utf-8", "replace").splitlines()
            for files in (subject.ledger.files, mutant.files)
        )
        said += difflib.unified_diff(
            before, after, f"seeded/{path}", f"changed/{path}", n=1, lineterm=""
        )
    return "\n".join(said)
