"""The solid against closed forms, and against trimesh and manifold3d as independent judges."""

from itertools import pairwise
from math import pi

import manifold3d
import numpy as np
import pytest
import trimesh

from mandrelwright.out import solid
from mandrelwright.out.segments import make_whole as make_solid
from mandrelwright.out.solid import Mesh, SolidError, verify, volume
from mandrelwright.stages.print import PrintForm
from mandrelwright.stages.turned import decimate

FLANGE, ROD, VENT = (0.065, 0.008), 0.0102, 0.003


def form(height, radius, flange=None, pull_rod=None, vent=None):
    return PrintForm(np.array(height, float), np.array(radius, float), flange, pull_rod, vent)


def von_karman(height, length=0.392, base=0.0511):
    """Radius and dr/dz at a height above the base.

    r = R sqrt((t - sin(2t)/2)/pi), t = arccos(1 - 2x/L): Haack series with C = 0, G. A. Crowell,
    "The Descriptive Geometry of Nose Cones", 1996 (from memory).
    """
    t = np.arccos(1 - 2 * (length - height) / length)
    radius = base * np.sqrt((t - np.sin(2 * t) / 2) / pi)
    slope_of_t = 2 / (length * np.sin(t))
    return radius, -(base**2) * (1 - np.cos(2 * t)) * slope_of_t / (2 * pi * radius)


def nose(points=400, **features):
    height = 0.150 * (1 - np.cos(np.linspace(0.02, pi, points)))  # from near the base to z = 300
    height -= height[0]
    return form(height, von_karman(height)[0], **features)


def judged(mesh):
    """The same triangles as trimesh sees them, nothing merged or mended."""
    return trimesh.Trimesh(mesh.vertices_mm.astype(float), mesh.triangles, process=False)


def kernel(mesh):
    return manifold3d.Manifold(manifold3d.Mesh(mesh.vertices_mm, mesh.triangles.astype(np.uint32)))


def frustum(low, high, height):
    return pi * height * (low**2 + low * high + high**2) / 3


@pytest.mark.parametrize(("low", "high"), [(0.049, 0.049), (0.049, 0.020), (0.020, 0.049)])
@pytest.mark.parametrize("flange", [None, FLANGE])
@pytest.mark.parametrize("rod", [None, ROD])
@pytest.mark.parametrize("vent", [None, VENT])
def test_volume_is_that_of_frustum_disc_and_bores(low, high, flange, rod, vent) -> None:
    mesh = make_solid(form([0, 0.12], [low, high], flange, rod, vent))
    disc, thickness = flange or (0.0, 0.0)
    bores = pi / 4 * ((rod or 0) ** 2 + (vent or 0) ** 2)
    expected = frustum(low, high, 0.12) + pi * disc**2 * thickness - bores * (0.12 + thickness)
    assert volume(mesh) == pytest.approx(expected, rel=1e-6)  # float32 keeps 6e-8 of a length
    assert judged(mesh).volume * 1e-9 == pytest.approx(expected, rel=1e-6)


def test_a_last_radius_of_zero_makes_a_point() -> None:
    mesh = make_solid(form([0, 0.05, 0.12], [0.049, 0.03, 0.0], FLANGE))
    expected = frustum(0.049, 0.03, 0.05) + frustum(0.03, 0, 0.07) + pi * 0.065**2 * 0.008
    assert volume(mesh) == pytest.approx(expected, rel=1e-6)
    assert judged(mesh).is_watertight
    assert np.sum(mesh.vertices_mm[:, 2] == np.float32(128)) == 1


@pytest.mark.parametrize(
    ("features", "holes"),
    [
        ({}, 0),
        ({"flange": FLANGE}, 0),
        ({"vent": VENT}, 1),
        ({"pull_rod": ROD, "flange": FLANGE}, 1),
        ({"pull_rod": ROD, "vent": VENT, "flange": FLANGE}, 2),
    ],
)
def test_trimesh_finds_it_watertight_outward_and_of_the_right_genus(features, holes) -> None:
    seen = judged(make_solid(nose(**features)))
    assert seen.is_watertight
    assert seen.is_winding_consistent
    assert seen.is_volume
    assert seen.body_count == 1
    assert seen.euler_number == 2 - 2 * holes


