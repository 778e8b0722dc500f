"""Planes against NumPy's least squares, SciPy's linear programs and convex hulls, on random
points."""

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.spatial import ConvexHull
from scipy.stats import multivariate_normal

import truebed


@pytest.mark.parametrize("seed", range(40))
def test_plane_is_that_of_lstsq(seed):
    random = np.random.default_rng(seed)
    count = int(random.integers(3, 60))
    centre = random.uniform(-1e4, 1e4, 2)
    xy = centre + random.uniform(-1500, 1500, (count, 2))
    slopes = random.normal(0, 5e-3, 2)
    z = random.uniform(-100, 100) + xy @ slopes + random.normal(0, 0.5, count)
    weights = random.uniform(0.1, 10, count) if seed % 2 else None

    root = np.ones(count) if weights is None else np.sqrt(weights)
    # About the centre, where the design is well conditioned.
    design = np.column_stack([np.ones(count), xy - centre])
    coefficients = np.linalg.lstsq(design * root[:, None], z * root, rcond=None)[0]
    residuals = z - design @ coefficients

    plane = truebed.fit_plane(xy, z, weights=weights)
    assert np.allclose([plane.slope_x, plane.slope_y], coefficients[1:], rtol=0, atol=1e-13)
    offset = coefficients[0] - coefficients[1:] @ centre
    assert plane.offset_mm == pytest.approx(offset, abs=1e-9)
    assert np.allclose(plane.deviations_mm, residuals, rtol=0, atol=1e-10)
    assert plane.flatness_mm == pytest.approx(np.ptp(residuals), abs=1e-10)
    assert plane.rms_mm == pytest.approx(np.sqrt(np.mean(residuals**2)), abs=1e-10)


def cloud(seed, count, height=3.0):
    random = np.random.default_rng(seed)
    return random.uniform(-1, 1, (count, 2)) * [1200, 600], random.uniform(-height, height, count)


def by_linprog(xy, z):
    """Width of the vertical minimum zone: min t with |z − c − a x − b y| ≤ t."""
    design = np.column_stack([np.ones(len(z)), xy])
    ones = np.ones((len(z), 1))
    solved = linprog(
        [0, 0, 0, 1],
        A_ub=np.block([[-design, -ones], [design, -ones]]),
        b_ub=np.concatenate([-z, z]),
        bounds=[(None, None)] * 4,
    )
    assert solved.success
    return 2 * solved.fun


@pytest.mark.parametrize("seed", range(30))
def test_minimum_zone_is_that_of_linprog(seed):
    xy, z = cloud(seed, int(np.random.default_rng(seed).integers(4, 3000)))
    if seed % 3 == 0:  # a grid of coarse heights, with ties everywhere
        xy, z = np.round(xy / 300) * 300, np.round(z)
    zone = truebed.minimum_zone(xy, z)
    assert zone.plane.flatness_mm == pytest.approx(by_linprog(xy, z), rel=1e-7, abs=1e-7)
    assert zone.proven and zone.plane == truebed.fit_plane(xy, z, "minimum-zone")
    # The contacts prove it, from nothing but the data.
    at = [contact.point for contact in zone.contacts]
    share = np.array([c.share if c.above else -c.share for c in zone.contacts])
    assert np.abs(share).sum() == pytest.approx(1)
    assert np.allclose(share @ np.column_stack([np.ones(len(at)), xy[at]]), 0, atol=1e-8)
    assert 2 * share @ z[at] == pytest.approx(zone.plane.flatness_mm, abs=1e-10)


@pytest.mark.parametrize("seed", range(15))
def test_normal_zone_is_that_of_the_hull(seed):
    xy, z = cloud(seed, 40, [1e-3, 30.0, 600.0][seed % 3])
    hull = ConvexHull(np.column_stack([xy, z]))
    points = hull.points[hull.vertices]
    # The width of a polytope is at the normal of a face or of two edges.
    edges = {tuple(sorted(pair)) for s in hull.simplices for pair in zip(s, np.roll(s, 1))}
    edges = np.array([hull.points[a] - hull.points[b] for a, b in edges])
    crosses = np.cross(edges[:, None], edges[None]).reshape(-1, 3)
    normals = np.vstack([hull.equations[:, :3], crosses])
    length = np.linalg.norm(normals, axis=1)
    normals = normals[length > 1e-9 * length.max()] / length[length > 1e-9 * length.max(), None]
    width = np.ptp(normals @ points.T, axis=1).min()
    zone = truebed.minimum_zone(xy, z, "normal")
    assert zone.proven
    assert zone.plane.flatness_mm == pytest.approx(width, rel=1e-9)


@pytest.mark.parametrize("seed", range(40))
def test_a_frame_rests_on_the_facet_of_the_hull(seed):
    random = np.random.default_rng(seed)
    xy, z = cloud(seed, int(random.integers(4, 200)))
    hull = ConvexHull(np.column_stack([xy, z]))
    centre = random.dirichlet(np.ones(len(z))) @ xy
    found = truebed.resting(xy, z, centre)
    upper = hull.equations[hull.equations[:, 2] > 0]
    heights = -(upper[:, :2] @ centre + upper[:, 3]) / upper[:, 2]
    facet = hull.simplices[hull.equations[:, 2] > 0][np.argmin(heights)]
    assert found.supports == sorted(facet.tolist())
    plane = found.plane
    height = plane.offset_mm + centre @ [plane.slope_x, plane.slope_y]
    assert height == pytest.approx(heights.min(), abs=1e-10)
    assert np.all(found.floats_mm >= 0) and np.all(found.floats_mm[found.supports] == 0)


