"""Where a table stands, whether it gets in, whether its frame is square: against SciPy and sweeps."""

import math

import numpy as np
import pytest
import truebed
from scipy import ndimage, optimize

ROOM = [[0, 0], [6000, 0], [6000, 4000], [0, 4000]]
ENDS = [(0, 1), (3, 2), (0, 3), (1, 2), (0, 2), (1, 3)]


def test_a_table_stands_in_the_middle_and_says_what_is_short():
    place = truebed.place(ROOM, ("100 in", "50 in"))
    assert not place.fits and place.least_mm == pytest.approx(1365, abs=1e-2)
    assert (place.x_mm, place.y_mm) == pytest.approx((3000, 2000), abs=1e-1)
    assert place.sides[0].of == 0 and len(place.clearances_mm) == 4
    assert place.short[0].cue_mm == pytest.approx(1365 - 3 * 25.4, abs=1e-2)
    assert place.bound_mm >= place.slack_mm > place.bound_mm - 1e-3
    assert truebed.place(ROOM, (2540, 1270), clear=1365 - 0.01).fits
    assert repr(place).startswith("Place(fits=False, x_mm=")


def test_obstacles_have_names_and_positions_are_judged_as_they_stand():
    post = [[5000, 3000], [5200, 3000], [5200, 3200], [5000, 3200]]
    for obstacles in ({"post": post}, [post]):
        place = truebed.place(ROOM, (2540, 1270), obstacles=obstacles, at=(3000, 2000, 0))
        assert place.tightest == 4 and math.isnan(place.bound_mm)
        assert place.clearances_mm[4] == pytest.approx(math.hypot(5000 - 4270, 3000 - 2635))
    assert place.names[4] == "obstacle 1"
    picture = truebed.room_picture(ROOM, (2540, 1270), obstacles={"<post>": post}, units="inch")
    assert "&lt;post&gt;" in picture and "<post>" not in picture


def test_a_table_may_turn():
    assert truebed.place(ROOM, (2540, 1270), turn=90).angle_deg == 90
    free = truebed.place(ROOM, (2540, 1270), turn="free")
    assert free.least_mm >= truebed.place(ROOM, (2540, 1270)).least_mm


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"turn": "corner"}, 'turn: got "corner", expected "walls", "free" or an angle in degrees'),
        ({"clear": -1}, "clear: got -1 mm, expected from 0 to 1000000 mm"),
        ({"at": (9e9, 0, 0)}, "at: got x = 9000000000 mm, y = 0 mm, expected a place within the room"),
        ({"frame": (9000, 1)}, "room: got 6000 × 4000 mm, 0 obstacles, expected room for a frame"),
        ({"obstacles": [[[0, 0], [1, 1]]]}, "obstacles[0]: got 2 corners, expected 3 to 500 corners"),
    ],
)
def test_bad_rooms_are_refused(arguments, words):
    with pytest.raises(truebed.InputError) as refused:
        truebed.place(ROOM, (2540, 1270), **arguments)
    assert words in str(refused.value).replace("'", '"')


