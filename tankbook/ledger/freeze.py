"""Freezing the lists of `data/words` for `units/shipped.py`: `python -m tankbook.ledger.freeze`.

What is frozen is part of the sources, so that an installed tankbook and one that is worked on read
the same; a test holds it against the YAML.
"""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

from tankbook.ledger.events import parse
from tankbook.records.node import Mapping, Scalar, Sequence


def frozen_words() -> bytes:
    """Every list of words, as it is frozen.

    Raises:
        RuntimeError: a file is not made of lists of lines with a name each.
    """
    folder = files("tankbook.ledger").joinpath("data", "words")
    every = sorted(folder.iterdir(), key=lambda file: file.name)
    texts = {f.name.removesuffix(".yaml"): f.read_text(encoding="utf-8") for f in every}
    subjects = {subject: _lists(subject, text) for subject, text in texts.items()}
    return (json.dumps(subjects, ensure_ascii=False, indent=0) + "\n").encode()


def _lists(subject: str, text: str) -> dict[str, list[str]]:
    node, findings = parse(text, f"words/{subject}.yaml")
    if findings or not isinstance(node, Mapping):
        raise RuntimeError(f"{subject} cannot be read: {'; '.join(map(str, findings))}")
    lists: dict[str, list[str]] = {}
    for name, lines in node.pairs:
        items = lines.items if isinstance(lines, Sequence) else ()
        lists[name.text] = [line.text for line in items if isinstance(line, Scalar)]
        if not items or len(lists[name.text]) < len(items):
            raise RuntimeError(f"{subject}: {name.text} is no list of lines")
    return lists


def main() -> None:
    """Write what is frozen into the sources."""
    place = Path(str(files("tankbook.units"))) / "frozen" / "words.json"
    place.write_bytes(frozen_words())


if __name__ == "__main__":
    main()
