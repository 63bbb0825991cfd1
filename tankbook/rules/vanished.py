"""What two versions of a file say is gone that may not go without a word.

An entry that tells against its cylinder, what a set consists of, a failed test of the station, a
rule, a line of the log, what a person was certified for. Entries go on as `records.life` declares;
whatever else becomes of one of these is told.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec.structs import replace

from tankbook.records.absence import SETTINGS_PATH, Explained, Gone, How, Quiet, folded_name
from tankbook.records.checklist import Checklist
from tankbook.records.commits import LineSeen
from tankbook.records.cylinder import Doubles, Removed
from tankbook.records.entries import Inspected, Rented, Requalified
from tankbook.records.fields import ListOf, Nested, NodeReader, Record, keys_of, read
from tankbook.records.life import is_adverse, keeps_away
from tankbook.records.marked import MarkKind
from tankbook.records.marks import read_marks
from tankbook.records.node import MappingNode, Mark, Node, Scalar, SequenceNode
from tankbook.records.rulerow import RuleRow, RuleSet, WatchRow
from tankbook.records.station import Hours
from tankbook.records.words import Status
from tankbook.rules.changes import (
    Change,
    LogChange,
    What,
    WrittenEntry,
    cell,
    compare,
    flat,
    grown,
    items_of,
    keys_in,
    same_value,
    sort_out,
    under,
)
from tankbook.rules.clearing import JUDGED_ALONE
from tankbook.rules.expansion import kept_share
from tankbook.rules.stamped import said_by
from tankbook.rules.strictness import looser_in
from tankbook.rules.threads import stated, threads_match

MANY = 50
"""Lines of one log that are told one by one; more are told as the log."""
LONGEST = 200
"""Characters of what something said that are told."""

_DECIDING = frozenset(
    {"result", "findings", "damage", "valve", "pressure", "back", "refitted", "released", "lifted"}
    | {"neck_thread", "valve_thread", "total_expansion", "permanent_expansion"}
)
"""Keys by which an entry tells against its cylinder, beside its kind."""
_NOWHERE = Mark(0, 0, 0)


# --- entries of a card, a set, the station


def tells_against(entry: WrittenEntry) -> bool:
    """Whether an entry is adverse, or ages what it is of, or whether that cannot be read from what
    was written."""
    if entry.record is Hours:
        return True  # the filters age by them
    known = keys_of(entry.record)
    pairs = entry.node.pairs if isinstance(entry.node, MappingNode) else ()
    said = {name.text: value for name, value in pairs}
    kept = {k: v for k, v in said.items() if k in known and k in _DECIDING}
    # what else is missing or misspelt does not decide, so an example stands for it
    kept |= {
        k.name: _scalar(k.example) for k in known.values() if k.required and k.name not in kept
    }
    reader = NodeReader("")
    whole = MappingNode(
        tuple((_scalar(k), v) for k, v in kept.items()), entry.node.start, entry.node.end
    )
    record = read(entry.record, whole, reader)
    if record is None or _speaks_against(record):
        return True
    decides = _DECIDING & known.keys()
    unread = reader.findings or said.keys() - known.keys() or not pairs
    return bool(decides) and bool(unread or any(known[k].required for k in decides - said.keys()))


_KEPT = 5.0
"""Percent of its expansion that a cylinder may keep under the strictest of the rules (a row says
what counts for it; here a test that kept more is missed when it goes)."""


def _speaks_against(record: Record) -> bool:
    """Whether an entry tells against its cylinder, by what it says or by what it found."""
    if is_adverse(record) or keeps_away(record):
        return True
    if isinstance(record, Inspected):
        neck, valve = stated(record.neck_thread), stated(record.valve_thread)
        differ = neck and valve and not threads_match(neck, valve)
        return bool(differ) or any(f.what in JUDGED_ALONE for f in record.findings)
    if isinstance(record, Requalified):
        share = kept_share(record)
        return share is not None and share > _KEPT
    return False


def _may_say(record: Record) -> bool:
    """Whether what an entry says has to be judged by the rules to know whether it tells against
    its cylinder."""
    if isinstance(record, Inspected):
        return bool(record.findings)
    if isinstance(record, Requalified):
        said = record.test_pressure, record.total_expansion, record.finding, record.note
        return any(said)
    return isinstance(record, Rented) and record.pressure is not None


def tells_nothing(record: Record, words: tuple[str, ...] = ()) -> bool:
    """Whether no entry of a record tells against it, nor its shoulder; `words` as in
    `says_condemned`."""
    lists = (getattr(record, name) for name in type(record).declared)
    entries = (e for each in lists if isinstance(each, tuple) for e in each)
    adverse = any(isinstance(e, Record) and (_speaks_against(e) or _may_say(e)) for e in entries)
    if adverse or getattr(record, "status", None) in _ENTRIES_OF:
        return False
    return not says_condemned(getattr(record, "marks", None) or "", words)


def keeps_all(before: Record, after: Record) -> bool:
    """Whether every entry of a record stands in a later version of it, word for word."""
    for name in type(before).declared:
        was, now = getattr(before, name), getattr(after, name)
        if was != now and (_has_entries(was) or isinstance(was, Record)):
            left = list(now) if isinstance(now, tuple) else []
            for entry in was if isinstance(was, tuple) else (was,):
                if entry not in left:
                    return False
                left.remove(entry)
    return True


def _has_entries(value: object) -> bool:
    return isinstance(value, tuple) and any(isinstance(each, Record) for each in value)


def _scalar(text: str) -> Scalar:
    return Scalar(text, _NOWHERE, _NOWHERE)


def _is_sound(entry: WrittenEntry) -> bool:
    reader = NodeReader("")
    return read(entry.record, entry.node, reader) is not None and not reader.findings


def _counts(change: Change) -> bool:
    """Whether a change took away or altered what tells against a cylinder."""
    was, now = change.was, change.is_
    if was is None or change.what not in (What.ALTERED, What.REMOVED) or not tells_against(was):
        return False
    # what was misspelt may be put right
    mended = now is not None and not _is_sound(was) and _is_sound(now) and tells_against(now)
    return not mended


def entries_gone(
    path: str, before: Node, after: Node | None, words: tuple[str, ...] = ()
) -> tuple[Gone, ...]:
    """Entries of a card, a set or the station that tell against it and are gone or altered; `words`
    as in `says_condemned`.

    A part of the station that goes on under another name takes its entries along.
    """
    changes = [c for c in compare(path, before, after) if c.was is not None or c.is_ is not None]
    marks = (*_marks_gone(path, before, after, words), *_status_gone(path, before, after))
    lost = [c for c in changes if _counts(c)]
    if lost:
        there = {_part(c.place) for c in compare(path, before, None)}
        new = [c for c in changes if c.what is What.ADDED and _part(c.place) not in there]
        lost = [c for c in lost if not any(_carries(n, c) for n in new)]
    return (*marks, *(_of_entry(c) for c in lost))


def checkpoints_gone(path: str, before: Node, after: Node) -> tuple[Gone, ...]:
    """Checkpoints of audits that are gone or altered: they are only ever added to."""
    changes = (c for c in compare(path, before, after) if c.was is not None)
    lost = (c for c in changes if c.what in (What.ALTERED, What.REMOVED))
    return tuple(replace(_of_entry(c), what=_short(f"checkpoint {c.on}")) for c in lost)


def entries_quiet(path: str, before: Node, after: Node) -> tuple[Quiet, ...]:
    """Entries of a card or the station that are gone or altered, and that tell against nothing by
    themselves. One that was made anew in most of its keys stands in the stead of the newest."""
    found = []
    changes = compare(path, before, after)
    for change in changes:
        was = change.was
        if was is None or _counts(change) or change.what not in (What.ALTERED, What.REMOVED):
            continue
        record = read(was.record, was.node, NodeReader(path))
        if record is not None:
            now = change.is_ or _in_its_stead(change, changes, before)
            found.append(Quiet(_of_entry(change), record, now.line if now is not None else 0))
    return tuple(found)


def _in_its_stead(lost: Change, changes: Iterable[Change], before: Node) -> WrittenEntry | None:
    """The new entry that stands where the newest of a list stood, if that is gone."""
    every = compare(lost.path, None, before)
    if any(c.place == lost.place and c.on > lost.on for c in every):
        return None
    new = (c.is_ for c in changes if c.place == lost.place and c.what is What.ADDED)
    return next(new, None)


def _marks_gone(
    path: str, before: Node, after: Node | None, words: tuple[str, ...]
) -> Iterator[Gone]:
    """The marks of a shoulder that said condemned, and say so no longer."""
    if not path.startswith("cylinders/"):
        return
    was, is_ = (flat(under(n, "marks")).get("", "") for n in (before, after))
    if says_condemned(was, words) and not says_condemned(is_, words):
        node = under(before, "marks")
        line = node.start.line if node is not None else 0
        how = How.GONE if after is None else How.ALTERED
        now = _now(after, "marks")
        yield Gone(path, "marks", how, (), "marks", line, _short(was), (), "", path, now)


_ENTRIES_OF = {
    Status.CONDEMNED: "condemned",
    Status.REJECTED: "rejected",
    Status.HELD: "held",
    Status.LOST: "lost",
}


AGAINST = frozenset(_ENTRIES_OF)
"""What a status says against a cylinder by itself."""


def _status_gone(path: str, before: Node, after: Node | None) -> Iterator[Gone]:
    """A status that spoke against a cylinder, and no entry beside it, that is another now."""
    if not path.startswith("cylinders/"):
        return
    was, is_ = (flat(under(n, "status")).get("", "").casefold() for n in (before, after))
    place = next((p for s, p in _ENTRIES_OF.items() if s.value == was), "")
    node = under(before, "status")
    if place and node is not None and was != is_ and not flat(under(before, place)):
        how = How.GONE if after is None else How.ALTERED
        entry_now = bool(flat(under(after, place)))
        if not entry_now:
            line, now = node.start.line, _now(after, "status")
            yield Gone(path, f"status {was}", how, (), "status", line, was, (), "", path, now)


def says_condemned(marks: str, words: tuple[str, ...] = ()) -> bool:
    """Whether the marks of a shoulder say condemned, by an X over one of them or in words: those of
    the law, and `words` of the trade that take it out of use."""
    read = read_marks(marks)
    crossed = bool(read.struck) or any(read.of(MarkKind.SUFFIX_PLACE))
    return read.condemned or crossed or bool(said_by(marks, words))


def _part(place: str) -> str:
    """The part of the station that a place lies in: `whips.W2` of `whips.W2.checked`."""
    return place.rpartition(".")[0]


def _carries(new: Change, lost: Change) -> bool:
    """Whether an entry of a new part of the station is one that an old part had."""
    assert new.is_ is not None
    assert lost.was is not None
    lists = {c.place.partition(".")[0] for c in (new, lost)}
    return len(lists) == 1 and grown(lost.was, new.is_) is not None


def _of_entry(change: Change) -> Gone:
    assert change.was is not None
    values, was = change.before or {}, change.was
    card = change.path.startswith("cylinders/")
    owner = "" if card or "/" not in change.path else f"{stem(change.path)} "
    return Gone(
        path=change.path,
        what=_short(f"{owner}{_called(change.place)} {change.on}"),
        how=How.GONE if change.after is None else How.ALTERED,
        place=change.place,
        line=was.line,
        said=_short(", ".join(f"{k}: {v}" for k, v in values.items() if k != "on")),
        differs=change.differing if change.after is not None else (),
        explain_in=change.path if card else SETTINGS_PATH,
        now=_sorted(change.after),
    )


def _called(place: str) -> str:
    """A list of entries in a word or two: `held`, `air test`, `W2 checked`."""
    if place == "air_tests":
        return "air test"
    first, _, rest = place.partition(".")
    part, _, last = rest.rpartition(".")
    return f"{part} {last}" if part else rest or first


def card_gone(path: str, before: Node, words: tuple[str, ...] = ()) -> Gone:
    """A whole card that is gone, with what told against its cylinder."""
    told = ", ".join(g.what for g in entries_gone(path, before, None, words))
    return Gone(path, path, said=_short(told))


def set_gone(path: str, before: Node, after: Node, renamed: Mapping[str, str]) -> Iterator[Gone]:
    """What makes a set another one: its cylinders (but for new names of theirs) or its rating."""
    old, new = (_texts(under(n, "cylinders")) for n in (before, after))
    if {renamed.get(i, i) for i in old} != set(new) and set(old) != set(new):
        yield _fact(path, "cylinders", before, after)
    rating = [flat(under(n, "rating")).get("") for n in (before, after)]
    if rating[0] and not same_value(Doubles, "rating", *rating):
        yield _fact(path, "rating", before, after)


def checklist_gone(path: str, before: Node, after: Node) -> Iterator[Gone]:
    """What makes a checklist look at more than it did, without another step."""
    for key in ("full", "inside"):
        was, is_ = (flat(under(n, key)).get("", "no") for n in (before, after))
        if was.casefold() in {"no", "false"} and not same_value(Checklist, key, was, is_):
            yield _fact(path, key, before, after)


def _fact(path: str, key: str, before: Node, after: Node) -> Gone:
    node = under(before, key)
    said = _short(", ".join(flat(node).values()))
    line = node.start.line if node is not None else 0
    now = _now(after, key)
    return Gone(path, f"{path} {key}", How.ALTERED, place=key, line=line, said=said, now=now)


# --- rules


_PROSE = frozenset({"note", "edition", "citation", "grade", "verified", "by", "why"})
_SET_FACTS = {"stands_alone": "no", "needs_stamp_means": "yes"}
"""What a rule set says of itself, with what is the stricter."""


def rows_gone(path: str, before: Node, after: Node | None, now: Sequence[Node]) -> Iterator[Gone]:
    """Rows of a rule set that are gone, or changed so that they may be less strict.

    Args:
        path: the file.
        before: the rule set as it was.
        after: the rule set at the same path; None where there is none.
        now: every rule set that is new or changed: a row may have moved.
    """
    for place, kind in (("rows", RuleRow), ("watch", WatchRow)):
        there = [row for node in now for row in _rows(node, place, kind)]
        for row in _rows(before, place, kind):
            name = row.values.get("id", "")
            same = [r for r in there if r.values.get("id", "") == name]
            differs = sorted({k for r in same for k in _looser(row, r)})
            if not same or differs:
                how = How.ALTERED if same else How.GONE
                said = _short(", ".join(f"{k}: {v}" for k, v in row.values.items() if k != "id"))
                what = _short(f"{path} {name}".strip())
                stead = _sorted(same[0].values) if len(same) == 1 else ()
                keys = tuple(differs)
                yield Gone(path, what, how, (), place, row.line, said, keys, now=stead)
    if after is not None:
        yield from _set_facts(path, before, after)


def _rows(node: Node, place: str, kind: type[Record]) -> list[WrittenEntry]:
    rows = (row for row in items_of(under(node, place)) if isinstance(row, MappingNode))
    return [WrittenEntry.of(kind, row) for row in rows]


_FROM_WHEN = frozenset({"since", "until"})
"""Keys that say when a row holds, which its strictness does not."""


def _looser(b: WrittenEntry, a: WrittenEntry) -> Iterator[str]:
    """The keys that differ between two versions of a row that may be less strict now, but for
    prose: judged as the ledger's own rows are held against the shipped ones."""
    was, is_ = _row(b), _row(a)
    stricter = was is not None and is_ is not None and not looser_in(is_, was)
    for key in {**b.values, **a.values}:
        old, new = b.values.get(key), a.values.get(key)
        differs = old != new and not same_value(b.record, key, old, new)
        if key not in _PROSE and differs and (not stricter or key in _FROM_WHEN):
            yield key