def test_base_is_down_and_the_datum_is_the_flange_top() -> None:
    plain, flanged = make_solid(nose()), make_solid(nose(flange=FLANGE))
    top = nose().height[-1] * 1e3
    np.testing.assert_allclose(plain.vertices_mm[:, 2].min(), 0, atol=0)
    np.testing.assert_allclose(plain.vertices_mm[:, 2].max(), top, rtol=1e-7)
    np.testing.assert_allclose(flanged.vertices_mm[:, 2].max(), top + 8, rtol=1e-7)
    for height, radius in ((7.999, 65.0), (8.001, nose().radius[0] * 1e3)):
        area = kernel(flanged).slice(height).area()
        assert area == pytest.approx(pi * radius**2, rel=2e-6)


def samples(triangles, count=4):
    """Corners, middles of edges and a few inner points (n, 3) of triangles (m, 3, 3)."""
    weights = np.random.default_rng(3).dirichlet([1, 1, 1], count)
    weights = np.vstack([np.eye(3), (1 - np.eye(3)) / 2, weights])
    return np.einsum("wc,mcx->wmx", weights, triangles).reshape(-1, 3)


def deviation(points, height_of_base=0.0):
    """Distance from the von Karman surface, + outside, m: (r - r(z)) cos b to first order."""
    radius, slope = von_karman(points[:, 2] - height_of_base)
    return (np.hypot(points[:, 0], points[:, 1]) - radius) / np.sqrt(1 + slope**2)


@pytest.mark.parametrize("points", [400, 1600])
def test_every_point_of_the_mesh_is_within_the_chord_of_the_curve(points) -> None:
    mesh = make_solid(nose(points))
    corners = mesh.vertices_mm.astype(float)[mesh.triangles] * 1e-3
    wall = corners[np.ptp(corners[:, :, 2], axis=1) > 0]
    off = deviation(samples(wall))
    assert -solid.CHORD < off.min() < 0 < off.max() < solid.CHORD
    coarse = make_solid(nose(points), facets=40)
    corners = coarse.vertices_mm.astype(float)[coarse.triangles] * 1e-3
    wall = corners[np.ptp(corners[:, :, 2], axis=1) > 0]
    assert np.max(np.abs(deviation(samples(wall)))) > solid.CHORD  # the check can fail


def test_every_point_of_the_curve_is_within_the_chord_of_the_mesh() -> None:
    form_ = nose()
    body = kernel(make_solid(form_))
    random = np.random.default_rng(5)
    heights = random.uniform(0.001, 0.999, 400) * form_.height[-1]
    radii, slopes = von_karman(heights)
    for height, radius, slope, turn in zip(
        heights, radii, slopes, random.uniform(0, 2 * pi, 400), strict=True
    ):
        out = np.array([np.cos(turn), np.sin(turn), 0])
        start = 1e3 * (2 * radius * out + [0, 0, height])
        hit = body.ray_cast(start, [0, 0, 1e3 * height])[0]
        off = np.hypot(*hit.position[:2]) * 1e-3 - radius
        assert abs(off) / np.sqrt(1 + slope**2) < solid.CHORD


def test_sections_have_the_area_of_the_circle() -> None:
    body = kernel(make_solid(form([0, 0.1], [0.049, 0.030], pull_rod=ROD, vent=VENT)))
    for height in (10.0, 50.0, 90.0):
        radius = 49 - 0.19 * height
        expected = pi * radius**2 - pi / 4 * (10.2**2 + 3.0**2)
        assert body.slice(height).area() == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("facets", [16, 40, 212])
def test_polygon_of_equal_area(facets) -> None:
    turn = 2 * pi * np.arange(facets) / facets
    x, y = solid.polygon_factor(facets) * np.array([np.cos(turn), np.sin(turn)])
    shoelace = np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2
    assert shoelace == pytest.approx(pi, rel=1e-14)


def test_facets_keep_the_sagitta() -> None:
    for radius in (0.0015, 0.010, 0.049, 0.065, 0.2):
        facets = solid.facets_of(radius, 5e-6)
        assert radius * (1 - np.cos(pi / facets)) <= 5e-6
        assert facets <= pi / np.sqrt(2 * 5e-6 / radius) + 4  # n = pi sqrt(R/2c) for small angles