def test_orthogonal_is_that_of_the_singular_vectors():
    xy, z = cloud(3, 50, 400.0)
    points = np.column_stack([xy, z])
    normal = np.linalg.svd(points - points.mean(0))[2][2]
    plane = truebed.fit_plane(xy, z, "orthogonal")
    assert [plane.slope_x, plane.slope_y] == pytest.approx(-normal[:2] / normal[2])
    assert np.abs(plane.deviations_mm) == pytest.approx(np.abs((points - points.mean(0)) @ normal))


def test_covariance_is_that_of_the_normal_equations():
    random = np.random.default_rng(8)
    xy, z = cloud(8, 15)
    root = random.normal(size=(15, 15))
    covariance = root @ root.T + np.eye(15)
    design = np.column_stack([np.ones(15), xy])
    inverse = np.linalg.inv(covariance)
    expected = np.linalg.inv(design.T @ inverse @ design)
    coefficients = expected @ design.T @ inverse @ z
    fit = truebed.least_squares(xy, z, covariance=covariance)
    assert fit.covariance == pytest.approx(expected, rel=1e-8)
    found = [fit.plane.offset_mm, fit.plane.slope_x, fit.plane.slope_y]
    assert found == pytest.approx(coefficients, rel=1e-8)
    residuals = z - design @ coefficients
    assert fit.residual_sd == pytest.approx(np.sqrt(residuals @ inverse @ residuals / 12))
    sigmas = np.sqrt(np.diag(covariance))
    by_sigmas = truebed.least_squares(xy, z, sigmas=sigmas)
    diagonal = truebed.least_squares(xy, z, covariance=np.diag(sigmas**2))
    assert by_sigmas.covariance == pytest.approx(diagonal.covariance, rel=1e-10)


def test_planes_of_many_tables():
    random = np.random.default_rng(4)
    xy = np.array([[0, 0], [2000, 0], [2000, 1000], [0, 1000]])
    z = random.normal(0, 2, (1000, 4))
    for kind in ["least-squares", "orthogonal", "minimum-zone", "minimum-zone-normal", "resting"]:
        planes = truebed.fit_planes(xy, z, kind)
        own = truebed.fit_planes(np.broadcast_to(xy, (1000, 4, 2)), z, kind)
        assert planes == own
        one = truebed.fit_plane(xy, z[321], kind)
        assert planes.slope_x[321] == one.slope_x
        assert planes.deviations_mm[321] == pytest.approx(one.deviations_mm, abs=1e-12)
    many = np.tile(z, (50, 1))
    for threads in (1, 2, 5):
        assert truebed.fit_planes(xy, many, threads=threads) == truebed.fit_planes(xy, many)
    assert truebed.fit_planes(xy, z[:0]).slope_x.shape == (0,)


def test_the_highest_is_that_of_the_normal_distribution():
    heights, sigmas = [0.0, 0.4, 0.1], np.array([0.3, 0.2, 0.5])
    found = truebed.highest(heights, sigmas=sigmas)
    for i in range(3):
        # The differences to the others are jointly normal.
        others = [j for j in range(3) if j != i]
        mean = [heights[i] - heights[j] for j in others]
        spread = np.full((2, 2), sigmas[i] ** 2) + np.diag(sigmas[others] ** 2)
        expected = multivariate_normal(mean=np.negative(mean), cov=spread).cdf([0, 0])
        assert found.probabilities[i] == pytest.approx(expected, abs=1e-4)
    same = truebed.highest(heights, covariance=np.diag(sigmas**2) + 1)
    assert same.probabilities == pytest.approx(found.probabilities, abs=same.error + 1e-6)
    assert found.highest == [1] and found.candidates[0] == 1 and not found.decided


def test_floors():
    x = np.arange(21) * 300.0
    xy = np.column_stack([x, np.zeros(21)])
    z = np.where(np.arange(21) == 10, -4.0, 0.0)
    gap = truebed.straightedge(xy, z, "2 m")
    assert (gap.gap_mm, gap.at, gap.distance_mm) == (4.0, 10, 600.0)
    assert gap == truebed.straightedge_between(xy, z, (0, 0), (6000, 0), 2000)
    assert truebed.straightedge(xy, z, 500) is None
    [finding] = truebed.check_floor(xy, z, "BS 8204 SR2")
    assert (finding.found, finding.limit, finding.met, finding.points) == (4, 5, True, [9, 10, 11])
    assert not truebed.check_floor(xy, z, "DIN 18202 row 3")[0].met
    numbers = truebed.floor_numbers([z])
    q = np.diff(z, 2)
    assert numbers.flatness == pytest.approx(116.078 / (3 * q.std(ddof=1) + abs(q.mean())))
    assert [it.found for it in truebed.check_floor(xy, z, "ACI 117 flat")[:2]] == [
        numbers.flatness,
        numbers.levelness,
    ]
    slopes = truebed.local_slopes(xy, z)
    assert len(slopes.along) == 20 and slopes.across == []
    assert slopes.along[9].slope == -4 / 300
