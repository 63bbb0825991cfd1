"""Figures of what is foretold, of how far answers look, and of what is said of a gas: own bounds
but where a source stands beside one."""

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

MEETING_AHEAD = 6
"""The months that the page for a meeting looks ahead, unless said otherwise (own choice)."""

MEETING_BACK = 12
"""The months behind in which that page tells of what left (own choice)."""

LOW_OXYGEN = 19.5
"""Below this share of oxygen [%] air is oxygen-deficient (29 CFR 1910.134(b); from memory)."""

BUMP_SOUNDS = dt.timedelta(minutes=30)
"""How near to its bump test, before or after, a monitor sounds of the gas of that (own bound)."""

OPEN_OVER_MIDNIGHT = dt.timedelta(hours=4)
"""How long after midnight a station is open that was opened the day before and not closed, where
it says nothing else: `over_midnight` of `opening` (common practice, no source)."""
