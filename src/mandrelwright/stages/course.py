"""The flight over time: an envelope made into a simple profile, or a history read from a table."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.flights import Track
from mandrelwright.job.flying import Flight
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics.ascent import ascent, drag_to
from mandrelwright.physics.atmosphere import GRAVITY, HIGHEST, Air, atmosphere

Array = NDArray[np.float64]

SAMPLES = 400  # altitudes at which the air is worked out; straight between
MOST_ANGLE = np.radians(15.0)  # beyond, slender-body theory does not hold
GUST_DEPTH = 25.0  # m to either side of a stated height that a gust fills
COLUMNS = ("times", "speed", "height", "felt", "angle", "across", "mach", "pressure")
THINNED = 240  # moments at which heat is followed


@dataclass(frozen=True)
class Course:
    """Moments (time,) s; speed m/s, height above the site m, felt acceleration along m/s²,
    angle of attack rad, acceleration across m/s², Mach number and dynamic pressure Pa.

    site: altitude of the site, m; warmer: than the standard, K; top and ejects: when, s;
    ``steep``: it is past the stated altitude before it coasts.
    """

    kind: str
    times: Array
    speed: Array
    height: Array
    felt: Array
    angle: Array
    across: Array
    mach: Array
    pressure: Array
    site: float
    warmer: float
    top: float
    ejects: float
    steep: bool

    @property
    def air(self) -> Air:
        """The free air, (time,)."""
        return atmosphere(np.minimum(self.height + self.site, HIGHEST), self.warmer)

    @property
    def reynolds(self) -> float:
        """Reynolds number per length at the largest dynamic pressure, 1/m."""
        at = int(np.argmax(self.pressure))
        air = atmosphere(float(self.height[at]) + self.site, self.warmer)
        return float(air.density * self.speed[at] / air.viscosity)

    def at(self, time: float) -> int:
        """The moment next to a time (s)."""
        return int(np.argmin(np.abs(self.times - time)))

    def thinned(self) -> Course:
        """A few hundred moments up to the ejection, each the mean of those about it."""
        last = self.at(self.ejects) + 1
        if last <= 2 * THINNED:
            return self._rows(np.arange(last), None)
        edges = np.linspace(0, last, THINNED + 1).astype(int)
        return self._rows(edges[:-1], np.diff(edges))

    def _rows(self, starts: NDArray[np.intp], counts: NDArray[np.intp] | None) -> Course:
        columns = [getattr(self, name) for name in COLUMNS]
        if counts is None:
            means = [column[starts] for column in columns]
        else:
            end = int(starts[-1] + counts[-1])
            means = [np.add.reduceat(column[:end], starts) / counts for column in columns]
        return replace(self, **dict(zip(COLUMNS, means, strict=True)))


def set_course(job: Job, library: Library) -> Course | None:
    """The flight that the job states; None where it states neither speed nor history."""
    flight = job.flight
    if flight is None:
        return None
    if job.track is not None:
        return _logged(flight, job.track)
    return None if flight.top_speed is None else _envelope(flight, flight.top_speed.value, library)


def warmer(flight: Flight) -> float:
    """Kelvin by which the day is above the standard at the site."""
    standard = float(atmosphere(flight.site_altitude.value).temperature)
    return flight.temperature.value - standard


def _envelope(flight: Flight, v: float, library: Library) -> Course:
    """Even push to top speed, hold, coast with the drag that ends at the stated altitude."""
    burn = flight.burn.value if flight.burn else v / library.practice["flight"]["boost"].value
    hold = flight.hold.value
    left = np.inf if flight.altitude is None else flight.altitude.value - v * (0.5 * burn + hold)
    steep = bool(left <= 0.02 * v * v / GRAVITY)
    drag = drag_to(v, max(left, 0.02 * v * v / GRAVITY))
    flown = ascent(v, burn, hold, drag, flight.ejection_delay.value)
    top = float(flown.times[-1]) - flight.ejection_delay.value
    angle = np.zeros_like(flown.times)
    rising = flown.times <= top
    if flight.angle_of_attack is not None:
        angle[rising] = flight.angle_of_attack.value
    else:
        gust = flight.gust.value if flight.gust else library.practice["flight"]["gust"].value
        angle[rising] = np.arctan2(gust, np.maximum(flown.speed[rising], 1e-3))
    if flight.gust_altitude is not None:
        angle[np.abs(flown.height - flight.gust_altitude.value) > GUST_DEPTH] = 0.0
        nearest = np.argmin(
            np.where(rising, np.abs(flown.height - flight.gust_altitude.value), 1e9)
        )
        angle[nearest] = _met(flight, library, float(flown.speed[nearest]))
    across = np.where(angle > 0.0, flight.lateral.value, 0.0)
    return _course("envelope", flight, *flown, np.minimum(angle, MOST_ANGLE), across, top, steep)


def _met(flight: Flight, library: Library, speed: float) -> float:
    """Angle of attack as the gust is met (rad)."""
    if flight.angle_of_attack is not None:
        return flight.angle_of_attack.value
    gust = flight.gust.value if flight.gust else library.practice["flight"]["gust"].value
    return float(np.arctan2(gust, max(speed, 1e-3)))


def _logged(flight: Flight, track: Track) -> Course:
    """The rows of the table; what it does not hold is worked out or nought."""
    felt = track.acceleration
    if felt is None:
        felt = np.gradient(track.speed, track.time) + GRAVITY
    top = float(track.time[np.argmax(track.altitude)])
    none = np.zeros_like(track.time)
    angle = none if track.angle_of_attack is None else np.abs(track.angle_of_attack)
    across = none if track.lateral is None else track.lateral
    columns = (track.time, np.abs(track.speed), track.altitude, felt)
    return _course("history", flight, *columns, np.minimum(angle, MOST_ANGLE), across, top, False)


def _course(
    kind: str, flight: Flight, times: Array, speed: Array, height: Array, felt: Array,
    angle: Array, across: Array, top: float, steep: bool,
) -> Course:  # fmt: skip
    """With Mach number and dynamic pressure from the air of that day."""
    site = flight.site_altitude.value
    few = np.linspace(min(0.0, float(height.min())), max(float(height.max()), 1.0), SAMPLES)
    warm = warmer(flight)
    air = atmosphere(np.minimum(few + site, HIGHEST), warm)
    mach = speed / np.interp(height, few, air.sound)
    pressure = 0.5 * np.interp(height, few, air.density) * speed**2
    ejects = min(top + flight.ejection_delay.value, float(times[-1]))
    columns = (times, speed, height, felt, angle, across, mach, pressure)
    return Course(kind, *columns, site, warm, top, ejects, steep)
