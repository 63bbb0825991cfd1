"""What a shell offers while a line is typed, and that nothing of it is ever run: in bash, and in zsh
and fish where they are installed."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tankbook.cli.commands import COMMANDS
from tankbook.cli.completing import SHELLS, complete, offered
from tankbook.ledger import shipped

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "example_ledger"

pytestmark = pytest.mark.skipif(os.name == "nt", reason="bash, zsh and fish")


def words(line: str, shell: str = "zsh") -> list[str]:
    return [word for word, _ in offered(shell, ["tankbook", *line.split(" ")])]


@pytest.fixture(autouse=True)
def _here(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(EXAMPLE)


@pytest.mark.parametrize(
    ("line", "has", "has_not"),
    [
        ("", {"due", "help", "station"}, {"hours", "--json"}), ("f", {"fill", "fleet", "fills"}, {"due"}), ("--l", {"--ledger"}, {"due"}),
        ("station ", {"hours", "size"}, {"due"}), ("station h", {"hours"}, {"open"}), ("help f", {"fill"}, {"due"}),
        ("show RB", {"RB-014"}, {"due"}), ("show DB", {"DB-01"}, {"RB-014"}), ("fill RB-014 RB-0", {"RB-016"}, {"fill"}),
        ("fill --so", {"--source"}, {"--to"}), ("fill --source ", {"B1", "C1"}, {"RB-014"}), ("fill --source=B", {"--source=B1"}, {"B1"}),
        ("hold RB-014 --by ", {"KD"}, {"RB-014"}), ("blend RB-014 --to n", {"nitrox32"}, {"air"}), ("report --pdf ", {":files"}, {"RB-014"}),
        ("valve RB-014 --outlet ", {"din-300"}, set()), ("init --units ", {"psi", "bar"}, set()), ("completion ", {"bash", "zsh", "fish"}, set()),
        ("nothing ", set(), {"due"}), ("--on 2026-11-25 d", {"due"}, {"fill"}), ("jobs open RB-014 --w", {"--work"}, set()), ("due --on ", {"today"}, set()),
        ("init --rules ", {"us-dot", "uk"}, {"RB-014", "DB-01"}), ("explain in-the", {"in-the-future"}, {"RB-014"}), ("rules --obligation ", {"visual"}, {"RB-014"}),
        ("correct RB-011 ", {"inspected", "requalified", "fill", "reading", "log", "note", "removed"}, {"RB-011", "marks", "serial", "2026-11-25"}),
        ("correct 11 insp", {"inspected"}, {"fill"}), ("correct RB-011 inspected ", {"2026-02-16"}, {"inspected", "RB-011"}), ("correct RB-011 fill ", {"2026-11-21"}, {"fill"}),
        ("correct station ", {"air_tests", "B1.readings"}, {"fill", "banks"}), ("correct station air_tests ", {"2026-07-13"}, {"air_tests"}), ("correct st", {"station"}, {"counter"}),
        ("correct RB-999 ", {"removed"}, {"inspected", "fill"}), ("correct RB-011 held ", set(), {"RB-011"}), ("correct RB-011 inspected 2026-02-16 ", set(), {"2026-02-16"}),
        ("fill --source ", {"B1", "C1"}, {"P1", "W1", "G1"}), ("fill --source B1+", {"B1+B2"}, {"B1+B1", "B1", "B1+C1"}), ("fill --source=B1+", {"--source=B1+B2"}, {"--source=B1+B1"}),
        ("fill --position ", {"P1"}, {"B1", "C1"}), ("fill --position P1+", {"P1+W1"}, {"P1+P1"}), ("station read ", {"B1"}, {"P1", "G1", "C1"}), ("station raise ", {"B1"}, {"C1", "P1"}),
        ("station whip ", {"W1"}, {"B1", "P1"}), ("station gauge-check ", {"G1"}, {"B1", "P1"}), ("inspect --checklist ", {"annual", "before-hand-over"}, {"B1", "C1"}),
        ("inspect --clears ", set(), {"B1"}), ("init --name ", set(), {"B1"}), ("done-elsewhere --who ", set(), {"B1"}), ("schema ", {"cylinder", "station"}, {"B1"}),
        ("explain bench.st", {"bench.standing.held"}, {"B1"}), ("station bump ", {"CO-1"}, {"G1", "B1"}), ("station co --with ", {"CO-1"}, {"G1"}), ("recall --gauge ", {"G1"}, {"B1"}), ("hold RB-014 --by ", {"KD"}, {"PS"}), ("fills --by ", {"KD", "PS"}, set()),
        ("rules ", {"--obligation", "--help"}, {"RB-014"}), ("rules --obligation=v", {"--obligation=visual"}, {"--help"}),
        ("may-fill 091", {"PN-091"}, {"RB-014"}), ("may-fill 14", {"RB-014"}, {"14"}), ("may-fill 1", {"RB-011", "BK-101"}, {"RB-014", "RB-012"}), ("may-fill 4", {"RB-014", "SF-054"}, {"RB-041"}), ("may-fill 999", set(), {"RB-014"}), ("explain 14", set(), {"RB-014"}),
        ("rent RB-014 --to ", {"B-5516", "B-5519"}, {"RB-014"}), ("station machine ", {"C1"}, {"B1", "G1"}), ("incident x --compressor ", {"C1"}, {"B1"}),
    ],
)  # fmt: skip
def test_what_is_offered(line: str, has: set[str], has_not: set[str]) -> None:
    found = set(words(line))
    assert has <= found
    assert not has_not & found


def test_each_of_several_of_a_day_is_offered_by_its_number(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(EXAMPLE, tmp_path / "l")
    card = tmp_path / "l/cylinders/RB-011.yaml"
    hold = "  - {on: 2026-11-20, by: JW, why: valve leaks%s}\n"
    let_go = ", released: 2026-11-21, released_by: JW, released_why: new seat"
    text = card.read_text()
    assert "held:" not in text
    card.write_text(
        text + "held:\n" + hold % "" + hold % let_go + hold % "" + (hold % "").replace("20,", "22,")
    )
    monkeypatch.chdir(tmp_path / "l")
    assert set(words("release RB-011 --held ")) == {"2026-11-20#1", "2026-11-20#3", "2026-11-22"}
    assert "2026-11-20#2" in words("correct RB-011 held ")
    assert words("release RB-012 --held ") == []


def test_bash_is_given_what_stands_behind_the_sign() -> None:
    assert words("fill --source=B", "bash") == ["B1", "B2", "B3"]


def test_every_command_offers_its_options() -> None:
    for name in COMMANDS:
        assert "--help" in words(f"{name} -"), name


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["bash"],
        ["bash", "x", "tankbook"],
        ["bash", "-1"],
        ["zsh", "99", "tankbook"],
        ["", "0", ""],
        ["zsh", "1", "tankbook", "\x00"],
    ],
)
def test_a_call_that_makes_no_sense_is_quiet(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert complete(arguments) == 0
    assert capsys.readouterr().err == ""


def test_a_ledger_that_cannot_be_read_offers_commands_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "tankbook.yaml").write_text("people: [\n")
    monkeypatch.chdir(tmp_path)
    assert "due" in words("d")
    assert words("hold x --by ") == []
    assert words("show ") == []


def test_it_is_quick() -> None:
    """Against the floor of starting Python with the parser: it may take as long again, no longer."""
    floor = [sys.executable, "-c", "import typer, typer.core"]
    asked = [sys.executable, "-m", "tankbook", "__complete", "bash", "2", "tankbook", "fill", "RB"]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}

    def seconds(line: list[str]) -> float:
        taken = []
        for _ in range(5):
            begun = os.times()
            subprocess.run(line, check=True, capture_output=True, env=environment)
            ended = os.times()  # of the processor: other work beside it does not count
            taken.append(
                ended.children_user
                + ended.children_system
                - begun.children_user
                - begun.children_system
            )
        return min(taken)

    assert seconds(asked) < 3 * seconds(floor) + 0.05


# --- real shells

HOSTILE = [
    "RB 01",
    "RB'02",
    'RB"03',
    "RB$(touch sung)",
    "RB`touch sung`",
    "RB;touch sung",
    "RB|x",
    "RB\ttab",
    "-RB",
    "RB*",
    "RB\nx",
    "RB\\x",
    "RB&x",
    "RBü",
]


@pytest.fixture(name="hostile")
def _hostile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A ledger with files of such names and people of such initials."""
    root = tmp_path / "quay"
    (root / "cylinders").mkdir(parents=True)
    people = "".join(f"  {shlex_yaml(name)}: {{role: x}}\n" for name in HOSTILE if "\n" not in name)
    (root / "tankbook.yaml").write_text(
        f"ledger: Quay\nunits: psi\nrules: [us-dot]\npeople:\n  MV: {{role: bench}}\n{people}"
    )
    for name in [*HOSTILE, "RB-014"]:
        (root / "cylinders" / f"{name}.yaml").write_text("serial: K1\n")
    programs = tmp_path / "programs"
    programs.mkdir()
    program = programs / "tankbook"
    program.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -m tankbook "$@"\n')
    program.chmod(0o755)
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    monkeypatch.setenv("PATH", f"{programs}{os.pathsep}{os.environ['PATH']}")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.chdir(root)
    return root


