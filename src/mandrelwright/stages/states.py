"""The schedule run at every place at once, and again with each doubtful number moved."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.curing import OFF, Stay
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics.conduction import Grid
from mandrelwright.physics.kinetics import Kinetics
from mandrelwright.physics.reaction import Ambient, History, Source, stepped
from mandrelwright.stages.cells import WALL, Cells
from mandrelwright.stages.resin import Resin

Array = NDArray[np.float64]

WATCHED = 14.0 * 86400.0  # s on the mould at shop temperature after the schedule
TOLERANCE = 0.05  # K of one step; the examples err by 2e-3 K at most, against 1e-7
DOUBTS = ("shop", "rate", "cut-off")
SHOP_DOUBT = 2.0  # K, where the job states none: assumed
FILMS = {
    "air": "still_air",
    "hot box": "still_air",
    "oven": "moving_air",
    "freezer": "freezer_air",
    "water": "water",
}


@dataclass(frozen=True)
class States:
    """Means over the wall and over the mould (time, place), the hottest cell of each; K, 1/s.

    ends: end of the schedule on the mould (s); later times watch the part left on it.
    """

    times: Array
    wall: Array
    mould: Array
    mould_hottest: Array
    wall_hottest: Array
    conversion: Array
    rate: Array
    glass: Array
    glass_rate: Array
    ends: float

    @property
    def ahead(self) -> Array:
        """T_g − T of the wall, K."""
        return self.glass - self.wall

    def during(self) -> NDArray[np.bool_]:
        """Times of the schedule on the mould."""
        return self.times <= self.ends + 1e-6

    def first(self, rows: int) -> States:
        """The first so many times."""
        fields = {name: value[:rows] for name, value in vars(self).items() if name != "ends"}
        return replace(self, **fields)

    def of(self, places: slice) -> States:
        """Some of the places."""
        fields = {
            name: value[:, places]
            for name, value in vars(self).items()
            if name not in ("times", "ends")
        }
        return replace(self, **fields)


def stays(job: Job) -> tuple[Stay, ...]:
    """The schedule, or a day at shop temperature where the job has none."""
    return job.schedule or (Stay.model_validate({"stay": "24 h", "at": "shop"}),)


def run(job: Job, cells: Cells, resin: Resin, library: Library) -> tuple[States, States | None]:
    """States on the mould and, where the schedule takes the part off, after that.

    Places come 1 + len(DOUBTS) times over: as expected, then with the shop, the rate and the
    cut-off each one standard uncertainty further on. On the mould the part is watched at shop
    temperature for two weeks after the schedule.
    """
    times, count = 1 + len(DOUBTS), len(cells.nodes)
    kinetics = _moved(job, resin, library, count)
    warmer = np.zeros(times)
    warmer[1] = job.shop.temperature.spread or SHOP_DOUBT
    shop = np.repeat(job.shop.temperature.value + warmer, count)
    films = library.practice["surroundings"]
    on: list[Ambient] = []
    off: list[Ambient] = []
    for stay in stays(job):
        warm = shop if isinstance(stay.at, str) else stay.at.value
        film = films[FILMS[stay.surroundings(job.shop.temperature.value)]].value
        hole = film if stay.part == OFF else films["enclosed_air"].value
        (off if stay.part == OFF else on).append(Ambient(stay.stay.value, warm, film, hole))
    ends = sum(ambient.lasts for ambient in on)
    on.append(Ambient(WATCHED, shop, films["still_air"].value, films["enclosed_air"].value))
    heat = np.tile(cells.heat, (times, 1))
    first = cells.wall.start
    grid = _tiled(cells.on, times)
    start = np.repeat(shop[:, None], first + WALL, axis=1)
    source = Source(kinetics, heat, first, first + WALL)
    history = stepped(grid, on, start, source, tolerance=TOLERANCE)
    states = _means(history, grid, first, kinetics, ends)
    if not off:
        return states, None
    row = int(np.searchsorted(history.times, ends - 1e-6))
    bare = _tiled(cells.off, times)
    start, taken = np.repeat(shop[:, None], WALL, axis=1), history.state[row]
    free = stepped(bare, off, start, Source(kinetics, heat, 0, WALL), taken, TOLERANCE)
    return states, _means(free, bare, 0, kinetics, float(free.times[-1]))


def _moved(job: Job, resin: Resin, library: Library, count: int) -> Kinetics:
    """The kinetics of every place, with the rate and the cut-off moved where their turn is."""
    faster, later = np.ones(1 + len(DOUBTS)), np.zeros(1 + len(DOUBTS))
    faster[2] += resin.doubt
    later[3] = resin.reach_doubt
    k = resin.kinetics
    return replace(
        k,
        k1=np.repeat(k.k1 * faster, count),
        k2=np.repeat(k.k2 * faster, count),
        reach=np.repeat(k.reach + later, count),
    )


def _tiled(grid: Grid, times: int) -> Grid:
    return Grid(*(np.tile(value, (times, 1)) for value in vars(grid).values()))


def _means(history: History, grid: Grid, first: int, kinetics: Kinetics, ends: float) -> States:
    """Area means over the wall and over what lies under it."""
    wall = slice(first, None)
    weight = grid.area[:, wall] / grid.area[:, wall].sum(-1, keepdims=True)
    alpha = (history.state * weight).sum(-1)
    rate = (history.rate * weight).sum(-1)
    T = history.temperature
    inside = slice(0, first) if first else wall
    return States(
        history.times,
        (T[..., wall] * weight).sum(-1),
        grid.mean(T, inside),
        T[..., inside].max(-1),
        T[..., wall].max(-1),
        alpha,
        rate,
        kinetics.glass.transition(alpha),
        kinetics.glass.slope(alpha) * rate,
        ends,
    )