def test_decimation_of_a_circle_keeps_the_chord_and_few_points() -> None:
    turn = np.linspace(0, pi / 2, 2001)
    kept = decimate(np.column_stack([np.sin(turn), np.cos(turn)]), 1e-3)
    np.testing.assert_array_equal(kept[[0, -1]], [[0, 1], [1, np.cos(pi / 2)]])
    middles = np.hypot(*((kept[1:] + kept[:-1]) / 2).T)
    assert np.all(1 - middles <= 1e-3)
    fewest = np.ceil(pi / 2 / (2 * np.arccos(1 - 1e-3)))  # equal arcs at the full sagitta
    assert fewest <= len(kept) - 1 <= 2 * fewest


def test_decimation_keeps_corners_and_drops_what_is_straight() -> None:
    corners = np.array([[0.049, 0.0], [0.049, 0.1], [0.048, 0.1001], [0.02, 0.3]])
    share = np.linspace(0, 1, 50, endpoint=False)[:, None]
    dense = np.vstack([a + share * (b - a) for a, b in pairwise(corners)])
    np.testing.assert_array_equal(decimate(np.vstack([dense, corners[-1]]), 1e-9), corners)


def test_vent_is_clear_midway_between_rod_and_rim() -> None:
    shape = form([0, 0.1], [0.049, 0.020], FLANGE, ROD, VENT)
    (_, rod), (x, vent) = shape.holes()
    assert (rod, vent) == (ROD, VENT)
    assert x == pytest.approx((0.0051 + 0.020) / 2)
    body = kernel(make_solid(shape))
    for at, hits in ((0.0, 0), (1e3 * x, 0), (-1e3 * x, 2)):
        assert len(body.ray_cast([at, 0.01, -1], [at, 0.01, 200])) == hits


def test_vent_without_a_rod_is_on_the_axis() -> None:
    assert form([0, 0.1], [0.03, 0.004], vent=VENT).holes() == ((0.0, VENT),)


def test_same_form_same_arrays() -> None:
    first, second = (make_solid(nose(flange=FLANGE, pull_rod=ROD, vent=VENT)) for _ in range(2))
    assert first.vertices_mm.tobytes() == second.vertices_mm.tobytes()
    assert first.triangles.tobytes() == second.triangles.tobytes()


def cube():
    box = trimesh.creation.box(extents=[10, 10, 10])
    return box.vertices.astype(np.float32), box.faces.astype(np.int64)


def test_verify_accepts_a_cube_and_refuses_what_is_no_solid() -> None:
    vertices, triangles = cube()
    verify(Mesh(vertices, triangles), 0)
    flipped = triangles.copy()
    flipped[0] = flipped[0, ::-1]
    two = Mesh(
        np.vstack([vertices, vertices + np.float32(20)]), np.vstack([triangles, triangles + 8])
    )
    for broken, said in (
        (Mesh(vertices, triangles[1:]), "open"),
        (Mesh(vertices, flipped), "open"),
        (Mesh(vertices, np.vstack([triangles, triangles])), "open"),
        (Mesh(vertices, triangles[:, ::-1]), "1 pieces and -1000"),
        (two, "holes|pieces"),
    ):
        with pytest.raises(SolidError, match=said):
            verify(broken, 0)
    with pytest.raises(SolidError, match="0 through holes where 1"):
        verify(Mesh(vertices, triangles), 1)
    with pytest.raises(SolidError, match="2 pieces"):
        verify(two, -1)  # two cubes have the Euler number of one solid with -1 holes


def test_weld_merges_equal_bits_and_drops_collapsed_triangles() -> None:
    vertices = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 0, 0], [-0.0, 0, 0]], np.float32)
    welded = solid.weld(vertices, np.array([[0, 1, 2], [1, 3, 2], [4, 3, 2]]))
    assert len(welded.vertices_mm) == 3
    assert len(welded.triangles) == 2
    np.testing.assert_array_equal(
        welded.vertices_mm[welded.triangles[0]], [[0, 0, 0], [1, 0, 0], [0, 1, 0]]
    )
