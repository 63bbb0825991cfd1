"""Of which pages the pictures in docs were taken: for a test to tell that one is no longer so."""

from __future__ import annotations

import hashlib
import re

OF_NOW = {"pages-board": ("index.html", 1024), "pages-cylinder": ("c-rb-014.html", 390)}
"""The pictures of pages in the documentation, of which page each is, and how wide."""
TAKEN_OF = "pages-taken.txt"
"""Lies beside them and has a line of each: its name and the digest of its page."""


def digest(page: str) -> str:
    """A page by what it shows: neither by its mark nor by what git says of the ledger, which differ
    from clone to clone."""
    page = re.sub(r'<meta name="tankbook-page"[^>]*>', "", page)
    page = re.sub(r"<p>[^<]*\bcommit\b[^<]*</p>", "", page)
    return hashlib.sha256(page.encode()).hexdigest()
