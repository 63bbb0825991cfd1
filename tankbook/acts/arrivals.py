"""Cylinders that arrive: what is known of each, typed as the card it is to become."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.acts.common import as_text, ticked
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Value
from tankbook.records.fields import ListOf, Nested, NodeReader, keys_of, read
from tankbook.records.marked import SUFFIXES, MarkKind, Retest
from tankbook.records.marks import Marks, read_marks
from tankbook.records.node import Finding, MappingNode, Mark, Node, Scalar, SequenceNode
from tankbook.records.words import Method, Shore, Status
from tankbook.records.written import value_of_node
from tankbook.rules.left_out import no_serial
from tankbook.rules.signing import SEEN_STICKER

FIRST_TEST, HYDRO, STICKER, ID = "first_test", "hydro", "sticker", "id"
NOT_SAME = "not_same"
SHORT = (ID, FIRST_TEST, HYDRO, STICKER, NOT_SAME)
"""Words for what is an entry, or a name, in the file: the maker's test, the last one, a sticker, a
cylinder of the same serial (`RB-015: both at hand`)."""

LIKE = (
    "maker", "specification", "service_pressure", "test_pressure", "water_volume", "size", "rated",
    "material", "alloy", "made_in", "service", "use", "stamp_means", "diameter", "length", "mass",
    "price", "valve.outlet", "valve.rating", "valve.disc", "valve.insert",
    "valve.insert_in", "valve.torque",
    "permit.number", "permit.period", "permit.test_pressure", "permit.expansion_limit",
)  # fmt: skip
"""What cylinders of one make have in common. Threads are left out: they are read on each."""

MOST = 500
"""Cylinders in one delivery; a longer range of serials is taken for a slip."""

HERE = Mark(0, 0, 0)
"""The place of what was said on the command line, or follows from it."""


class Arrival(Struct, frozen=True):
    """One cylinder to be booked in.

    `place` names where it was said (a file, or a serial); `given` holds what is known by key, with
    its line and column: dotted keys of a cylinder's file, and the words of `SHORT`. `entries` are
    dated entries besides, by the key of their list.
    """

    place: str
    given: Mapping[str, Scalar]
    entries: Mapping[str, Sequence[MappingNode]] = {}


class ArrivalCard(Struct):
    """The card of an arrival: as typed, as written, what is wrong with it, what to look at."""

    arrival: Arrival
    cylinder: Cylinder | None
    values: dict[str, Value]
    findings: list[Finding]
    notes: list[str] = field(default_factory=list)


def said(text: str, mark: Mark = HERE) -> Scalar:
    """A value with its place."""
    return Scalar(text, mark, mark)


def known_keys() -> tuple[str, ...]:
    """Every key that may be given of an arrival."""
    found = [*SHORT]
    for name, each in keys_of(Cylinder).items():
        if isinstance(each.kind, Nested):
            inner = keys_of(each.kind.record).items()
            found += [f"{name}.{k}" for k, v in inner if not isinstance(v.kind, ListOf)]
        elif not _is_entries(name) and name != "status":
            found.append(name)
    return tuple(found)


def _is_entries(name: str) -> bool:
    kind = keys_of(Cylinder)[name].kind
    return isinstance(kind, ListOf) and isinstance(kind.kind, Nested)


def serials(text: str) -> tuple[str, ...]:
    """The serials of a list (`K100,K104`) or a range (`K100..K139`), or both.

    Raises:
        ValueError: a range has no end, runs backward, or is longer than `MOST`.
    """
    found: list[str] = []
    for part in filter(None, map(str.strip, text.split(","))):
        first, dots, last = (p.strip() for p in part.partition(".."))
        found += _range(first, last) if dots else [first]
    if not found:
        raise ValueError("there is no serial in it")
    if len(found) > MOST:
        raise ValueError(f"{len(found)} serials are more than the {MOST} of one delivery")
    return tuple(found)


def _range(first: str, last: str) -> Iterator[str]:
    both = f"{first}..{last}"
    begin, end = (re.fullmatch(r"(.*?)(\d{1,9})", t) for t in (first, last))
    if not begin or not end:
        raise ValueError(f"{ticked(both)}: both ends of a range end in digits")
    if end[1] not in ("", begin[1]):
        raise ValueError(f"{ticked(both)}: both ends begin alike, as in K100..K139")
    low, high, width = int(begin[2]), int(end[2]), len(begin[2])
    if len(end[2]) != width and (end[1] or len(end[2]) < width or begin[2].startswith("0")):
        raise ValueError(f"{ticked(both)}: both ends have as many digits")
    if high < low:
        raise ValueError(f"{ticked(both)} runs backward")
    if high - low >= MOST:
        raise ValueError(f"{ticked(both)} is more than the {MOST} of one delivery")
    return (f"{begin[1]}{n:0{width}d}" for n in range(low, high + 1))


def card_of(arrival: Arrival, like: Cylinder | None, shore: Shore, read_by: str) -> ArrivalCard:
    """The card of an arrival: what was given first, then its marks, then one that it is like.

    Args:
        arrival: what was given.
        like: a cylinder of the same make.
        shore: the unit chosen where the marks give the service pressure in both.
        read_by: initials of who read a sticker, or an empty text.
    """
    values: dict[str, Scalar] = dict(_of_like(like)) if like else {}
    entries: list[dict[str, str]] = []
    notes: list[str] = []
    if "marks" in arrival.given:
        marks = read_marks(arrival.given["marks"].text)
        told = _of_marks(marks, shore, arrival.given["marks"].start)
        serial = arrival.given.get("serial")
        if serial and "maker" in told and told["maker"].text == serial.text.strip():
            del told["maker"]  # an M number by its shape alone
        values |= told
        entries, notes = _retests(marks, serial.text if serial else "")
    values |= arrival.given
    root = _tree(values, entries, read_by, arrival.entries)
    reader = NodeReader(arrival.place)
    for name, value in values.items():
        if not value.text.isprintable():
            text = f"{name} is not one line of plain text"
            reader.fault(value, "control-character", text, "retype it")
    cylinder = read(Cylinder, root, reader)
    written = {name.text: value_of_node(value) for name, value in root.pairs}
    findings = list(reader.findings)
    if "marks" in arrival.given and not _has_text(values.get("serial")):
        findings = [_without_serial(marks, f) if is_of_serial(f) else f for f in findings]
    return ArrivalCard(arrival, cylinder, written, findings, notes)


def _has_text(value: Scalar | None) -> bool:
    return value is not None and bool(value.text.strip())


def may_be_serial(marks: Marks) -> tuple[str, ...]:
    """What a serial number may be of marks of which none was read: what else has a figure and no
    other meaning, and an M number, by which some makers mark and as which a serial is read."""
    unread = (t.text for t in marks.unread if not t.could_be)
    of_maker = (t.text for t in marks.of(MarkKind.MAKER))
    return tuple(t for t in (*unread, *of_maker) if t.isalnum() and any(map(str.isdigit, t)))


def is_of_serial(found: Finding) -> bool:
    """Whether it is told of a card that it has no serial number, or none that could be read."""
    mine = found.text.startswith("serial ") or found.text.startswith(_UNREAD)
    return found.code == "missing-key" and mine


_UNREAD = ("the marks could not be read", "of the marks could not be read", "none of the marks ")


def _without_serial(marks: Marks, found: Finding) -> Finding:
    """That no serial could be read of some marks: which of them were not read, and how a serial
    that nobody can read is recorded. No true cylinder is kept out for its rust."""
    unread = ", ".join(ticked(each.text) for each in marks.unread)
    if no_serial(marks.line):
        text = f"the marks could not be read ({ticked(marks.line.strip())})"
    elif unread:
        text = f"of the marks could not be read: {unread}; and none of the others is a serial"
    else:
        text = "none of the marks can be told to be the serial"
    like = (f", if it is {each}: `--serial {each}`" for each in may_be_serial(marks))
    mend = (
        f"read the shoulder again and give the serial as `--serial`{''.join(like)}; where it "
        "cannot be read, record it as that: `--serial unread` (it is not filled till it is read)"
    )
    return replace(found, text=text, mend=mend)


def _of_like(like: Cylinder) -> Iterator[tuple[str, Scalar]]:
    for name in LIKE:
        outer, _, inner = name.partition(".")
        value = getattr(like, outer)
        value = getattr(value, inner) if inner and value is not None else value
        if value is not None and value != ():
            text = as_text(value)
            yield name, said(text if isinstance(text, str) else ", ".join(map(str, text)))


def _of_marks(marks: Marks, shore: Shore, place: Mark) -> dict[str, Scalar]:
    """What the stamp marks say of a card's keys."""
    pressures = marks.service_pressures
    chosen = next((p for p in pressures if p.unit == shore), next(iter(pressures), None))
    found = {
        "serial": marks.serial,
        "specification": ", ".join(marks.specifications),
        "service_pressure": chosen,
        "test_pressure": marks.test_pressure,
        FIRST_TEST: marks.first_date,
    }
    for name, kind in _TOKENS.items():
        token = next(marks.of(kind), None)
        found[name] = (token.value or token.text) if token else None  # type: ignore[assignment]
    return {name: said(str(value), place) for name, value in found.items() if value}