def shlex_yaml(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def in_shell(shell: str, script: str) -> list[str]:
    if shutil.which(shell) is None:
        pytest.skip(f"{shell} is not installed")
    bare = {"bash": ["--norc", "--noprofile"], "zsh": ["-f"], "fish": ["--no-config"]}[shell]
    done = subprocess.run(
        [shell, *bare, "-c", script], capture_output=True, text=True, check=False, timeout=60
    )
    assert done.stderr == ""
    return done.stdout.splitlines()


def in_bash(typed: list[str]) -> list[str]:
    words_ = " ".join(shlex.quote(word) for word in ["tankbook", *typed])
    return in_shell(
        "bash",
        f"source <(tankbook completion bash); COMP_WORDS=({words_}); COMP_CWORD={len(typed)}; _tankbook; printf '%s\\n' \"${{COMPREPLY[@]}}\"",
    )


def test_bash_offers_plain_words_and_runs_nothing(hostile: Path) -> None:
    assert in_bash(["show", ""]) == ["RB-014"]
    assert in_bash(["hold", "RB-014", "--by", ""]) == ["MV"]
    assert "fill" in in_bash(["correct", "RB-014", ""])
    assert "--obligation" in in_bash(["rules", ""])
    assert "due" in in_bash(["d"])
    assert not list(hostile.rglob("sung"))


@pytest.mark.parametrize(
    "typed",
    [
        "$(touch sung)",
        "`touch sung`",
        "'",
        '"',
        "RB$(touch sung)",
        "-",
        "--",
        ";touch sung",
        "\\",
        "*",
    ],
)
def test_what_is_typed_is_never_run(typed: str, hostile: Path) -> None:
    in_bash(["show", typed])
    in_bash([typed, ""])
    in_bash(["hold", typed, "--by", ""])
    assert not list(hostile.rglob("sung"))


def test_what_the_program_prints_is_never_run(hostile: Path, tmp_path: Path) -> None:
    """Though it prints plain words alone: the scripts hold by themselves."""
    program = tmp_path / "programs" / "tankbook"
    real = program.read_text()
    for shell in SHELLS:
        (tmp_path / f"{shell}.script").write_text(shipped.text_of(f"shell/completion.{shell}"))
    program.write_text(
        "#!/bin/sh\nprintf '%s\\n' 'x$(touch sung)' '`touch sung`' '; touch sung' 'a b' '*'\n"
    )
    bash = tmp_path / "bash.script"
    told = in_shell(
        "bash",
        f"source {bash}; COMP_WORDS=(tankbook ''); COMP_CWORD=1; _tankbook; printf '%s\\n' \"${{COMPREPLY[@]}}\"",
    )
    assert told == ["x$(touch sung)", "`touch sung`", "; touch sung", "a b", "*"]
    if shutil.which("fish"):
        told = in_shell("fish", f"source {tmp_path / 'fish.script'}; complete -C 'tankbook '")
        assert any("touch sung" in line for line in told)
    assert not list(hostile.rglob("sung"))
    assert not list(tmp_path.rglob("sung"))
    program.write_text(real)


def test_fish_offers_plain_words(hostile: Path) -> None:
    told = in_shell("fish", "tankbook completion fish | source; complete -C 'tankbook show '")
    assert [line.split("\t")[0] for line in told] == ["RB-014"]
    for line, word in (("correct RB-014 ", "fill"), ("rules ", "--obligation")):
        told = in_shell("fish", f"tankbook completion fish | source; complete -C 'tankbook {line}'")
        assert word in [each.split("\t")[0] for each in told]
    told = in_shell("fish", "tankbook completion fish | source; complete -C 'tankbook d'")
    assert "due" in [line.split("\t")[0] for line in told]
    assert not list(hostile.rglob("sung"))


def test_zsh_offers_plain_words(hostile: Path) -> None:
    """The function is run with the words of a line, `compadd` caught."""
    script = (
        "compdef() { }; compadd() { while [[ $1 != -- ]]; do shift; done; shift; print -rl -- ${(P)1} }; _files() { print files };"
        "source <(tankbook completion zsh); words=(tankbook show ''); CURRENT=3; _tankbook"
    )
    assert in_shell("zsh", script) == ["RB-014"]
    correct = script.replace("show ''", "correct RB-014 ''").replace("CURRENT=3", "CURRENT=4")
    assert "fill" in in_shell("zsh", correct)
    assert "--obligation" in in_shell("zsh", script.replace("show ''", "rules ''"))
    assert in_shell(
        "zsh", script.replace("show ''", "report --pdf ''").replace("CURRENT=3", "CURRENT=4")
    ) == ["files"]
    assert not list(hostile.rglob("sung"))


def test_zsh_takes_an_id_by_its_tail(hostile: Path) -> None:
    """As typed in a terminal, where zsh itself chooses among what is offered."""
    if shutil.which("zsh") is None:
        pytest.skip("zsh is not installed")
    import pty
    import select

    (hostile / ".zshrc").write_text(
        "PS1='> '; autoload -Uz compinit; compinit -u; source <(tankbook completion zsh)\n"
    )
    master, slave = pty.openpty()
    shell = subprocess.Popen(
        ["zsh", "-i"], stdin=slave, stdout=slave, stderr=slave, cwd=hostile, start_new_session=True,
        env={**os.environ, "TERM": "dumb", "ZDOTDIR": str(hostile)},
    )  # fmt: skip
    said = b""

    def until(what: bytes) -> bytes:
        nonlocal said
        while what not in said and select.select([master], [], [], 30)[0]:
            said += os.read(master, 4096)
        return said

    until(b"> ")
    os.write(master, b"tankbook may-fill 14\t")
    assert b"RB-014" in until(b"RB-014")
    os.write(master, b"\x03exit\n")
    os.close(slave)
    shell.kill()
    shell.wait(30)
    os.close(master)


def test_the_scripts_come_with_the_program(tb: Run) -> None:
    for shell in SHELLS:
        assert tb("completion", shell).out == shipped.text_of(f"shell/completion.{shell}")
    assert tb("completion", "tcsh").code == 2