def _row(row: WrittenEntry) -> RuleRow | WatchRow | None:
    reader = NodeReader("")
    found = read(row.record, row.node, reader)
    sound = isinstance(found, RuleRow | WatchRow) and not reader.findings
    return found if sound and isinstance(found, RuleRow | WatchRow) else None


def _set_facts(path: str, before: Node, after: Node) -> Iterator[Gone]:
    for key, stricter in _SET_FACTS.items():
        was, is_ = (flat(under(n, key)).get("") for n in (before, after))
        if not same_value(RuleSet, key, was, is_) and not same_value(RuleSet, key, is_, stricter):
            yield _fact(path, key, before, after)


# --- settings


def settings_gone(before: Node, after: Node) -> Iterator[Gone]:
    """People and what they were certified for, and rule sets, that are gone or altered."""
    people = under(after, "people")
    missing = [n for n in keys_in(under(before, "people")) if n not in set(keys_in(people))]
    for name in missing:
        node = under(under(before, "people"), name)
        said = _short(", ".join(f"{k}: {v}" for k, v in flat(node).items()))
        line = node.start.line if node is not None else 0
        yield Gone(SETTINGS_PATH, _short(f"person {name}"), place="people", line=line, said=said)
    for change in compare(SETTINGS_PATH, before, after):
        name = change.place.removeprefix("people.").rpartition(".")[0]
        if change.place.startswith("people.") and name not in missing:
            yield from _of_person(name, change)
    stays = {n.casefold() for n in _texts(under(after, "rules"))}
    for name in _texts(under(before, "rules")):
        if name.casefold() not in stays:
            yield Gone(SETTINGS_PATH, _short(f"rule set {name}"), place="rules")


