"""Which card goes on for another: one judge for what is to be finished and for what is missed."""

from __future__ import annotations

from pathlib import Path

import pytest

from tankbook.ledger.called import called_now, goes_on, mark_of
from tankbook.ledger.gitlog import read_node
from tankbook.ledger.steps import JournalStep, digest

A, B, C = (f"cylinders/{id_}.yaml" for id_ in "ABC")
S, T = "sets/S.yaml", "sets/T.yaml"


def card(serial: str = "K1", maker: str = "Mk", formerly: str = "") -> str:
    keys = {"serial": serial, "maker": maker, "formerly": formerly}
    return "".join(f"{k}: {v}\n" for k, v in keys.items() if v) + "status: in-service\n"


def doubles(cylinders: str, formerly: str = "") -> str:
    return f"cylinders: [{cylinders}]\n" + (f"formerly: {formerly}\n" if formerly else "")


K1, K2 = card(), card("K2")
CASES: dict[str, tuple[str, dict[str, str], list[str]]] = {
    "it stands": (K1, {A: K1, B: card(formerly="A")}, []),
    "it stands, its serial typed anew": (card(""), {A: K2, B: K1}, []),
    "it stands, its maker typed since": (card(maker=""), {A: K1, B: K1}, []),
    "renamed": (K1, {B: K1}, [B]),
    "renamed, a maker typed since": (card(maker=""), {B: K1}, [B]),
    "renamed, the maker taken out": (K1, {B: card(maker="")}, [B]),
    "of another maker": (K1, {B: card(maker="Else")}, []),
    "renamed and says so": (K1, {C: K1, B: card(formerly="A")}, [B, C]),
    "an older life of the id": (K1, {B: card("K2", formerly="A")}, []),
    "an older life, and renamed": (K1, {B: card("K2", formerly="A"), C: K1}, [C]),
    "its id is another's": (K1, {A: K2, B: K1}, [B]),
    "its id is another's, of its maker": (K1, {A: card("K2", ""), B: card("K1", "")}, [B]),
    "two have its serial": (K1, {B: K1, C: K1}, [B, C]),
    "without a serial": (card(""), {B: card("", formerly="A"), C: card("")}, [B]),
    "without a serial before": (card(""), {B: card("K1", formerly="A")}, [B]),
    "gone": (K1, {B: K2}, []),
}
SETS: dict[str, tuple[str, dict[str, str], list[str]]] = {
    "a set renamed": (doubles("A, B"), {T: doubles("A, B")}, [T]),
    "a set of others": (doubles("A, B"), {T: doubles("A, C")}, []),
    "its cylinders renamed too": (doubles("A, B"), {T: doubles("A, C", "S")}, [T]),
    "a set that stands": (doubles("A, B"), {S: doubles("A, B"), T: doubles("A, B")}, []),
}


@pytest.mark.parametrize(("was", "now", "expected"), [*CASES.values(), *SETS.values()],
                         ids=[*CASES, *SETS])  # fmt: skip
def test_both_who_ask_are_told_the_same(
    tmp_path: Path, was: str, now: dict[str, str], expected: list[str]
) -> None:
    path = A if (was, now, expected) in CASES.values() else S
    cards = {p: read_node(text.encode(), p)[0] for p, text in now.items()}
    mark = mark_of(path, read_node(was.encode(), path)[0])
    assert goes_on(path, mark, cards) == expected
    for each, text in now.items():
        (tmp_path / each).parent.mkdir(exist_ok=True)
        (tmp_path / each).write_text(text)
    replaced = [path] if expected and path in now else []
    step = JournalStep(path, digest(was.encode()), b"", before=was.encode())
    said = [e for e in expected if "formerly" in now[e]] or expected
    one = {path: said[0]} if len(said) == 1 else {}
    assert called_now(tmp_path, [step], (), replaced) == one