def fitted(read):
    """A quadrilateral by SciPy's general least squares: corner 0 at the origin, 1 on the x axis."""

    def corners(p):
        return np.array([[0, 0], [p[0], 0], [p[1], p[2]], [p[3], p[4]]])

    def miss(p):
        c = corners(p)
        return [np.hypot(*(c[b] - c[a])) - mm for (a, b), all_mm in zip(ENDS, read) for mm in all_mm]

    start = [2540, 2540, 1270, 0, 1270]
    found = optimize.least_squares(miss, start, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    return corners(found.x), np.linalg.inv(found.jac.T @ found.jac), np.array(found.fun), found.x, corners


def test_a_frame_is_what_general_least_squares_makes_of_it():
    rng = np.random.default_rng(5)
    for _ in range(20):
        read = [
            list(mm + rng.normal(0, 3, rng.integers(1, 4))) for mm in (2540, 2541, 1270, 1269, 2839, 2842)
        ]
        corners, covariance, residuals, at, shape = fitted(read)
        square = truebed.square(read[:2], read[2:4], read[4:], sigma=1.5)
        assert square.corners_mm == pytest.approx(corners, abs=1e-4)
        assert square.residuals_mm == pytest.approx(residuals, abs=1e-5)
        assert square.dof == len(residuals) - 5

        def off(p):
            c = shape(p)
            to = [(c[(i + 1) % 4] - c[i], c[(i - 1) % 4] - c[i]) for i in range(4)]
            return np.array([math.atan2(-(u @ v), u[0] * v[1] - u[1] * v[0]) for u, v in to])

        assert np.radians(square.off_deg) == pytest.approx(off(at), abs=1e-8)
        rows = np.array([(off(at + h) - off(at - h)) / 2e-2 for h in np.eye(5) * 1e-2]).T
        sigmas = 1.5 * np.sqrt(np.diag(rows @ covariance @ rows.T))
        assert np.radians(square.off_sigma_deg) == pytest.approx(sigmas, rel=1e-4)


def test_pushing_the_corner_makes_the_diagonals_agree():
    """The push, tried: a linkage with bars of these lengths, its corner moved so far."""
    square = truebed.square((2540, 2540), (1270, 1270), (2848, 2832), sigma=0.5)
    assert square.corner == 2 and square.met is False and square.rack_probability > 0.99
    _, _, two, three = square.corners_mm
    lengths = [np.hypot(*(square.corners_mm[b] - square.corners_mm[a])) for a, b in ENDS[:4]]

    def miss(p):
        c = np.array([[0, 0], [lengths[0], 0], p[:2], p[2:]])
        bars = [np.hypot(*(c[b] - c[a])) for a, b in ENDS[1:4]]
        return [*(np.array(bars) - lengths[1:]), p[0] - (two[0] - square.rack_mm)]

    c = optimize.fsolve(miss, [*two, *three], xtol=1e-14)
    one = np.array([lengths[0], 0])
    assert np.hypot(*c[:2]) == pytest.approx(np.hypot(*(c[2:] - one)), abs=1e-5)


def test_ties_are_told_as_ties_and_unknown_numbers_are_nan():
    assert len(truebed.square((2540, 2550), (1270, 1270), (2840, 2840), sigma=0.5).suspects) == 6
    plain = truebed.square((2540, None), (1270, 1270), (2840, 2840))
    assert plain.met is True and math.isnan(plain.probability) and plain.dof == 0
    for bad in [((2540, 2540), (1270,), (2840, 2840)), ((2540, None), (1270, None), (2840, 2840))]:
        with pytest.raises(truebed.InputError):
            truebed.square(*bad)


def swept(widths, turn, size, steps=110, angles=180):
    """Whether a rectangle gets round a corner, by all its positions on a grid and what they join."""
    opening = math.radians(180 - turn)
    s, c = math.sin(opening), math.cos(opening)
    grid = np.linspace(0, size[0] * 1.5, steps + 1)
    a, b = np.linspace(-0.5, 0.5, 40) * size[0], np.linspace(-0.5, 0.5, 9) * size[1]
    outline = np.array([(x, y) for x in a for y in (b[0], b[-1])] + [(x, y) for x in (a[0], a[-1]) for y in b])
    free = np.zeros((angles, steps + 1, steps + 1), bool)
    for k in range(angles):
        t = math.pi * k / angles
        spots = outline @ np.array([[math.cos(t), math.sin(t)], [-math.sin(t), math.cos(t)]])
        first, second = spots[:, 1], spots[:, 0] * s - spots[:, 1] * c
        outside = (grid[:, None] + first)[:, None, :] > widths[0] + 1e-9
        beyond = outside & ((grid[:, None] + second)[None, :, :] > widths[1] + 1e-9)
        inside = (grid + first.min() >= -1e-9)[:, None] & (grid + second.min() >= -1e-9)[None, :]
        y = (widths[0] - grid)[:, None]
        x = ((widths[1] - grid)[None, :] + y * c) / s
        along, across = x * math.cos(t) + y * math.sin(t), y * math.cos(t) - x * math.sin(t)
        poked = (abs(along) < size[0] / 2 - 1e-9) & (abs(across) < size[1] / 2 - 1e-9)
        free[k] = inside & ~beyond.any(2) & ~poked
    # Half a turn more is the same rectangle.
    joined, _ = ndimage.label(np.concatenate([free, free]))
    start, end = (set(np.unique(edge)) - {0} for edge in (joined[:, :, steps], joined[:, steps, :]))
    return bool(start & end)


@pytest.mark.parametrize(
    ("widths", "turn", "across"), [((900, 1300), 90, 450), ((1000, 1200), 60, 300), ((1000, 1200), 120, 300)]
)
def test_the_longest_that_gets_round_is_what_a_sweep_finds(widths, turn, across):
    corner = truebed.Passage.corner("hall", widths, 3000, turn)
    margin = truebed.way_in({"it": (20000, across, across)}, [corner]).carried[0].margin_mm
    assert swept(widths, turn, (0.95 * (20000 + margin), across))
    assert not swept(widths, turn, (1.04 * (20000 + margin), across))


def test_the_way_in_names_what_is_tight():
    passages = [
        truebed.Passage.door("front door", "32 in", "78 in"),
        truebed.Passage.landing("landing", (1300, 1800), 2200),
        truebed.Passage.stairs("stairs", 750, 1900, 40),
    ]
    way = truebed.way_in({"slate": (1350, 900, 25)}, passages)
    assert not way.passes and way.tightest == {"slate": "landing"}
    assert [it.passes for it in way.carried] == [True, False, True]
    with pytest.raises(truebed.InputError):
        truebed.way_in({}, passages)
    with pytest.raises(truebed.InputError, match="passages.0..width"):
        truebed.way_in({"slate": (1350, 900, 25)}, [truebed.Passage.door("door", -1, 2000)])