def _of_person(name: str, change: Change) -> Iterator[Gone]:
    before, after = change.before or {}, change.after or {}
    if change.place.endswith(".left") and before:
        how = How.ALTERED if after else How.GONE
        now, what = _sorted(change.after), _short(f"{name} left")
        yield Gone(SETTINGS_PATH, what, how, (), change.place, change.line, now=now)
    if change.was is None or change.what is What.ADDED:
        return
    kept = before.keys() & {"skill", "from", "until"}
    differs = [k for k in change.differing if k in kept]
    if change.after is None or differs:
        what = f"{name} {before.get('skill', 'certification')} {change.on}"
        how, said = How.ALTERED, ", ".join(f"{k}: {v}" for k, v in before.items())
        if change.after is None:
            how, differs = How.GONE, []
        yield Gone(
            SETTINGS_PATH, _short(what), how, (), change.place, change.was.line, _short(said),
            tuple(differs), now=_sorted(change.after),
        )  # fmt: skip


# --- the log


def lines_gone(
    path: str, missing: Sequence[LineSeen], added: Sequence[LineSeen], stands: bool
) -> tuple[Gone, ...]:
    """Lines of a log that are gone or edited.

    Args:
        path: the log.
        missing: lines that stood in it and stand in no log now.
        added: lines that stand in some log now and did not.
        stands: whether there still is such a log.
    """
    whole = [m for m in missing if m.cells or not any(a.text.startswith(m.text) for a in added)]
    if not whole:
        return ()
    if not stands:
        return (Gone(path, path, said=f"{len(whole)} lines"),)
    if len(whole) > MANY:
        ids = {cell(line, 1) for line in whole}
        known = () if "" in ids else tuple(sorted(ids))
        return (Gone(path, path, How.ALTERED, known, said=f"{len(whole)} lines"),)
    changes, _ = sort_out(whole, added)
    return tuple(_of_line(c) for c in changes)


