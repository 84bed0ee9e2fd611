"""A scanned body of revolution: its axis from the points, its place along it, its diameters."""

from __future__ import annotations

import contextlib
import itertools
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

POSE_POINTS = 200_000  # enough to know an axis to a micrometre at 0.05 mm noise
SLICES = 80  # along the axis
LEAST_IN_SLICE = 12  # points: fewer say nothing about a circle
ROUNDS = 12  # of the axis search; it halves its error or better each time
OUTLYING = 4.0  # robust standard deviations (1.4826 median deviation) beyond which a point is out
NORMAL = 1.4826  # median absolute deviation to standard deviation, normal distribution
SHAPE_DOUBT = 20e-6  # m: how true a made surface follows its drawing from slice to slice, assumed
HARMONICS = 3  # centre, oval, three lobes: taken out so that holes do not bias the mean
LEAST_ROUND = 0.6  # share of the circumference that must be seen
SECTORS = 36
CLEARLY = 1.5  # times the misfit that the other way round must have to be ruled out
PLACED = 1e-3  # m: a shift known worse than this is not known


class ScanError(ValueError):
    """Points from which no axis, place or diameter can be told; the text says why."""


class Axis(NamedTuple):
    """A line in the scanner's frame: ``origin`` (3,), ``rows`` (3, 3) with the axis first.

    A point p lies at rows·(p − origin): along the axis, and two coordinates across it.
    """

    origin: Array
    rows: Array

    def place(self, points: Array) -> Array:
        """Points (n, 3) in the axis's own frame, (n, 3): along, across, across."""
        return np.asarray((points - self.origin) @ self.rows.T)


class Seat(NamedTuple):
    """Where the axis's own coordinate a lies on the drawing: x = sense·a + shift (m).

    ``doubt`` standard uncertainty of the shift; infinite where the shape does not tell.
    """

    sense: float
    shift: float
    doubt: float


class Ring(NamedTuple):
    """A mean diameter with its standard uncertainty, and the form about it (all m).

    ``oval`` and ``lobes``: half the height of the second and third harmonic of the radius.
    ``points``: how many speak; ``seen``: share of the circumference they cover.
    """

    diameter: float
    doubt: float
    oval: float
    lobes: float
    points: int
    seen: float


