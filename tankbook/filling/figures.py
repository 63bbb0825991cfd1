"""Every figure that filling takes for granted where no record names one, with its source.

Nothing here is law or measured at the station. A figure that a record or an option can name is
used only where neither does, and a plan tells what it took.
"""

from __future__ import annotations

from typing import NamedTuple

from tankbook.records.words import Material
from tankbook.units import GaugePressure, Percent, PressureRate, RunningTime, Volume

# --- the station's habits

USUAL_RATE = {"psi": PressureRate.of(400, "psi/min"), "bar": PressureRate.of(28, "bar/min")}
"""The fill rate where the station names none (common practice, no source)."""

SMALL = Volume.of(5, "L")
"""A cylinder below this is filled at half the rate (common practice, no source)."""

ACCEPTABLE_LOSS = Percent.of(5, "%")
"""A cylinder that settles, or stands, so little below its target is full (common practice, no
source)."""

PARTS_OF_LOSS = (0.5, 1.0)
"""Where the banks do not fill a cylinder, answers are looked for that leave it so many parts of
that loss below its target (own choice)."""

HANDLING = RunningTime.of(4, "min")
"""What a load takes to connect and remove (common practice, no source)."""

COOLING = RunningTime.of(30, "min")
"""How long a cylinder rests before it is connected again (common practice, no source)."""

TYPICAL_VOLUME = Volume.of(11.1, "L")
"""What a fill that was logged since a bank was read is taken to have gone into, to tell how unsure
the bank's pressure has become: each end of it may be off by a gauge's error (assumption)."""

MOST_UNSURE = Percent.of(10, "%")
"""A bank whose pressure, carried forward, is more unsure than this part of it is to be read
(assumption)."""

MOST_TOP_OFFS = 0
"""How often a cylinder is connected again to be topped off, where nobody asks for it."""

LONGEST_HOLD = RunningTime.of(90, "min")
"""For no longer is a gauge held at its stop while a cylinder cools (assumption)."""

FILL_IS_WORTH = RunningTime.of(30, "min")
"""A full fill more in the banks may take a hand no longer than this at the panel (own choice): what
is asked for a fill pays somebody for about so long (common practice, no source)."""

STEP_IS_WORTH = RunningTime.of(0.25, "min")
"""A step fewer to read and to carry out may take so much longer (own choice): nobody notices that
of a session, and a card of fewer steps is sooner understood."""

DIFFER_MUCH, FILLS_DIFFER = RunningTime.of(20, "min"), 2
"""Where least gas and soonest done differ by so many minutes, or leave so many fills more or fewer,
both are told first (own choice)."""

CHANGE_IS_WORTH = RunningTime.of(6, "min")
"""The compressor is changed over to another bank where what that leaves is worth more than so many
minutes (assumption): it has a hand drain it and turn two valves."""

DRAIN_EVERY = RunningTime.of(15, "min")
"""How often a running compressor's separators are drained (common practice, no source)."""

UNLOADED = RunningTime.of(5, "min")
"""A compressor that is wanted again within so many minutes runs on unloaded; else it is stopped, as
a motor is not to be started often (own choice)."""

WORTH_A_START = RunningTime.of(1, "min")
"""A compressor that was stopped as its bank came full is started for it again where that takes all
that it makes for so long (own choice)."""

LONG_HOLD = RunningTime.of(30, "min")
"""A gauge that is held for longer has the plan say what that is for, and what else would do (own
choice)."""

LONG_WAIT = RunningTime.of(10, "min")
"""For so long nobody is to stand at cylinders that are connected while a bank is raised for them
(own choice)."""

SHORTEST_WAIT = RunningTime.of(1, "min")
"""No hand waits, or holds a gauge, for less (own choice)."""

SHORTEST_OPEN = RunningTime.of(0.1, "min")
"""Nothing is opened for less, six seconds: a hand has to shut it again (own choice)."""

SHORT_OPEN, WORTH_OPENING = RunningTime.of(0.5, "min"), Percent.of(5, "%")
"""Nor for so little time, half a minute, where that adds less than this part of the target: a hand
has to open each position and the bank, watch a gauge, and shut them again (own choice)."""

SHORTEST_RUN = RunningTime.of(1, "min")
"""A compressor that may run for less, or whose separators are to be drained more often, is written
down wrongly (assumption)."""

SHORT_RUN = Percent.of(20, "%")
"""A compressor rests first where it could run for less than this part of its longest run (own
choice)."""