def _of_line(change: LogChange) -> Gone:
    was, now = change.before, change.after
    what = f"{cell(was, 2)} {cell(was, 0)} {cell(was, 1)}"
    ids = (cell(was, 1), *([cell(now, 1)] if now else []))
    return Gone(
        path=was.path,
        what=_short(what if was.cells else f"line {was.number} of {was.path}"),
        how=How.GONE if now is None else How.ALTERED,
        ids=tuple(dict.fromkeys(filter(None, ids))) if was.cells else (),
        line=was.number,
        said=_short(was.text),
        differs=tuple(name for name, _, _ in change.cells),
    )


# --- what was put back


def put_back(gone: Gone, path: str, here: Node, before: Node) -> bool:
    """Whether what stands in the stead of something is what stood there in an older version still:
    it was altered, and is again as it was. `path` is the file it stands in now."""
    if gone.how is not How.ALTERED or not gone.now:
        return False
    counts = [_said_so(path, gone.place, node).count(gone.now) for node in (here, before)]
    return 0 < counts[0] <= counts[1]


def _said_so(path: str, place: str, node: Node) -> list[tuple[tuple[str, str], ...]]:
    """What a file says at a place: its entries there, or its fact."""
    if path.startswith(("rules/", "checklists/")):
        kinds: dict[str, type[Record]] = {"rows": RuleRow, "watch": WatchRow}
        kind = kinds.get(place)
        return (
            [_sorted(r.values) for r in _rows(node, place, kind)] if kind else [_now(node, place)]
        )
    return [_sorted(c.before) for c in compare(path, node, None) if c.place == place]