def find_axis(points: Array) -> Axis:
    """Axis of the body of revolution nearest to points (n, 3), m.

    Started on each principal axis by circles through slices, then least squares of
    ρ − R(a) over two tilts and two shifts with R the mean radius of each slice, so that no
    shape is assumed; points beyond 4 robust deviations are left out. The start of least
    deviation wins.
    Raises ScanError for fewer than 1000 points or none of finite place.
    """
    if len(points) < 1000 or not np.isfinite(points).all():
        raise ScanError("needs at least 1000 points, each of three finite numbers")
    some = points[:: max(1, len(points) // POSE_POINTS)]
    centre = some.mean(axis=0)
    _, principal = np.linalg.eigh(np.cov((some - centre).T))
    found = [_refined(some, _framed(centre, direction)) for direction in principal.T]
    known = [(deviation, number) for number, (_, deviation) in enumerate(found)]
    deviation, best = min(known)
    if not np.isfinite(deviation):
        raise ScanError("no axis of revolution is found in the points")
    return found[best][0]


def _framed(origin: Array, direction: Array) -> Axis:
    """An axis through origin, pointing to the plus of its largest part, with two across it."""
    ahead = direction / np.linalg.norm(direction)
    ahead = ahead * np.sign(ahead[np.argmax(np.abs(ahead))])
    side = np.eye(3)[int(np.argmin(np.abs(ahead)))]
    across = np.cross(ahead, side)
    across /= np.linalg.norm(across)
    return Axis(origin, np.array([ahead, across, np.cross(ahead, across)]))


def _refined(points: Array, axis: Axis) -> tuple[Axis, float]:
    """The axis moved until it no longer moves, and the robust deviation of the radii about it."""
    deviation = np.inf
    for turn in range(ROUNDS):
        own = axis.place(points)
        step, deviation = _circles(own) if turn < 3 else _tilts(own)
        if not np.isfinite(deviation):
            return axis, np.inf
        origin = axis.origin + axis.rows.T @ np.array([0.0, step[0], step[1]])
        ahead = axis.rows.T @ np.array([1.0, step[2], step[3]])
        axis = _framed(origin, ahead)
        if turn >= 3 and np.abs(step).max() < 1e-9:
            break
    return axis, deviation


def _slices(along: Array) -> NDArray[np.intp]:
    """Slice number of each point."""
    low, high = np.quantile(along, [0.001, 0.999])
    width = max((high - low) / SLICES, 1e-9)
    number = ((along - low) / width).astype(np.intp)
    return np.asarray(np.clip(number, 0, SLICES - 1))


def _circles(own: Array) -> tuple[Array, float]:
    """Line through the centres of circles fitted to the slices: y + z shifts and tilts.

    Circle of each slice by least squares of y² + z² = 2 y c_y + 2 z c_z + q.
    """
    number = _slices(own[:, 0])
    a, y, z = own.T
    columns = (y, z, np.ones_like(y), y * y + z * z)
    total = np.array(
        [[np.bincount(number, p * q, minlength=SLICES) for q in columns] for p in columns]
    )
    weight = total[2, 2]
    filled = weight >= LEAST_IN_SLICE
    if filled.sum() < 5:
        return np.zeros(4), np.inf
    M = np.moveaxis(total[:3, :3], -1, 0)[filled] + 1e-18 * np.eye(3)
    solved = np.linalg.solve(M, total[:3, 3].T[filled][..., None])[..., 0]
    along = np.bincount(number, a, minlength=SLICES)[filled] / weight[filled]
    design = np.column_stack([np.ones_like(along), along])
    strength = np.sqrt(weight[filled])[:, None]
    line = np.linalg.lstsq(design * strength, 0.5 * solved[:, :2] * strength, rcond=None)[0]
    return np.array([*line[0], *line[1]]), _deviation(own, number)


def _deviation(own: Array, number: NDArray[np.intp]) -> float:
    rho = np.hypot(own[:, 1], own[:, 2])
    gap = rho - _means(rho, np.ones_like(rho), number)[number]
    return float(NORMAL * np.median(np.abs(gap)))


def _means(value: Array, weight: Array, number: NDArray[np.intp]) -> Array:
    total = np.bincount(number, weight * value, minlength=SLICES)
    share = np.bincount(number, weight, minlength=SLICES)
    return np.asarray(total / np.maximum(share, 1e-30))


def _tilts(own: Array) -> tuple[Array, float]:
    """Least-squares step of shifts c and tilts m: ρ − R(a) = c·n + a m·n, n the radial direction.

    Within a slice the radius follows a line in a, so that neither slope nor slice width counts.
    """
    number = _slices(own[:, 0])
    a, y, z = own.T
    rho = np.hypot(y, z)
    n_y, n_z = y / rho, z / rho
    local = a - _means(a, np.ones_like(a), number)[number]
    weight = np.ones_like(a)
    step, deviation = np.zeros(4), np.inf
    for _ in range(3):
        columns = np.column_stack([n_y, n_z, a * n_y, a * n_z, rho])
        flat = _without_lines(columns, local, weight, number)
        design, gap = flat[:, :4], flat[:, 4]
        weighted = design * weight[:, None]
        step = np.linalg.solve(weighted.T @ design + 1e-15 * np.eye(4), weighted.T @ gap)
        left = np.abs(gap - design @ step)
        deviation = float(NORMAL * np.median(left))
        weight = (left <= OUTLYING * deviation).astype(float)
    return step, deviation


def _without_lines(columns: Array, local: Array, weight: Array, number: NDArray[np.intp]) -> Array:
    """Columns less their own weighted straight line in each slice."""
    left = np.empty_like(columns)
    square = _means(local * local, weight, number)
    centre = _means(local, weight, number)
    spread = np.maximum(square - centre**2, 1e-30)
    for k, column in enumerate(columns.T):
        mean = _means(column, weight, number)
        slope = (_means(column * local, weight, number) - mean * centre) / spread
        left[:, k] = column - mean[number] - slope[number] * (local - centre[number])
    return left


def seat(own: Array, profile_x: Array, profile_r: Array) -> Seat:
    """Which way round and how far along the points (n, 3) of the axis's frame lie on a drawing.

    Slice radii R(a) against the drawn radius r(x), x = ±a + shift: least squares over the
    shift, with a diameter offset and a scale left free, since they are what is measured.
    A shape that does not tell its place (a cylinder; a cone, whose shift looks like an offset)
    gets its base end laid on the drawing's, and an infinite doubt; one that does not tell its
    way round is taken with its tip towards the axis's plus, as a mould stands on its printer.
    own is ordered by its first column; profile_x (m, from the tip, ascending), profile_r (m).
    Raises ScanError when the points are longer than the drawing by more than a fifth, or
    shorter than a twentieth of it: another thing, or another unit.
    """
    a, radius = _profile(own)
    length, drawn = float(np.ptp(a)), float(np.ptp(profile_x))
    if length > 1.2 * drawn or length < 0.05 * drawn:
        raise ScanError(
            f"points reach over {length * 1e3:.1f} mm where the drawing has {drawn * 1e3:.1f} mm"
        )
    tried = [_slide(sense, a, radius, profile_x, profile_r) for sense in (-1.0, 1.0)]
    (misfit, best), (other, _) = sorted(tried, key=lambda item: item[0])
    told = other > CLEARLY * misfit
    if told and best.doubt < PLACED:
        return best
    sense = best.sense if told else -1.0
    return Seat(sense, float(profile_x[-1] - (sense * own[:, 0]).max()), np.inf)


def _profile(own: Array) -> tuple[Array, Array]:
    """Radius along the axis where enough of the circumference is seen: places and radii."""
    some = own[:: max(1, len(own) // POSE_POINTS)]
    low, high = np.quantile(some[:, 0], [0.001, 0.999])
    half = 0.5 * (high - low) / SLICES
    found = []
    for along in low + half * (1.0 + 2.0 * np.arange(SLICES)):
        with contextlib.suppress(ScanError):
            found.append((along, 0.5 * ring_at(some, along, half).diameter))
    if len(found) < SLICES // 4:
        raise ScanError("less than a quarter of the length is seen all round")
    places, radii = np.array(found).T
    return places, radii


def _slide(sense: float, a: Array, radius: Array, x: Array, r: Array) -> tuple[float, Seat]:
    """Best shift one way round: a coarse walk, then Gauss-Newton with offset and scale free."""
    along = sense * a
    lowest, highest = x[0] - along.min(), x[-1] - along.max()
    room = np.sort([lowest, highest]) + np.array([-0.02, 0.02]) * np.ptp(x)
    shifts = np.arange(room[0], room[1] + 1e-3, 0.5e-3)
    gaps = radius - np.interp(along + shifts[:, None], x, r)
    shift = float(shifts[np.argmin(gaps.std(axis=1))])
    slope_x, slope = _slopes(x, r)
    doubt = np.inf
    for _ in range(8):
        here = np.interp(along + shift, x, r)
        design = np.column_stack([np.interp(along + shift, slope_x, slope), np.ones_like(a), here])
        scaled = design / np.linalg.norm(design, axis=0).clip(1e-12)
        if np.linalg.cond(scaled) > 1e6:
            doubt = np.inf
            break
        step, *_ = np.linalg.lstsq(design, radius - here, rcond=None)
        gap = radius - here - design @ step
        noise = float(np.hypot(NORMAL * np.median(np.abs(gap)), SHAPE_DOUBT))
        doubt = noise * float(np.sqrt(np.linalg.inv(design.T @ design)[0, 0]))
        shift += float(np.clip(step[0], -2e-3, 2e-3))
    gap = radius - np.interp(along + shift, x, r)
    return float(np.std(gap)), Seat(sense, shift, doubt)


def _slopes(x: Array, r: Array) -> tuple[Array, Array]:
    """Slope of the drawing's chords at their middles."""
    keep = np.concatenate([[True], np.diff(x) > 1e-9])
    x, r = x[keep], r[keep]
    return 0.5 * (x[1:] + x[:-1]), np.diff(r) / np.diff(x)


def ring_at(own: Array, along: float, half_width: float) -> Ring:
    """Mean diameter at a place along the axis, from the points (n, 3) within a band about it.

    own (n, 3) is ordered by its first column. Least squares of ρ = R + m u + b u²
    + Σ_k (p_k cos kφ + q_k sin kφ), u = a − along, k = 1 to 3; points beyond 4 robust
    deviations are left out. Raises ScanError where less than 60 % of the
    circumference is seen.
    """
    low, high = np.searchsorted(own[:, 0], [along - half_width, along + half_width])
    a, y, z = own[low:high].T
    angle = np.arctan2(z, y)
    seen = _share_seen(angle)
    if len(a) < 100 or seen < LEAST_ROUND:
        raise ScanError(
            f"{len(a)} points on {seen:.0%} of the circumference; "
            f"a diameter needs 100 points on {LEAST_ROUND:.0%}"
        )
    rho = np.hypot(y, z)
    waves = itertools.chain.from_iterable(
        (np.cos(k * angle), np.sin(k * angle)) for k in range(1, HARMONICS + 1)
    )
    u = (a - along) / half_width
    design = np.column_stack([np.ones_like(a), u, u * u, *waves])
    kept = np.ones(len(a), bool)
    for _ in range(4):
        b, *_ = np.linalg.lstsq(design[kept], rho[kept], rcond=None)
        gap = np.abs(rho - design @ b)
        deviation = NORMAL * float(np.median(gap[kept]))
        kept = gap <= OUTLYING * max(deviation, 1e-9)
    inverse = np.linalg.inv(design[kept].T @ design[kept])
    doubt = deviation * float(np.sqrt(inverse[0, 0]))
    oval, lobes = np.hypot(b[5], b[6]), np.hypot(b[7], b[8])
    return Ring(2.0 * float(b[0]), 2.0 * doubt, float(oval), float(lobes), int(kept.sum()), seen)


def _share_seen(angle: Array) -> float:
    """Share of 36 equal sectors that hold a point."""
    sector = ((angle + np.pi) * (SECTORS / (2.0 * np.pi))).astype(int) % SECTORS
    return len(np.unique(sector)) / SECTORS
