"""An audit of a repository made by a test, without the command line."""

from __future__ import annotations

from repos import Repo

from tankbook.ledger.gitfiles import head, objects_of
from tankbook.ledger.gitlog import node_of
from tankbook.ledger.gitread import Repository
from tankbook.ledger.gitwalk import steps
from tankbook.ledger.shipped import sets_of
from tankbook.records.commits import CommitStep
from tankbook.records.fields import NodeReader, read
from tankbook.records.settings import Settings
from tankbook.rules.audit import Audit, audit
from tankbook.rules.tamper_signs import FoundSign
from tankbook.rules.terms import AskedByHand

CARD, LOG = "cylinders/RB-014.yaml", "fills/2026.csv"
MARCH, APRIL = "2026-03-10T18:00:00+01:00", "2026-04-10T18:00:00+01:00"


def all_steps(repo: Repo) -> list[CommitStep]:
    """Every step of the history, parents first."""
    repository = Repository.of(repo.root)
    with objects_of(repo.root) as objects:
        return list(steps(repository, objects, head(repository, objects)))


def audited(repo: Repo, **asked: int) -> Audit:
    """What an audit finds; the people of today are those in the folder."""
    node = node_of("tankbook.yaml", (repo.root / "tankbook.yaml").read_bytes())
    settings = read(Settings, node, NodeReader("tankbook.yaml"))
    assert settings is not None
    return audit(all_steps(repo), AskedByHand(people=settings.people, shipped=sets_of, **asked))


def brief(found: tuple[FoundSign, ...]) -> list[tuple[str, str, str]]:
    """The sign, whom it is about, and what."""
    return [(f.sign.value, f.id, f.what) for f in found]


def kinds(repo: Repo) -> list[str]:
    """The kinds of signs found."""
    return [f.sign.value for f in audited(repo).signs]
