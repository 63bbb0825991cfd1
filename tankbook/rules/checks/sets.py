"""What can be wrong with doubles."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set

from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.finding import FindingRow
from tankbook.rules.checks.declared import FAULT, WARN, Says, on_files, on_set
from tankbook.rules.clearing import speaks_of
from tankbook.rules.spelling import ids_like, ids_near


@on_set("set-size", FAULT)
def two_cylinders(doubles: Doubles) -> Iterator[Says]:
    """A set is two different cylinders."""
    if len(doubles.cylinders) != 2 or len(set(doubles.cylinders)) != 2:
        text = f"{doubles.id} does not name two different cylinders"
        yield Says(doubles.source.at("cylinders"), text, "name both")


@on_files("set-half", WARN, since="0.2")
def other_sides_are_known(
    all_sets: Mapping[str, Doubles],
    cylinders: Mapping[str, Cylinder],
    set_names: Mapping[str, tuple[str, ...]],
) -> Iterator[Says]:
    """Where a set names one cylinder alone, any that is in no set may be the other."""
    single = tuple(i for i in cylinders if i not in set_names)
    for doubles in all_sets.values():
        if len({i for i in doubles.cylinders if i in cylinders}) == 1 and single:
            text = f"{doubles.id} names one of its cylinders, and it may be the other"
            yield Says(doubles.source.at("cylinders"), text, "name both", touches=single)


@on_set("unknown-cylinder", FAULT)
def sides_are_known(
    doubles: Doubles, ids: Set[str], all_sets: Mapping[str, Doubles]
) -> Iterator[Says]:
    """Both sides of a set are cylinders of the ledger."""
    for member in dict.fromkeys(doubles.cylinders):
        if member not in ids or member in all_sets:
            text = f"{member}, named in {doubles.id}, is not in the ledger"
            yield Says(doubles.source.at("cylinders"), text, "book it in, or name the right one")


@on_files("side-misnamed", FAULT, since="0.2")
def sides_are_named_as_their_files(
    all_sets: Mapping[str, Doubles], ids: Set[str], set_names: Mapping[str, tuple[str, ...]]
) -> Iterator[Says]:
    """A set names its sides as their files are named: a card that looks like one, or that is in no
    set and one slip away, may be it."""
    for doubles in all_sets.values():
        for member in dict.fromkeys(doubles.cylinders):
            if member in ids:
                continue
            near = (i for i in ids_near(member, ids) if i not in set_names)
            alike = ids_like(member, ids) or tuple(near)
            if alike:
                text = f"{doubles.id} names {member}, and the ledger has {', '.join(alike)}"
                mend = "name the file as the set does, or the other way"
                yield Says(doubles.source.at("cylinders"), text, mend, touches=alike)


@on_set("in-two-sets", FAULT)
def in_one_set(doubles: Doubles, set_names: Mapping[str, tuple[str, ...]]) -> Iterator[Says]:
    """A cylinder is in one set at a time."""
    for member in dict.fromkeys(doubles.cylinders):
        others = [n for n in set_names.get(member, ()) if n != doubles.id]
        if others:
            text = f"{member} is in {doubles.id} and in {others[0]}"
            yield Says(doubles.source.at("cylinders"), text, "take it out of one")


@on_set("set-speaks-of-finding", WARN, since="0.2")
def set_is_sound(doubles: Doubles, finding_rows: Sequence[FindingRow]) -> Iterator[Says]:
    """What a set's own texts say of damage is a finding of one of its cylinders."""
    for name in ("note", "manifold"):
        text = getattr(doubles, name) or ""
        words = (speaks_of(text, word) for row in finding_rows for word in row.words)
        word = next(filter(None, words), "")
        if word:
            said = f"the {name} of {doubles.id} speaks of {word}: `{text[:60]}`"
            mend = "record it as a finding of the cylinder it is of, or mend the set and reword it"
            yield Says(doubles.source.at(name), said, mend)


@on_set("unlike-pressures", FAULT)
def alike(doubles: Doubles, sides: tuple[Cylinder, ...]) -> Iterator[Says]:
    """The two sides of a set have one service pressure."""
    if len({c.service_pressure for c in sides}) > 1:
        text = f"the sides of {doubles.id} differ in service pressure"
        yield Says(doubles.source.at("cylinders"), text)