MOST_RAISED = 20
"""So often is a bank raised again for one load (own choice)."""

RAISED_MORE = 1.03
"""By so much higher a bank is raised where it would not do: it cools as it gives (own choice)."""

RAISED_BY, MOST_RAISES = (1.03, 1.08, 1.15, 1.3), 2
"""So many times what it would have to hold at least, cold, is tried in turn of a bank that is told
to be raised, and of no more than so many banks (own choice)."""

RAISED_IN = {"psi": 50, "bar": 5}
"""In whole steps of this (own choice): nobody raises a bank to a pressure that is hard to read."""

COOLS_BETWEEN = RunningTime.of(10, "min")
"""For so long cylinders that were filled from the compressor cool, while it feeds a bank (own
choice)."""

READING_GOOD_FOR = RunningTime.of(12, "h")
"""How old a bank's reading may be (common practice, no source)."""

GAUGE_ERROR = GaugePressure.of(60, "psi")
"""How far a panel gauge may be off the master (common practice, no source)."""

DAY_RUNS = RunningTime.of(8, "h")
"""How long a compressor can run in a working day, where the lists of opening and closing tell no
hours (common practice, no source)."""

# --- how many fills a day a station carries

BUSY_DAY = Percent.of(90, "%")
"""A busy day asks no less than this part of all days with fills (own choice)."""

RAISED_OFTEN = 3
"""A bank that was raised so often in the time looked at is full at what it was raised to,
typically; else as it is rated (own choice)."""

WORTH_HIGHER = 1.01
"""A compressor that reaches so much more than the largest bank is worth a bank of higher rating
(own choice)."""

NEARLY_FULL = Percent.of(90, "%")
"""A bank that shows less than this part of what it is full at is told as not full (own choice)."""

# --- the cylinder that full fills are counted in, where settings and sizes name none

STANDARD_START = {"psi": GaugePressure.of(500, "psi"), "bar": GaugePressure.of(35, "bar")}
"""What a standard cylinder comes back with (common practice, no source)."""

STANDARD_SIZE = "al80"
STANDARD_MARK = GaugePressure.of(3000, "psi")

# --- blending

OXYGEN_RATE = PressureRate.of(60, "psi/min")
"""How slowly oxygen is let in (common practice, no source)."""

RICHEST = Percent.of(40, "%")
"""The most oxygen that a continuous blender makes (common practice, no source)."""

LEAST_STEP = {"psi": GaugePressure.of(50, "psi"), "bar": GaugePressure.of(3, "bar")}
"""A stop this little above the one before cannot be read off a panel gauge (common practice, no
source)."""

READING_ERROR = Percent.of(1, "%")
"""How far a gauge may be off at each stop of a blend (common practice, no source)."""

# --- the heat of a fill: none is a measurement of a diving cylinder, and every prediction of a hot
# pressure carries the band


class Band(NamedTuple):
    """A figure and the band it may lie in."""

    low: float
    usual: float
    high: float


INNER_FILM = Band(75.0, 150.0, 300.0)
"""Gas to wall [W/(m2 K)]. Assumption. Turbulent free convection, Nu = 0.13 Ra^(1/3) (W. H. McAdams,
Heat Transmission, 3rd ed., 1954; memory), with air at 200 bar, 20 K and 0.16 m gives about 170;
the entering jet stirs it, a nearly empty cylinder has thinner gas."""

OUTER_DRY = Band(5.0, 10.0, 15.0)
"""Wall to still air [W/(m2 K)], free convection and radiation. Assumption (memory)."""

OUTER_WET = Band(150.0, 300.0, 600.0)
"""Wall to a water bath [W/(m2 K)], free convection in water. Assumption (memory)."""

SURE_INNER, SURE_OUTER_DRY, SURE_OUTER_WET = 105.0, 6.0, 190.0
"""Films with which a fill settles lower than with nine tenths of those in the bands above; how long
a gauge is held at its stop is reckoned with these."""

WALL_HEAT = Band(0.9, 1.0, 1.1)
"""The heat capacity of a wall, as a share of what its mass and material make it: masses differ, and
so do alloys. Assumption."""

BAND_HOLDS = 1.28
"""The bands of films and walls are taken to reach so many standard deviations to either side: eight
tenths lie within. What the log tells of them is weighed against that (assumption)."""

SPECIFIC_HEAT = {
    Material.ALUMINIUM: 900.0,
    Material.STEEL: 470.0,
    Material.COMPOSITE: 900.0,
}
"""J/(kg K). Handbook values for aluminium 6061 and low-alloy steel; composite assumed (memory)."""

