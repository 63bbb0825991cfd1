"""Figures of what is foretold and of how far ahead answers look: own bounds, no facts of the trade
or of any rule."""

from __future__ import annotations

import datetime as dt

YEARS = 3
"""The years before the last sight of an hour meter whose months tell the season (own bound)."""

LEAST = 28
"""Days between the first and last sight of the last year below which nothing is foretold, and half
of which a month of the year must have been watched for to be known by itself (own bound)."""

AHEAD = 30
"""Years of running hours looked ahead at most (own bound)."""

FURTHEST = dt.timedelta(days=365)
"""How far ahead a page speaks at the most (own bound)."""

FAR = 50
"""Years ahead after which nothing is said to spare anything (own bound)."""
