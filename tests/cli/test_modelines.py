"""The first line by which an editor finds the schema of a file: in every file that is begun or made,
kept by every act, and each file passes the schema that it names."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from by_schema import checked, taught

from tankbook.ledger import modelines

Run = Callable[..., Any]
COVE = Path(__file__).parents[2] / "example_ledger"
FLEET = "--marks", "DOT-3AL 3000 K118204 09A25", "--use", "rental", "--maker", "Example Cylinder Co"


@pytest.mark.parametrize("rules", ["us-dot", "uk", "de", "au", "nz", "ca-tc"])
@pytest.mark.parametrize("more", [(), ("--no-station",)])
def test_a_new_ledger_completes_from_the_first_minute(
    rules: str, more: tuple[str, ...], tb: Run, tmp_path: Path
) -> None:
    ran = tb("init", "quay", "--rules", rules, "--by", "MV", "--price", "hydro=45USD", *more)
    assert "schemas/  by which an editor completes and checks them" in ran.out
    root = tmp_path / "quay"
    written = tb("init", "bay", "--json").json["written"]
    assert {f"schemas/{modelines.file_of(name)}" for name in modelines.WHERE} < set(written)
    assert tb("book-in", *FLEET, "--ledger", root).code == 0
    second = (w.replace("K118204", "K118205") for w in FLEET)
    assert tb("book-in", *second, "--ledger", root).code == 0
    assert tb("stolen", "X1", "--why", "notice", "--ledger", root, "--by", "MV").code == 0
    station = set() if more else {"station.yaml"}
    assert checked(root) == station | {
        "tankbook.yaml", "checklists/before-hand-over.yaml", "cylinders/RB-001.yaml",
        "cylinders/RB-002.yaml", "counter.yaml",
    }  # fmt: skip
    assert tb("validate", "--ledger", root).code == 0


def test_a_ledger_may_be_begun_without(tb: Run, tmp_path: Path) -> None:
    (tmp_path / "quay").mkdir()
    (tmp_path / "quay/schemas").write_text("mine")
    assert "schemas: it is there already" in tb("init", "quay").err
    assert "schema" not in tb("init", "quay", "--no-schemas").out
    tb("book-in", *FLEET, "--ledger", "quay")
    assert not [p for p in (tmp_path / "quay").rglob("*.yaml") if "schema" in p.read_text()]


def test_an_imported_table_is_written_with_the_first_line(tb: Run, tmp_path: Path) -> None:
    tb("init", "quay", "--by", "MV")
    Path("table.csv").write_text("serial,use,pressure\nT1,sale,3000 psi\nT2,sale,3000 psi\n")
    keys = enumerate(("serial", "use", "service_pressure"))
    lines = [f"  - {{column: {'ABC'[place]}, key: {name}}}\n" for place, name in keys]
    Path("table.yaml").write_text("".join(["headings: 1\ncolumns:\n", *lines]))
    ran = tb("import", "table.csv", "--map", "table.yaml", "--all", "--ledger", "quay")
    assert ran.code == 0, ran.out
    assert {"cylinders/SF-001.yaml", "cylinders/SF-002.yaml"} < checked(tmp_path / "quay")
    tb("export", "all.json", "--ledger", "quay")
    tb("import", "all.json", "--into", "bay")
    assert checked(tmp_path / "bay") == checked(tmp_path / "quay")


@pytest.mark.parametrize("wrong_way", ["link out", "a folder", "none"])
def test_schemas_that_cannot_be_read_keep_no_record_waiting(
    wrong_way: str, tb: Run, tmp_path: Path
) -> None:
    root = tmp_path / "quay"
    tb("init", "quay", "--no-schemas")
    outside = tmp_path / "schemas"
    tb("schema", "--into", outside)
    if wrong_way == "link out":
        (root / "schemas").symlink_to(outside)
    elif wrong_way == "a folder":
        (root / "schemas/cylinder.schema.json").mkdir(parents=True)
    ran = tb("book-in", *FLEET, "--ledger", root)
    assert (ran.code, ran.err) == (0, "")
    assert "yaml-language" not in (root / "cylinders/RB-001.yaml").read_text()


def test_an_older_programs_schemas_are_written_anew(tb: Run, tmp_path: Path) -> None:
    tb("init", "quay")
    schema = tmp_path / "quay/schemas/cylinder.schema.json"
    whole = schema.read_text()
    schema.write_text(whole.replace('"serial"', '"older"'))
    assert tb("schema", "--into", "quay/schemas").code == 0
    assert schema.read_text() == whole


def test_the_example_passes_with_its_first_lines(tb: Run, tmp_path: Path) -> None:
    root = tmp_path / "cove"
    shutil.copytree(COVE, root)
    before = tb("validate", "--on", "2026-11-25", "--ledger", root, "--json").json
    taught(root)
    assert len(checked(root)) > 40
    after = tb("validate", "--on", "2026-11-25", "--ledger", root, "--json").json
    assert [f["code"] for f in after] == [f["code"] for f in before]


@pytest.mark.parametrize("ending", ["json", "csv", "xlsx"])
def test_schemas_are_not_taken_out_and_are_there_again(
    ending: str, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """They were fifteen thousand lines of an export of two cards."""
    monkeypatch.chdir(tmp_path)
    assert tb("init", "club", "--by", "MV", "--no-station").code == 0
    (tmp_path / "club/schemas/notes.txt").write_text("ours\n")
    assert tb("export", f"out.{ending}", "--ledger", "club").code == 0
    assert tb("import", f"out.{ending}", "--into", "again").code == 0
    if ending != "xlsx":
        text = (tmp_path / f"out.{ending}").read_text(encoding="utf-8")
        assert "schemas/cylinder.schema.json" not in text.replace("$schema=../schemas", "")
        assert text.count("\n") < 4000
    was, now = (
        {
            str(p.relative_to(tmp_path / d)): p.read_bytes()
            for p in (tmp_path / d).rglob("*")
            if p.is_file() and ".git/" not in str(p) and ".tankbook" not in p.parts
        }
        for d in ("club", "again")
    )
    assert now == was
    assert tb("init", "bare", "--by", "MV", "--no-station", "--no-schemas").code == 0
    assert tb("export", f"bare.{ending}", "--ledger", "bare").code == 0
    assert tb("import", f"bare.{ending}", "--into", "bare2").code == 0
    assert not (tmp_path / "bare2/schemas").exists()


def test_schemas_of_another_version_are_advice(tb: Run, tmp_path: Path) -> None:
    tb("init", "quay", "--by", "MV")
    schema = tmp_path / "quay/schemas/set.schema.json"
    assert "schemas-old" not in tb("validate", "--ledger", "quay").out
    schema.write_bytes(schema.read_bytes().replace(b"\n", b"\r\n"))  # as git for Windows has it
    assert "schemas-old" not in tb("validate", "--ledger", "quay").out
    schema.write_text(schema.read_text().replace("tankbook: ", "tankbook 0.1: "))
    ran = tb("validate", "--ledger", "quay")
    assert ran.code == 0
    assert "set.schema.json: not as this version writes it" in ran.out
    assert "`tankbook schema --into schemas` writes them anew" in ran.out
    (tmp_path / "quay/schemas/cylinder.schema.json").unlink()
    assert "cylinder.schema.json, set.schema.json: not as" in tb("validate", "--ledger", "quay").out
    assert tb("schema", "--into", "quay/schemas").code == 0
    assert "schemas-old" not in tb("validate", "--ledger", "quay").out
    shutil.rmtree(tmp_path / "quay/schemas")
    assert "schemas-old" not in tb("validate", "--ledger", "quay").out


def test_a_merge_in_which_both_sides_wrote_schemas_is_settled_by_one_command(
    tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = tmp_path / "quay"
    tb("init", "quay", "--by", "MV")
    monkeypatch.chdir(root)
    who = ("-c", "user.name=x", "-c", "user.email=x@example.com")

    def git(*said: str) -> int:
        return subprocess.run(["git", *who, *said], capture_output=True, check=False).returncode

    def written(said: str) -> None:
        path = root / "schemas/cylinder.schema.json"
        path.write_text(path.read_text().replace('"title": "tankbook', f'"title": "{said}', 1))
        assert git("commit", "-qam", said) == 0

    git("init", "-q")
    git("add", "-A")
    git("commit", "-qm", "begin")
    git("branch", "other")
    written("tankbook 0.3")
    git("checkout", "-q", "other")
    written("tankbook 0.4")
    assert git("merge", "-") == 1
    assert "schemas-old" in tb("validate").out
    assert "`tankbook schema --into schemas` writes them anew" in tb("validate", "--staged").err
    assert tb("schema", "--into", "schemas").code == 0
    assert git("add", "schemas") == 0
    assert tb("validate", "--staged").code == 0
    assert "schemas-old" not in tb("validate", "--staged").out
    assert git("commit", "-qm", "joined") == 0