MASS_PER_LITRE = {
    Material.ALUMINIUM: 1.28,
    Material.STEEL: 1.21,
    Material.COMPOSITE: 0.59,
}
"""kg of wall per litre of water volume, where the mass is not known: that of an 11.1 L aluminium
cylinder of 14.2 kg, a 12 L steel one of 14.5 kg, a 6.8 L composite one of 4 kg. Assumption."""

LENGTH_TO_BORE = 3.5
"""Length over inside diameter, to tell the area from the volume. Assumption."""

OUTSIDE_TO_INSIDE = 1.15
"""Outside over inside area. Assumption."""

# --- what fills that were read again tell of the heat

READ_AGAIN_AFTER = RunningTime.of(20, "min")
"""The first reading so long after a fill is the one that tells what it settled to (common practice,
no source); how warm it still is by then is reckoned."""

AT_REST_AFTER = RunningTime.of(8, "h")
"""From so long after a fill on a cylinder is taken to be as warm as the room (own calculation: less
than a part in a thousand is left)."""

STOOD_BEFORE = RunningTime.of(3, "h")
"""One that was filled or drained less long before a fill began it warm or cold (own
calculation)."""

LONGEST_STAND = RunningTime.of(30 * 24, "h")
"""What was read later than this after a fill says nothing of its heat (assumption)."""

MOST_FILLS = 40
"""So many fills of a size are used, the newest: valves, gauges and hands change."""

ERROR_HOLDS = 2.0
"""How far a gauge may err is taken for so many standard deviations (assumption)."""

ROOMS_APART, ROOM_UNREAD = 3.0, 5.0
"""Standard deviation [K] of how far the room of a fill was from that of a later day, and of the
usual temperature from that of a day on which nobody read it (assumption)."""

ROOM_SAME = 1.0
"""The same [K] within the hours in which a cylinder cools, and of a thermometer that was just read
(assumption)."""

ROOM_USUAL = 2.0
"""The same [K] of a station's usual temperature, where a plan is not told another (assumption)."""

BANK_APART = 3.0
"""Standard deviation [K] of how far the gas in a bank is from the room (assumption)."""

BANK_IS_FELT = 0.25
"""The part of that by which the gas of a fill is still off at its stop (own calculation: an 11.1 L
aluminium cylinder from 500 to 3000 psi)."""

SEEPS = GaugePressure.of(5, "psi")
"""Standard deviation of what a sound cylinder loses a day, in reading and seeping (assumption)."""

CYLINDERS_DIFFER = 0.005
"""Standard deviation, as a share of the pressure, by which cylinders of one size differ among each
other, however often each was filled (assumption)."""

LOGGED_LATE = RunningTime.of(5, "min")
"""Standard deviation of the time that a fill was logged at from when it ended (assumption)."""

MINUTES_OFF = 0.25
"""Standard deviation, as a share, of how long fills take, by the station's rate or by a plan: both
say how long a fill is to take, and nobody measured it (assumption). It is common to all of a
station's fills."""

HOLD_OFF, HOLD_PART_OFF = 0.3, 0.25
"""The same of how long a gauge is held at its stop [min], and as a share of what a plan says
(assumption)."""

GAUGES_DIFFER = 0.5
"""Two gauges, or the two ends of a scale, differ by this share of what a gauge may err, in all of a
station's fills alike (assumption)."""

STRAYS = 4.0
"""Degrees of freedom of Student's distribution, by which what is far off counts less; and the
standard deviations beyond which it does not count (own choice)."""

ABOVE_STOP = 1.25
"""What a fill came from is taken for so much more than its stop (assumption)."""

FARTHEST = 4.0
"""No figure is taken for more standard deviations off than this (own choice)."""

TOO_COOL = 1.5
"""Fills that together make a figure so many standard deviations cooler than usual were not read
warm at their stops, or a gauge errs: a plan that believed them would call short cylinders full (own
choice)."""

ENOUGH_TO_SCATTER = 5
"""From so many fills on, errors are taken for no less than they scatter (own choice)."""

TELLS = Percent.of(85, "%")
"""What is left of a band by fills that tell something of it, at most (own choice)."""

LONGEST_FILL = RunningTime.of(600, "min")
"""No fill takes longer; slower is as slow (assumption)."""

LOOKED_AT = 3 * MOST_FILLS
"""So many of the newest fills of a size are looked at: not all of them count (own choice)."""
