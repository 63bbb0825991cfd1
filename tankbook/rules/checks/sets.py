"""What can be wrong with doubles."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set

from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.rules.checks.declared import FAULT, Says, on_files, on_set
from tankbook.rules.spelling import ids_like, ids_near


@on_set("set-size", FAULT)
def two_cylinders(doubles: Doubles) -> Iterator[Says]:
    """A set is two different cylinders."""
    if len(doubles.cylinders) != 2 or len(set(doubles.cylinders)) != 2:
        text = f"{doubles.id} does not name two different cylinders"
        yield Says(doubles.source.at("cylinders"), text, "name both")


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


@on_set("unlike-pressures", FAULT)
def alike(doubles: Doubles, sides: tuple[Cylinder, ...]) -> Iterator[Says]:
    """The two sides of a set have one service pressure."""
    if len({c.service_pressure for c in sides}) > 1:
        text = f"the sides of {doubles.id} differ in service pressure"
        yield Says(doubles.source.at("cylinders"), text)
