"""Every code, question and rule row is explained, in words that say something, with a mend that works.

`pytest tests/output --snapshot-update` writes `docs/explained.md` and `docs/glossary.md` anew.
"""

from __future__ import annotations

import ast
import inspect
import re
import shlex
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from pages import explained_page, glossary_page

import tankbook
from tankbook.cli.commands import every_line
from tankbook.cli.options import declared, marker_of, name_of, signature_of
from tankbook.ledger import shipped
from tankbook.output import explained as output
from tankbook.output.page import Page
from tankbook.records import cylinder, entries, valve
from tankbook.records.explained import QUESTIONS, Explanation
from tankbook.records.fields import ListOf, OneOf
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Status
from tankbook.rules.checks import CHECKS

DOCS = Path(__file__).parents[2] / "docs"
CODE = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
ROWS = {r.id: r for name in shipped.rule_set_names() for r in shipped.rule_set(name).every_row}
TEXTS = {
    (group.id == QUESTIONS, code): text
    for group in shipped.explained().groups
    for code, text in group.codes.items()
}
CODES = {code: text for (asks, code), text in TEXTS.items() if not asks}
ABOUT = {code: text for (asks, code), text in TEXTS.items() if asks}

PLACE = {
    "Finding": 1, "_of": 1, "fault": 1, "_fault": 0, "_stop": 0, "_note": 2, "_advice": 2, "Reason": 0, "Condition": 2, "OwnRow": 3,
}  # fmt: skip
"""At what place a call takes a code."""
PARTS = ("valve-rating", "insert-rating", "manifold-rating", "outlet")
"""What the codes of what stands too little begin with."""


@cache
def given() -> frozenset[str]:
    """Every code that the source can give: of checks, of calls that take one, of the tables that
    hold some, and of the states that rule rows speak of."""
    found = set(CHECKS)
    for path, tree in sources().items():
        room = path.relative_to(Path(tankbook.__file__).parent).parts[0]
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                called = getattr(node.func, "attr", getattr(node.func, "id", ""))
                place = PLACE.get(called, 99)
                if room == "acts" and called == "_fault":
                    continue
                if len(node.args) > place:
                    found |= set(_texts(node.args[place]))
                for each in node.keywords:
                    if place < 99 and each.arg == "code":
                        found |= set(_texts(each.value))
            elif isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant):
                names = {getattr(t, "id", "") for t in node.targets}
                if "code" in names:
                    found.add(node.value.value)
    from tankbook.ledger import csvlog, events
    from tankbook.rules import conditions

    found |= set(events._FAULTS) | {code for _, code, _ in conditions._FINDINGS.values()}
    found |= {"open-quote", "stray-quote", "cell-count"}
    assert all(f'"{each}"' in inspect.getsource(csvlog) for each in ("open-quote", "stray-quote"))
    found |= {f"standing-{s}" for s in Status if s is not Status.IN_SERVICE}
    found |= {f"{part}-below" for part in PARTS} | {f"{part}-below-limit" for part in PARTS}
    for row in ROWS.values():
        for state in (
            getattr(row.applies_to, "state", ())
            if hasattr(row, "applies_to") and row.applies_to
            else ()
        ):
            if row.obligation in BY_STATE and state not in CHECKED:
                found.add(f"{row.obligation}-{state}")
    return frozenset(
        c for c in found if (isinstance(c, str) and CODE.fullmatch(c) and "-" in c) or c in WORDS
    )


BY_STATE = {
    Obligation.PERMIT, Obligation.RETURNED, Obligation.LEAVING, Obligation.AIR_TEST, Obligation.GAUGE_CHECK, Obligation.WHIP_CHECK,
    Obligation.POSITION_CHECK, Obligation.RELIEF_CHECK, Obligation.CO_ALARM, Obligation.UPKEEP, Obligation.OPENING, Obligation.BANK_HOLD,
    Obligation.SOURCE,
}  # fmt: skip
"""Questions whose codes are made of the question and the state that a row names."""
CHECKED = {"period-too-long", "test-too-low", "test-too-high"}
"""States of a permit of which a check tells, under its own code: `permit-bounds`."""
WORDS = {
    "tab",
    "anchor",
    "alias",
    "tag",
    "directive",
    "crlf",
    "unreadable",
    "pending",
    "recalled",
    "bulged",
    "permit",
    "gone",
    "unanswered",
    "star",
    "status",
    "expansion",
    "vanished",
    "checkpoint",
}
"""Codes of one word."""