def _now(node: Node | None, key: str) -> tuple[tuple[str, str], ...]:
    return _sorted(flat(under(node, key), key))


def _sorted(values: Mapping[str, str] | None) -> tuple[tuple[str, str], ...]:
    return tuple(sorted((values or {}).items()))


# --- what explains it


def removed_in(node: Node | None, path: str = "") -> list[Removed]:
    """The entries of `removed` in a card or the settings that say all that they must."""
    kind = ListOf(Nested(Removed))
    found = []
    for item in items_of(under(node, "removed")):
        reader = NodeReader(path)
        got = kind.kind.read(item, "", reader)
        if got is not None and not reader.findings:
            found.append(got)
    return found


def explained(
    gone: Iterable[Gone], before: Sequence[Removed], now: Sequence[Removed]
) -> tuple[list[Gone], list[Explained]]:
    """What is still to be explained, and what an entry of `removed` explains.

    An entry explains one thing, and only one that went after it: where both stood in the commit,
    the thing had come back.
    """
    spent = Counter(folded_name(r.what) for r in before)
    told: dict[str, list[Removed]] = {}
    for each in now:
        name = folded_name(each.what)
        if spent[name]:
            spent[name] -= 1
        else:
            told.setdefault(name, []).append(each)
    left: list[Gone] = []
    found: list[Explained] = []
    for one in gone:
        words = told.get(folded_name(one.what))
        if words:
            found.append(Explained(one, words.pop(0)))
        else:
            left.append(one)
    return left, found


