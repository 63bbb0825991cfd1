"""Files held against their schemas by a validator of the open standard (jsonschema), as an editor does."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from tankbook.ledger import modelines
from tankbook.output import schema

jsonschema = pytest.importorskip("jsonschema")

NAMED = re.compile(r"# yaml-language-server: \$schema=(\S+)\n")


def typed(text: str) -> Any:
    """A text as an editor types it: the core schema of YAML 1.2, which knows no dates."""
    yaml = YAML(typ="safe", pure=True)
    yaml.version = (1, 2)
    yaml.constructor.add_constructor(
        "tag:yaml.org,2002:timestamp", lambda c, node: c.construct_scalar(node)
    )
    return named(yaml.load(text))


def named(value: Any) -> Any:
    """A value whose keys are texts, as an editor has them: `true:` is a key of that name."""
    if isinstance(value, dict):
        return {
            str(k).lower() if isinstance(k, bool) else str(k): named(v) for k, v in value.items()
        }
    return [named(v) for v in value] if isinstance(value, list) else value


def wrong(name: str, value: Any) -> list[str]:
    validator = jsonschema.Draft202012Validator(schema.schema_of(name))
    return [
        f"{'/'.join(map(str, e.absolute_path))}: {e.message[:200]}"
        for e in validator.iter_errors(value)
    ]


def checked(root: Path) -> set[str]:
    """The YAML files of a ledger, each seen to name a schema that is there and to pass it."""
    files = {path for path in root.rglob("*.yaml") if ".git" not in path.parts}
    for path in files:
        text = path.read_text(encoding="utf-8")
        first = NAMED.match(text)
        assert first, path
        there = (path.parent / first[1]).resolve()
        assert there.parent == (root / "schemas").resolve(), path
        assert there.is_file(), path
        kind = there.name.removesuffix(".schema.json")
        value = typed(text)
        assert value is None or wrong(kind, value) == [], path
    return {path.relative_to(root).as_posix() for path in files}


def taught(root: Path) -> None:
    """Schemas and first lines, put into a ledger that has none."""
    (root / "schemas").mkdir()
    for name, data in schema.all_files().items():
        (root / "schemas" / name).write_bytes(data)
    for name, where in modelines.WHERE.items():
        for path in root.glob(where):
            text = path.read_text(encoding="utf-8")
            path.write_text(f"{modelines.modeline(name, 'schemas')}\n{text}", encoding="utf-8")
