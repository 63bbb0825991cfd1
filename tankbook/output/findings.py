"""What `validate` found, as lines editors jump to or as annotations of a hosted check."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from msgspec.structs import replace

from tankbook.output.page import counted
from tankbook.records.node import Finding, Severity
from tankbook.rules.newly import Newly


def data(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """The JSON shape of `validate`. Line 0 speaks of the file as a whole."""
    return [
        {
            "severity": f.severity,
            "path": f.where.path,
            "line": f.where.line,
            "column": f.where.column,
            "code": f.code,
            "text": f.text,
            "mend": f.mend or None,
        }
        for f in findings
    ]


def folded(findings: Sequence[Finding]) -> list[Finding]:
    """Findings for people: of each card that is missing one, which counts what else hangs on it and
    names an example. It is as grave as the gravest, and stands where the file is gone or else
    first."""
    about = dict[str, list[Finding]]()
    for finding in findings:
        if finding.missing:
            about.setdefault(finding.missing, []).append(finding)
    told, found = set[str](), list[Finding]()
    for finding in findings:
        of = about.get(finding.missing, [])
        if len(of) < 2:
            found.append(finding)
        elif finding.missing not in told:
            told.add(finding.missing)
            found.append(_of_missing(of))
    return sorted(found, key=lambda each: each.where)


def _of_missing(findings: Sequence[Finding]) -> Finding:
    """One finding for all that hangs on a card that is not there."""
    lead = next((f for f in findings if f.code == "vanished"), findings[0])
    others = [f for f in findings if f is not lead]
    codes = Counter(f.code for f in others)
    count = ", ".join(f"{n} {code}" for code, n in codes.items())
    hang = "hangs" if len(others) == 1 else "hang"
    more = f"{counted(len(others), 'more finding')} {hang} on it, as {others[0].where} ({count})"
    gravest = next(each for each in Severity if any(f.severity is each for f in findings))
    mend = lead.mend
    if lead.code != "vanished":
        mend = f"put the file of {lead.missing} back, or book it in; where another is meant, {mend}"
    return replace(
        lead,
        text=f"{lead.text}; {more}",
        mend=f"{mend}; `tankbook validate --json` lists each",
        severity=gravest,
    )


def headline(findings: Sequence[Finding], read: str) -> str:
    """`OK: ...` with what was read, or how many faults there are in how many files."""
    faults = [f for f in findings if f.severity is Severity.FAULT]
    warns = sum(f.severity is Severity.WARN for f in findings)
    advice = f"{counted(warns, 'warning')}, " if warns else ""
    advice += f"{len(findings) - len(faults) - warns} advice"
    if not faults:
        return f"OK: no fault, {advice}; {read}"
    files = counted(len({f.where.path for f in faults}), "file")
    return f"{counted(len(faults), 'fault')} in {files}, {advice}; {read}"


def text(findings: Sequence[Finding], read: str) -> str:
    """The headline, then `path:line:column: what is wrong` and the mend, not wrapped; last where
    the codes are explained.

    Editors jump to such a line only when it stays one; a terminal wraps it behind its place.
    """
    findings = folded(findings)
    parts = [headline(findings, read)]
    for finding in findings:
        parts.append(f"{finding.where}: {finding.severity}: {finding.text} [{finding.code}]")
        if finding.mend:
            parts.append(f"    {finding.mend}")
    if findings:
        parts.append(f"What that means, and why: `tankbook explain {findings[0].code}`")
    return "\n".join([*parts, ""])


def newly_data(groups: Sequence[Newly]) -> list[dict[str, Any]]:
    """The JSON shape of `validate --newly`."""
    return [
        {
            "code": group.code,
            "about": group.about or None,
            "perhaps": group.perhaps,
            "cylinders": [
                {"id": id_ or None, "text": said, "mend": mend or None}
                for id_, said, mend in group.cylinders
            ],
        }
        for group in groups
    ]


def newly(groups: Sequence[Newly], read: str) -> str:
    """How many cylinders only this version refuses, then each with its mend, by what is wrong."""
    if not groups:
        return f"OK: this version refuses nothing that the last one did not; {read}\n"
    sure, perhaps = (_are(g for g in groups if g.perhaps is each) for each in (False, True))
    heads = [f"{sure} refused that the last version filled"] if sure else []
    heads += [f"{perhaps} refused that it may have filled"] if perhaps else []
    parts = ["; ".join([*heads, read])]
    for group in groups:
        head = f"{group.about or group.code} [{group.code}], {len(group.cylinders)}"
        parts += [
            "",
            f"{head}, of cylinders that it may have refused:" if group.perhaps else f"{head}:",
        ]
        for id_, said, mend in group.cylinders:
            parts.append(f"  {id_ or 'every cylinder'}: {said}")
            parts += [f"      {mend}"] if mend else []
    return "\n".join([*parts, ""])


def _are(groups: Iterable[Newly]) -> str:
    ids = {id_ for group in groups for id_, _, _ in group.cylinders}
    if "" in ids:
        return "every cylinder is"
    return f"{counted(len(ids), 'cylinder')} {'is' if len(ids) == 1 else 'are'}" if ids else ""


COMMAND = {Severity.FAULT: "error", Severity.WARN: "warning", Severity.ADVICE: "notice"}


def github(findings: Sequence[Finding], read: str, folder: str = "") -> str:
    """Workflow commands for annotations: `::error file=...,line=...,col=...,title=...::text`.

    `folder` is the ledger's path from where the check runs. The form is that of GitHub's page
    "Workflow commands for GitHub Actions" (from memory).
    """
    findings = folded(findings)
    parts = [headline(findings, read)]
    for finding in findings:
        where, path = finding.where, finding.where.path
        place = [f"file={_property(f'{folder}/{path}' if folder else path)}"]
        if where.line:
            place += [f"line={where.line}", f"col={where.column}"]
        place.append(f"title={_property(finding.code)}")
        said = f"{finding.text}; {finding.mend}" if finding.mend else finding.text
        parts.append(f"::{COMMAND[finding.severity]} {','.join(place)}::{_message(said)}")
    return "\n".join([*parts, ""])


def _message(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _message(text).replace(":", "%3A").replace(",", "%2C")
