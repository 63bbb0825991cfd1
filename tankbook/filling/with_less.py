"""A session with less done at once, for where all that may be done leaves some unfilled: fewer
connected beside each other, or fewer of them connected again.

What a station may do more never fills fewer: whoever may connect four can connect two, and whoever
may top off can hold. So of all that is less the one counts by which most are filled.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from tankbook.filling.levels import TINY
from tankbook.filling.setup import Setup
from tankbook.units import GaugePressure


def with_less(setup: Setup) -> Iterator[Setup]:
    """The same session with fewer connected at once, and with fewer top-offs, the most first."""
    session, places = setup.session, setup.problem.places
    top_offs = session.policy.most_top_offs
    fewer = range(min(places.count, len(setup.vessels)) - 1, 0, -1)
    for count in (places.count, *fewer):
        for again in range(top_offs, -1, -1):
            if (count, again) == (places.count, top_offs):
                continue
            policy = replace(session.policy, most_top_offs=again)
            yield replace(
                setup,
                session=replace(session, policy=policy),
                problem=replace(setup.problem, places=places.at_once(count)),
            )


def most_filled(setup: Setup) -> int:
    """A number of cylinders that no way of filling exceeds.

    What lifts cylinders above some density comes from a bank still above it, so that for every
    density there must be so much. Beside a compressor, or where cylinders are equalized, those
    count that anything reaches.
    """
    problem, density = setup.problem, setup.equation.density
    loss = setup.session.policy.acceptable_loss.fraction
    accepted = [
        density(GaugePressure.of(vessel.target.kpa * (1 - loss), "kPa")) for vessel in setup.vessels
    ]
    top = max((problem.compressor_top if problem.compressor else 0.0, *problem.densities))
    reached = [n for n, least in enumerate(accepted) if least <= top + TINY]
    jobs = [(problem.jobs[n], accepted[n]) for n in reached]
    if problem.compressor or any(job.lends for job in problem.jobs):
        return len(jobs)
    most = len(jobs)
    for level in {*problem.densities, *accepted, *(job.start for job, _ in jobs)}:
        gives = sum(
            volume * max(0.0, held - level)
            for volume, held in zip(problem.volumes, problem.densities, strict=True)
        )
        takes = sorted(job.volume * max(0.0, a - max(job.start, level)) for job, a in jobs)
        count, taken = 0, 0.0
        while count < len(takes) and taken + takes[count] <= gives + TINY:
            taken += takes[count]
            count += 1
        most = min(most, count)
    return most