_TOKENS = {
    "maker": MarkKind.MAKER,
    "water_volume": MarkKind.WATER_VOLUME,
    "mass": MarkKind.MASS,
    "neck_thread": MarkKind.THREAD,
}

_METHODS = {
    MarkKind.ULTRASONIC: Method.ULTRASONIC,
    MarkKind.ACOUSTIC: Method.ACOUSTIC,
    MarkKind.PROOF: Method.PROOF,
}
_TAKEN = {*_METHODS, MarkKind.PLUS, MarkKind.STAR, MarkKind.EDDY_CURRENT}


def _retests(marks: Marks, serial: str) -> tuple[list[dict[str, str]], list[str]]:
    """The retest stamps as entries, and what of the marks could not be entered, but for what was
    read as the `serial`."""
    entries: list[dict[str, str]] = []
    notes: list[str] = []
    for token in marks.of(MarkKind.RETEST):
        retest = token.value
        kinds = {SUFFIXES[s] for s in retest.suffixes} if isinstance(retest, Retest) else set()
        if not isinstance(retest, Retest) or retest.when.date is None or kinds - _TAKEN:
            notes.append(f"retest stamp `{token.text}` is not entered: do it by hand")
        else:
            entries += _entries(token.text, retest, kinds)
    notes += [f"not read of the marks: {doubt}" for doubt in marks.doubts_beside(serial)]
    return entries, notes


