"""Planes against NumPy's least squares on random points."""

import numpy as np
import pytest

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