@cache
def sources() -> dict[Path, ast.Module]:
    """Every module of the program, parsed."""
    paths = Path(tankbook.__file__).parent.rglob("*.py")
    return {path: ast.parse(path.read_text(encoding="utf-8")) for path in paths}


@cache
def constants() -> dict[str, set[str]]:
    """The texts that have a name of their own in a module, by that name."""
    found: dict[str, set[str]] = {}
    for tree in sources().values():
        for node in tree.body:
            if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant):
                for target in node.targets:
                    found.setdefault(getattr(target, "id", ""), set()).add(str(node.value.value))
    return found


def _texts(node: ast.expr) -> Iterator[str]:
    match node:
        case ast.Constant(value=str(text)):
            yield text
        case ast.Name(id=name) | ast.Attribute(attr=name):
            yield from constants().get(name, ())
        case ast.IfExp():
            yield from _texts(node.body)
            yield from _texts(node.orelse)


def test_every_code_is_explained() -> None:
    assert len(given()) > 300
    assert sorted(given() - CODES.keys()) == []


def test_nothing_is_explained_that_no_code_is() -> None:
    assert sorted(CODES.keys() - given() - ELSEWHERE) == []


ELSEWHERE = {
    "refused-before", "refused-found", "refused-leak", "noted-shell", "noted-gas",
    "regulator-failed", "regulator-recorded-above-limit", "regulator-above-limit", "regulator-unknown",
    "gauge-ceiling-below-limit", "doubles-other-side", "thread-unknown", "thread-unread",
}  # fmt: skip
"""Codes that the source makes of two variables, so that they are not read off it."""


def test_what_is_not_read_off_the_source_is_of_a_question_or_a_state_of_one() -> None:
    states = {
        s for r in ROWS.values() for s in getattr(getattr(r, "applies_to", None), "state", ())
    }
    for code in ELSEWHERE:
        assert (
            code in states
            or code.partition("-")[2] in states
            or any(code.removeprefix(f"{o}-") in states for o in Obligation)
        ), code


def test_every_question_and_so_every_rule_row_is_explained() -> None:
    assert set(ABOUT) == set(Obligation)
    for id_, row in ROWS.items():
        (told,) = output.named(shipped.explained(), ROWS, id_)
        assert told.row == row
        assert row.citation in told.citation
        assert told.means
        assert told.mend


def test_every_state_that_a_row_speaks_of_is_explained() -> None:
    cited = " ".join(text.citation or "" for text in CODES.values())
    for id_, row in ROWS.items():
        applies = getattr(row, "applies_to", None)
        for state in applies.state if applies else ():
            if row.obligation is not Obligation.OUTLET or state in ("below", "unknown"):
                told = f"`{id_}`" in cited or f"{row.obligation}-{state}" in CODES
                assert told or id_ in NO_CODE, (id_, state)


NO_CODE = {"bench.valve-rating.metric"}
"""Rows that say how a mark is read: no answer has a code of it."""

EMPTY = set(
    "a an the of is was are it its that what which or and in on to no not as by be with than has have at for one".split()
)


@pytest.mark.parametrize("name", TEXTS, ids=lambda n: ("question " if n[0] else "") + n[1])
def test_a_text_says_more_than_its_code(name: tuple[bool, str]) -> None:
    text, own = TEXTS[name], set(name[1].split("-"))
    told = set(re.findall(r"[a-z0-9]+", f"{text.means} {text.why}".casefold())) - EMPTY - own
    assert len(told) >= 6, told
    assert set(re.findall(r"[a-z0-9]+", text.means.casefold())) - EMPTY - own, text.means
    assert text.means.endswith(".")
    assert text.why.endswith(".")
    assert len({text.means, text.why, text.mend}) == 3
    assert re.search(r"`tankbook [a-z]|`git |`[a-z_]+:", text.mend), text.mend


def test_no_two_codes_are_said_to_be_the_same() -> None:
    said: dict[str, list[str]] = {}
    for code, text in CODES.items():
        said.setdefault(text.means, []).append(code)
    assert [codes for codes in said.values() if len(codes) > 1] == []


LINES = every_line()


@cache
def options_of(line: str) -> frozenset[str]:
    signature = signature_of(declared(LINES[line].function))
    found: set[str] = set()
    for each in signature.parameters.values():
        for said in getattr(each.annotation, "__metadata__", ()):
            found.update(getattr(said, "param_decls", None) or ())
            found.add(str(getattr(said, "default", "")))
        if marker_of(each):
            found.add(name_of(each))
    return frozenset(found)


