"""The power goes in the middle of an act of each kind."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from deeds import KINDS, begin, in_git, records, run, writing
from disk import Disk, Sync, Write, contents, tree_of
from lines import READING, leaves
from tracing import Tracer
from verdict import World

from tankbook.cli.app import command


def test_every_command_that_writes_is_tried() -> None:
    assert writing() <= {*KINDS}, "add the kind of act to KINDS"
    others = {name for name, _ in leaves(command())} - {*KINDS}
    assert others - {"init", "audit", "pending", "commands", "explain", "schema", "completion"} <= {
        *READING
    }


@pytest.mark.parametrize("git", [False, True])
def test_every_other_command_writes_nothing(
    git: bool, top: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))  # what is handed out goes there
    root = top / "quay"
    root.mkdir()
    begin(root, ("RB-014", "RB-015", "SF-051"))
    if git:
        in_git(root)
    for name, options in READING.items():
        with Tracer(top, Disk.of(tree_of(top))) as trace:
            code, _, err = run(root, *name.split(), *options)
        assert code in (0, 1, 2), err
        assert trace.calls == [], f"{name} writes: add its kind of act to KINDS"


@pytest.mark.parametrize("name", KINDS)
def test_what_a_power_cut_leaves_of_an_act(
    name: str, top: Path, request: pytest.FixtureRequest, record_property: object
) -> None:
    states = request.config.getoption("power", 220)
    chance = random.Random(f"{request.config.getoption('power_seed', 1)} {name}")
    share = max(states // len(KINDS), 2)
    total = {"rounds": 0, "states": 0, "things lost": 0, "told as pending": 0, "findings": 0}
    wrong: list[str] = []
    both = [(True, share - share // 3), (False, share // 3)]
    if share < 20:  # to make a ledger ready takes as long as to judge some states
        both = [(chance.random() < 0.6, share)]
    for fresh, part in both:
        fresh = fresh or name == "init" or KINDS[name].copied
        found = World(name, KINDS[name], top, fresh).play(part, chance)
        wrong += found.findings
        each = found.rounds, found.states, found.lost, found.pending, len(found.findings)
        total = {key: total[key] + number for key, number in zip(total, each, strict=True)}
    record_property("power", total)  # type: ignore[operator]
    assert not wrong, f"{len(wrong)} of {total['states']} states:\n" + "\n".join(wrong[:20])


@pytest.mark.parametrize("name", ["hold", "fill", "init"])
def test_it_is_found_where_nothing_was_synced(name: str, top: Path) -> None:
    world = World(name, KINDS[name], top, fresh=True)
    before = len(world.trace.calls)
    world.trace.calls = [call for call in world.trace.calls if not isinstance(call, Sync)]
    world.trace.told -= before - len(world.trace.calls)
    found = world.play(12, random.Random(1)).findings
    assert any("an acknowledged act is lost" in each for each in found), found
    assert name != "hold" or any("half an act" in each for each in found), found


def test_it_is_found_where_an_act_is_not_known_again(
    top: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tankbook.ledger.apply.repeated", lambda *_: None)
    found = World("reading", KINDS["reading"], top, fresh=False).play(12, random.Random(1)).findings
    assert any("it is not there once" in each for each in found), found


@pytest.mark.parametrize("name", ["fill", "reading", "fill set"])
def test_a_log_whose_end_a_disk_lost_is_told_so(name: str, top: Path) -> None:
    """Some disks say that they kept what they did not: the journal is gone then."""
    kind, root = KINDS[name], top / "quay"
    root.mkdir()
    begin(root, kind.cards)
    (log,) = (root / "fills").glob("*.csv")
    before, untouched = log.read_bytes(), records(root)
    assert kind.do(root)[0] == 0
    once, added = records(root), log.read_bytes()[len(before) :]
    for data in contents(before, [Write(0, len(before), added)])[1:-1]:
        if data.endswith(b"\n"):  # the line before the last is whole: nothing is left to tell of
            continue
        log.write_bytes(data)
        code, out, err = run(root, "validate")
        assert (code, "torn-line" in out) == (1, True), out
        refused = kind.do(root)
        assert refused[0] != 0
        for said in (out + err, refused[1] + refused[2], *run(root, "may-fill", *kind.cards)[1:]):
            assert "by hand" not in said
            assert "Traceback" not in said
        assert run(root, "may-fill", *kind.cards)[1].startswith("NO ")
        if data.endswith(b"\0"):
            assert "zero byte" in out
            assert run(root, "tidy")[0] == 0
        left = log.read_bytes()
        assert added.startswith(left[len(before) :])
        log.write_bytes(left[: left.rindex(b"\n") + 1])  # as it is told: the rest is deleted
        if records(root) == untouched:
            assert kind.do(root)[0] == 0
            assert records(root) == once