def _entries(text: str, retest: Retest, kinds: set[MarkKind]) -> Iterator[dict[str, str]]:
    """A stamp as the test it tells of; with VE, which is no part of that test's own stamp, as the
    eddy-current test besides."""
    method = next((_METHODS[k] for k in kinds if k in _METHODS), Method.HYDROSTATIC)
    entry = {"on": str(retest.when.date), "method": method.value}
    if retest.rin:
        entry["by"] = retest.rin
    whole = " ".join([text, *(s for s in retest.suffixes if s not in text)])
    own = [s for s in retest.suffixes if SUFFIXES[s] is not MarkKind.EDDY_CURRENT]
    eddy = {**entry, "method": Method.EDDY_CURRENT.value, "stamp": whole}
    entry["stamp"] = " ".join([text, *(s for s in own if s not in text)])
    entry |= {k: "yes" for k, there in (("plus", retest.plus), ("star", retest.star)) if there}
    yield entry
    if MarkKind.EDDY_CURRENT in kinds:
        yield eddy


def _tree(
    values: Mapping[str, Scalar],
    retests: list[dict[str, str]],
    by: str,
    besides: Mapping[str, Sequence[MappingNode]],
) -> MappingNode:
    """The card as a tree, its keys in the order in which they are declared."""
    pairs: list[tuple[Scalar, Node]] = []
    for name in keys_of(Cylinder):
        node = _status() if name == "status" else _value(name, values)
        more = [*besides.get(name, ())]
        if name == "requalified":
            more = [each for each in more if not _is_told(each, values, retests)]
            node = _list([*_tests(values, retests), *more])
        elif name == "inspected" and STICKER in values:
            node = _list([_sticker(values[STICKER], by), *more])
        elif more:
            node = _list(more)
        elif name == NOT_SAME and name in values and values[name].text.strip():
            node = _list([_other(values[name], by)])
        if node is not None:
            pairs.append((said(name, node.start), node))
    # what is missing is told at the first thing that is there
    begin = min((v.start for v in values.values() if v.start.line), default=HERE)
    return MappingNode(tuple(pairs), begin, HERE)