# --- helpers


def stem(path: str) -> str:
    """The id in a path: the name of its file without `.yaml`."""
    return path.rpartition("/")[2].removesuffix(".yaml")


def serial_of(node: Node | None) -> tuple[str, str] | None:
    """The serial and the maker of a card, spelling aside; None where it has no serial."""
    serial, maker = (folded_name(flat(under(node, k)).get("", "")) for k in ("serial", "maker"))
    return (serial, maker) if serial else None


def same_serial(one: Sequence[str] | None, other: Sequence[str] | None) -> bool:
    """Whether two serials, each with its maker, are one, and no maker says otherwise."""
    if one is None or other is None or one[0] != other[0]:
        return False
    return one[1] == other[1] or not (one[1] and other[1])


def with_ids(gone: Iterable[Gone], *ids: str) -> list[Gone]:
    """The same, concerning some cylinders or sets."""
    return [replace(g, ids=tuple(dict.fromkeys(ids))) for g in gone]


def members(node: Node | None) -> tuple[str, ...]:
    """The cylinders of a set."""
    return tuple(_texts(under(node, "cylinders")))


def _texts(node: Node | None) -> list[str]:
    """The texts of a list; a single one stands for a list of one."""
    items = node.items if isinstance(node, SequenceNode) else (node,)
    return [i.text.strip() for i in items if isinstance(i, Scalar) and i.text.strip()]


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"
