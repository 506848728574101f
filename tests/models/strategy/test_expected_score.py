"""Expected score at aims: replay, raster against draws, an analytic optimum."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.flight.day_flight import STILL_AIR, Conditions, Launch, day_flight
from rangeledger.models.strategy.expected_score import (
    landings_at_aims,
    score_at_aims,
    score_exactly,
    score_of,
    stopped_by_trees,
)
from rangeledger.models.strategy.hole_geometry import Area, Ground, Hole
from rangeledger.models.strategy.strokes_surface import (
    GroundGrid,
    StrokesSurface,
    ground_grid,
    strokes_surface,
)
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from scipy import optimize, stats

TABLE = StrokesToHoleOut.published()
IRON = Launch(53.5, 16.5, 0.0, 7000.0, 1.0)


def test_replay_is_a_geometric_series() -> None:
    # Closed form, p = 1/4, every other ball holed in 2 more: strokes are
    # 1 + sum over k misses of 2 k, plus 2, so 1 + 2 * (p / (1 - p)) + 2 = 11/3.
    assert float(score_of(np.array(0.25), np.array(0.75 * 2.0))) == pytest.approx(11.0 / 3.0)
    assert float(score_of(np.array(0.0), np.array(2.5))) == 3.5
    assert np.isfinite(score_of(np.array(1.0), np.array(0.0)))


def half_plane(edge_m: float, penalty: float, curvature: float) -> StrokesSurface:
    """A cost of curvature y^2, and a penalty beyond an edge to the right."""
    along, across = np.arange(80.0, 120.5, 4.0), np.arange(-59.95, 60.0, 0.1)
    y = np.broadcast_to(across, (len(along), len(across)))
    grid = GroundGrid((80.0, -59.95), 0.1, np.zeros((401, len(across)), dtype=np.int8))
    cost = curvature * y[:1] ** 2 + penalty * (y[:1] > edge_m)
    return StrokesSurface(grid, np.ascontiguousarray(np.broadcast_to(cost, grid.ground.shape)))


@pytest.mark.parametrize(("edge_m", "sd_m"), [(6.0, 5.0), (2.0, 4.0), (12.0, 7.0)])
def test_best_aim_beside_a_half_plane(edge_m: float, sd_m: float) -> None:
    # Closed form: for a normal side of standard deviation s about the aim a,
    # E = k (a^2 + s^2) + C Phi((a - e)/s), so 2 k a + C/s phi((a - e)/s) = 0 at the best aim.
    penalty, curvature = 1.2, 0.004
    surface = half_plane(edge_m, penalty, curvature)
    pattern = ShotPattern("7-iron", "full", "premium", 100.0, 0.0, 0.5, sd_m)
    points, weights = pattern.points(6000)
    shifts = np.linspace(-15.0, 5.0, 401)
    aims = np.zeros(401)
    landings = points[None] + np.stack((np.zeros(401), shifts), axis=-1)[:, None, :]
    score = score_at_aims(surface, (0.0, 0.0), landings, weights, np.zeros(1), aims).score - 1.0

    def exact(a: float) -> float:
        z = (a - edge_m) / sd_m
        return curvature * (a**2 + sd_m**2) + penalty * float(stats.norm.cdf(z))

    best = optimize.minimize_scalar(exact, bounds=(-15.0, 5.0), method="bounded")
    near = score <= score.min() + 0.02
    found = -0.5 * np.divide(*np.polyfit(shifts[near], score[near], 2)[1::-1])
    np.testing.assert_allclose(score, [exact(a) for a in shifts], atol=0.004)
    assert found == pytest.approx(best.x, abs=0.25)
    # What matters: aiming there costs next to nothing over the exact optimum.
    assert exact(float(found)) - best.fun < 0.0005


def course_hole(wind: Conditions) -> tuple[Hole, Conditions]:
    areas = (
        Area(Ground.GREEN, "green", shapely.Point(146.0, 2.0).buffer(13.0)),
        Area(Ground.FAIRWAY, "fairway", shapely.box(40.0, -16.0, 140.0, 16.0)),
        Area(Ground.BUNKER, "front", shapely.Point(130.0, -9.0).buffer(5.0)),
        Area(Ground.WATER, "pond", shapely.box(118.0, 15.0, 172.0, 60.0)),
        Area(Ground.TREES, "alders", shapely.box(80.0, -60.0, 170.0, -28.0)),
        Area(Ground.OUT_OF_BOUNDS, "fence", shapely.box(-100.0, -300.0, 400.0, -36.0)),
    )
    return Hole("Alder", 3, (0.0, 0.0), "tee", (150.0, 6.0), areas), wind


@pytest.mark.parametrize("wind", [STILL_AIR, Conditions(5.0, 70.0)])
@pytest.mark.parametrize("aim_m", [-12.0, 0.0, 9.0])
def test_quantile_points_and_random_draws_agree(wind: Conditions, aim_m: float) -> None:
    # Two ways to the same number, 0.01 strokes apart at most.
    hole, wind = course_hole(wind)
    pattern = ShotPattern(
        "7-iron",
        "full",
        "premium",
        148.0,
        1.0,
        6.5,
        8.0,
        0.2,
        1.2,
        1.0,
        18.0,
        0.08,
        27.0,
        0.05,
        14.0,
    )
    stock = (148.0, 1.0)
    aims = np.array([np.arctan2(6.0 + aim_m, 150.0)])
    day = day_flight(IRON, wind, aims)
    surface = strokes_surface(hole, ground_grid(hole, reach_m=200.0), TABLE)
    run = float(day.run_m[0])
    points, weights = pattern.points(6000)
    landings = day.landing(points, stock)
    grid = score_exactly(hole, TABLE, surface, landings, weights, run, float(aims[0]))
    count = 400_000
    drawn, _ = pattern.draw(count, np.random.default_rng(11))
    moved = day.landing(drawn, stock)
    even = np.full(count, 1.0 / count)
    draws = score_exactly(hole, TABLE, surface, moved, even, run, float(aims[0]))
    # One standard error of 400,000 draws is about 0.002 strokes.
    assert float(grid.score[0]) == pytest.approx(float(draws.score[0]), abs=0.01)
    np.testing.assert_allclose(grid.chance, draws.chance, atol=0.004)


def test_search_on_the_raster_stays_near_the_exact_score() -> None:
    # An edge along the raster may be half a cell off: 0.5 m times a density of at most 0.05 a
    # metre times the 2 to 3 strokes of a ball out of bounds.
    hole, wind = course_hole(STILL_AIR)
    pattern = ShotPattern("7-iron", "full", "premium", 148.0, 1.0, 6.5, 8.0)
    aims = np.radians(np.linspace(-8.0, 8.0, 9))
    day = day_flight(IRON, wind, aims)
    points, weights = pattern.points(2000)
    surface = strokes_surface(hole, ground_grid(hole, reach_m=200.0), TABLE)
    landings = landings_at_aims(points, (148.0, 1.0), day)
    raster = score_at_aims(surface, hole.ball, landings, weights, day.run_m, aims)
    for row, aim in enumerate(aims):
        run = float(day.run_m[row])
        exact = score_exactly(hole, TABLE, surface, landings[row], weights, run, float(aim))
        assert float(raster.score[row]) == pytest.approx(float(exact.score[0]), abs=0.05)
        assert raster.chance[row].sum() == pytest.approx(1.0)


def test_a_ball_that_runs_into_water_stays_there() -> None:
    ditch = Area(Ground.WATER, "ditch", shapely.box(110.0, -30.0, 114.0, 30.0))
    hole = Hole("x", 4, (0.0, 0.0), "tee", (300.0, 0.0), (ditch,))
    surface = strokes_surface(hole, ground_grid(hole), TABLE)
    landing, one, aim = np.array([[[100.0, 0.0]]]), np.ones(1), np.zeros(1)

    def chance(run_m: float) -> float:
        run = np.array([run_m])
        table = score_at_aims(surface, hole.ball, landing, one, run, aim)
        return float(table.chance[0, Ground.WATER])

    assert chance(5.0) == 0.0
    assert chance(12.0) == 1.0
    assert chance(36.0) == 1.0  # would have rolled on to 136 m


def test_aims_turn_to_the_right() -> None:
    # Closed form: 100 m at 30 deg right of a line that starts at (5, 7).
    hole = Hole("x", 4, (5.0, 7.0), "tee", (205.0, 7.0), ())
    surface = strokes_surface(hole, ground_grid(hole), TABLE)
    landing, aim = np.array([[[100.0, 0.0]]]), np.array([np.radians(30.0)])
    table = score_at_aims(surface, hole.ball, landing, np.ones(1), np.zeros(1), aim)
    away = np.hypot(200.0 - 100.0 * np.cos(aim[0]), 50.0)
    assert float(table.score[0]) == pytest.approx(
        1.0 + float(TABLE.strokes(away, "rough")), abs=5e-3
    )


# Trees from 100 to 110 m along, 15 m high, and a parabola a fifth as high as long: height over
# length 0.8 u (1 - u).
ROW = Area(Ground.TREES, "row", shapely.box(100.0, -20.0, 110.0, 20.0), height_m=15.0)
PARABOLA = 0.8 * np.linspace(0.0, 1.0, 301) * (1.0 - np.linspace(0.0, 1.0, 301))


@pytest.mark.parametrize(
    ("carry_m", "share", "stops_at"),
    [
        # By hand, height h = 4 H u (1 - u) with apex H over the near edge, u = 100 / carry:
        # 150 m, H 30 m: 0.8 x 150 x 0.667 x 0.333 = 26.7 m, over the far edge 23.5 m: clear.
        (150.0, 1.0, None),
        # Half as high, H 15 m: 13.3 m over the near edge: stopped there.
        (150.0, 0.5, 100.0),
        # 118 m: 0.8 x 118 x 0.8475 x 0.1525 = 12.2 m: stopped at the near edge.
        (118.0, 1.0, 100.0),
        # 125 m: 16 m over the near edge; down to 15 m where 100 u (1 - u) = 15, u = 0.8162: 102 m.
        (125.0, 1.0, 102.0),
        # 90 m: lands before them.
        (90.0, 1.0, None),
    ],
)
def test_trees_stop_a_ball_that_comes_lower(
    carry_m: float, share: float, stops_at: float | None
) -> None:
    hole = Hole("x", 4, (0.0, 0.0), "fairway", (150.0, 0.0), (ROW,))
    surface = strokes_surface(hole, ground_grid(hole), TABLE)
    landing, one = np.array([[[carry_m, 3.0]]]), np.ones(1)
    heights = share * PARABOLA
    raster = score_at_aims(surface, hole.ball, landing, one, np.zeros(1), np.zeros(1), heights)
    exact = score_exactly(hole, TABLE, surface, landing[0], one, 0.0, 0.0, heights)
    stopped, where = stopped_by_trees(surface.grid, hole.ball, landing[0], 0.0, heights)
    if stops_at is None:
        assert not stopped.size
        assert raster.chance[0, Ground.ROUGH] == exact.chance[0, Ground.ROUGH] == 1.0
        return
    assert where[0, 0] == pytest.approx(stops_at, abs=1.0)  # a cell of the raster
    assert where[0, 1] == pytest.approx(3.0 * where[0, 0] / carry_m)
    assert raster.chance[0, Ground.TREES] == exact.chance[0, Ground.TREES] == 1.0
    left = float(np.hypot(150.0 - where[0, 0], where[0, 1]))
    expected = 1.0 + float(TABLE.strokes(np.array([left]), "recovery")[0])
    assert exact.score[0] == pytest.approx(expected)
    assert raster.score[0] == pytest.approx(expected, abs=0.02)


def test_trees_stop_nothing_that_is_struck_among_them_or_where_they_have_no_height() -> None:
    low = PARABOLA * 0.1
    landing = np.array([[150.0, 0.0]])
    for hole in (
        Hole("among", 4, (105.0, 0.0), "recovery", (250.0, 0.0), (ROW,)),
        Hole("bare", 4, (0.0, 0.0), "fairway", (150.0, 0.0), (replace(ROW, height_m=0.0),)),
    ):
        stopped, _ = stopped_by_trees(ground_grid(hole), hole.ball, landing, 0.0, low)
        assert not stopped.size