def _status() -> Scalar:
    return said(Status.AWAITING_INSPECTION.value)


def _value(name: str, values: Mapping[str, Scalar]) -> Node | None:
    kind = keys_of(Cylinder)[name].kind
    if isinstance(kind, Nested):
        inner = [
            (k, values[f"{name}.{k}"]) for k in keys_of(kind.record) if f"{name}.{k}" in values
        ]
        found = tuple((said(k, v.start), v) for k, v in inner if v.text.strip())
        return MappingNode(found, found[0][1].start, HERE, True) if found else None
    given = values.get(name)
    if given is None or not given.text.strip() or _is_entries(name):
        return None
    if isinstance(kind, ListOf):
        parts = filter(None, (p.strip() for p in re.split(r"[,;]", given.text)))
        items = tuple(Scalar(p, given.start, given.end) for p in parts)
        return items[0] if len(items) == 1 else SequenceNode(items, given.start, given.end, True)
    return given


def _tests(values: Mapping[str, Scalar], retests: list[dict[str, str]]) -> list[MappingNode]:
    found = []
    if FIRST_TEST in values and values[FIRST_TEST].text:
        rest = {"method": Method.HYDROSTATIC.value, "by": "maker"}
        found.append(entry_of(values[FIRST_TEST], rest))
    found += [entry_of(said(r["on"]), {k: v for k, v in r.items() if k != "on"}) for r in retests]
    if HYDRO in values and values[HYDRO].text:
        hydro = entry_of(values[HYDRO], {"method": Method.HYDROSTATIC.value})
        found += [] if _is_told(hydro, values, retests) else [hydro]
    return found


def _is_told(
    test: MappingNode, values: Mapping[str, Scalar], retests: list[dict[str, str]]
) -> bool:
    """Whether the marks tell of a pressure test in the month of one that is given already."""
    on, method = test.get("on"), test.get("method")
    if not isinstance(on, Scalar) or not isinstance(method, Scalar):
        return False
    if method.text != Method.HYDROSTATIC:
        return False
    said_on = on.text.strip()[:7]
    tests = [r["on"] for r in retests if r["method"] != Method.EDDY_CURRENT]
    tests += [values[FIRST_TEST].text] if FIRST_TEST in values else []
    return said_on in (on.strip()[:7] for on in tests)


def _sticker(on: Scalar, by: str) -> MappingNode:
    rest = {"checklist": SEEN_STICKER, "result": "pass", "sticker": "seen"}
    return entry_of(on, {**rest, "note": f"read by {by}"} if by else rest)


def _other(said_of: Scalar, by: str) -> MappingNode:
    """`RB-015: both at hand` as the card says it."""
    id_, _, why = said_of.text.partition(":")
    facts = {"id": id_.strip(), "by": by, "why": why.strip()}
    pairs = tuple((said(k, said_of.start), said(v, said_of.start)) for k, v in facts.items() if v)
    return MappingNode(pairs, said_of.start, said_of.end, True)


def entry_of(on: Scalar, rest: Mapping[str, str]) -> MappingNode:
    """A dated entry of a list, from its day and what else it says."""
    pairs = [(said("on", on.start), on), *((said(k), said(v)) for k, v in rest.items())]
    return MappingNode(tuple(pairs), on.start, on.end, True)


def _list(items: list[MappingNode]) -> SequenceNode | None:
    return SequenceNode(tuple(items), items[0].start, items[-1].end) if items else None