def commands_in(text: str) -> Iterator[list[str]]:
    for said in re.findall(r"`tankbook ([^`]+)`", text):
        yield shlex.split(said)


def all_commands() -> list[tuple[str, list[str]]]:
    found: list[tuple[str, list[str]]] = []
    for (_, code), text in TEXTS.items():
        for said in (text.means, text.why, text.mend, text.citation or ""):
            found += [(code, words) for words in commands_in(said)]
    return found


def test_every_command_that_is_named_is_there_with_its_options() -> None:
    commands = all_commands()
    assert len(commands) > 400
    for code, words in commands:
        line = " ".join(words[:2]) if " ".join(words[:2]) in LINES else words[0]
        assert line in LINES, (code, words)
        asked = {w.partition("=")[0] for w in words if w.startswith("--")}
        assert asked <= options_of(line), (code, words, sorted(options_of(line)))


def test_every_rule_row_and_question_that_is_named_is_there() -> None:
    for (_, code), text in TEXTS.items():
        said = f"{text.citation or ''} {text.mend}"
        for id_ in re.findall(r"`([a-z]+\.[a-z0-9.-]+)`", said):
            assert id_ in ROWS or id_.endswith((".yaml", ".csv", ".md")), (code, id_)
        for asked in re.findall(r"--obligation ([a-z-]+)", said):
            assert asked in list(Obligation), (code, asked)


# --- asking -------------------------------------------------------------------------------------


def test_a_name_of_several_sorts_tells_all_of_them() -> None:
    told = output.named(shipped.explained(), ROWS, "permit")
    assert [e.sort for e in told] == [output.NamedAs.CODE, output.NamedAs.QUESTION]


@pytest.mark.parametrize("name", ["visual-overdue", "air-test-missing", "VISUAL-overdue"])
def test_a_question_that_is_late_is_told(name: str) -> None:
    (told,) = output.named(shipped.explained(), ROWS, name)
    assert told.mend == ABOUT[name.casefold().rpartition("-")[0]].mend


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("thred-differ", "thread-differ"), ("marks", "marks-gas"), ("us.visul", "us.visual"), ("burst disk", "burst disc"),
    ],
)  # fmt: skip
def test_what_is_near_is_offered(typed: str, meant: str) -> None:
    assert meant in output.near(shipped.explained(), ROWS, typed)


def test_nothing_is_near_to_nothing() -> None:
    assert output.near(shipped.explained(), ROWS, "") == []
    assert output.named(shipped.explained(), ROWS, "") == []


@pytest.mark.parametrize(
    "word", ["twinset", "doubles", "A-clamp", "burst-disc", "bursting disc", "hire"]
)
def test_words_of_both_shores_are_found(word: str) -> None:
    told = output.named(shipped.explained(), ROWS, word)[-1]
    assert told.word
    shown = output.text([told], Page())
    assert "In the US" in shown
    assert "In the UK" in shown


def test_every_word_of_the_other_shore_that_is_read_is_in_the_glossary() -> None:
    said = " ".join(f"{w.us} {w.uk}".casefold() for w in shipped.explained().words)
    use: Any = cylinder.USE
    outlet: Any = valve.OUTLET
    material: Any = cylinder.Cylinder.declared["material"].kind
    method: Any = entries.Requalified.declared["method"].kind
    for kind in (use, outlet, material, method):
        kind = kind.kind if isinstance(kind, ListOf) else kind
        assert isinstance(kind, OneOf)
        for twin, _ in kind.twins:
            if twin not in {"ue", "din200", "din300"}:  # another spelling of the word beside it
                assert twin in said, twin


# --- the pages ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "made"), [("explained.md", explained_page), ("glossary.md", glossary_page)]
)
def test_the_page_is_not_stale(name: str, made: Any, request: pytest.FixtureRequest) -> None:
    page = made(shipped.explained())
    if request.config.getoption("update_snapshots"):
        (DOCS / name).write_text(page, encoding="utf-8")
    assert (DOCS / name).read_text(encoding="utf-8") == page


def test_the_page_has_every_text() -> None:
    page = explained_page(shipped.explained())
    assert page.count("\n### ") == len(TEXTS)


def test_an_explanation_is_a_record_of_three_texts() -> None:
    assert set(Explanation.declared) == {"means", "why", "mend", "citation"}
