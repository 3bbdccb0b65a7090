"""Walls between holes, where holes meet, a bit's travel, and holes that run out of the ball.

The exact distance between two drilled cavities comes from OpenCASCADE (BRepExtrema); the depth at
which holes meet, the first touch of a bit and a bottom outside of the ball come from dense
searches that know nothing of the library's closed forms. Units: inches.
"""

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from layoutkit.errors import InputError
from layoutkit.geometry.bores import Bore, edge_gap
from layoutkit.job.record import parse_job
from layoutkit.planning.grip import (
    Hole,
    clearing_changes,
    least_walls,
    place_holes,
    runs_out,
    travel,
)

Array = NDArray[np.float64]

R = 4.275
WALL = 1e-3  # inches; a sixteenth of the finest mark on a rule


def axis_at(n: Array, pitch: float, toward: Array) -> Array:
    """Inward axis at the unit point n, missing the centre by ``pitch`` in, leaning ``toward``."""
    t = toward - (toward @ n) * n
    t /= np.linalg.norm(t)
    return np.asarray(pitch / R * t - math.sqrt(1.0 - (pitch / R) ** 2) * n)


def bore_at(n: Array, axis: Array, diameter: float, depth: float, tip: float | None = None) -> Bore:
    return Bore(tuple((R * n).tolist()), tuple(axis.tolist()), diameter / 2.0, depth, tip)


def random_unit(rng: np.random.Generator) -> Array:
    v = rng.normal(size=3)
    return np.asarray(v / np.linalg.norm(v))


def random_grips(record: dict[str, Any], count: int, tips: bool) -> list[tuple[Hole, ...]]:
    """Grips that a shop could drill, with and without sleeves, both hands, most not meeting."""
    rng = np.random.default_rng(11)
    grips = []
    for i in range(count):
        grip = record["bowler"]["grip"]
        hand = "right" if i % 2 else "left"
        out = ("left", "right") if hand == "right" else ("right", "left")
        grip["bridge"] = float(rng.uniform(0.25, 0.75))
        for name, apart in (("middle", out[0]), ("ring", out[1])):
            hole = {
                "span": float(rng.uniform(3.5, 4.75)),
                "diameter": float(rng.uniform(0.6, 0.9)),
                "depth": float(rng.uniform(0.75, 2.5)),
                "pitch": {
                    "forward": float(rng.uniform(-0.4, 0.4)),
                    apart: float(rng.uniform(0.3, 0.7)),
                },
            }
            if i % 3 == 0:
                bore = hole["diameter"] + 0.125
                hole["sleeve"] = {"bore": bore, "bore_depth": hole["depth"] * 0.8, "density": 1.1}
            if tips:
                hole["tip_angle"] = 118
            grip[name] = hole
        grip["thumb"] = {
            "diameter": float(rng.uniform(0.85, 1.1)),
            "depth": float(rng.uniform(1.5, 3.25)),
            "pitch": {
                "forward": float(rng.uniform(-0.5, 0.5)),
                "left": float(rng.uniform(-0.5, 0.5)),
            },
        }
        grips.append(place_holes(parse_job(record).bowler.grip, R, hand))
    return grips


def cavity(occ: SimpleNamespace, ball: Any, hole: Hole) -> Any:
    """Everything that is cut for a hole, inside the ball."""
    shapes = [
        occ.common(ball, occ.bore(b.entry, b.axis, b.radius, b.depth, b.tip_angle))
        for b in hole.cavities
    ]
    return shapes[0] if len(shapes) == 1 else occ.fuse(*shapes)


@pytest.mark.parametrize("tips", [False, True], ids=["flat", "pointed"])
def test_least_walls_are_the_exact_distances(
    occ: SimpleNamespace, record: dict[str, Any], tips: bool
) -> None:
    ball = occ.ball(R)
    apart = 0
    for holes in random_grips(record, 12, tips):
        shapes = {h.name: cavity(occ, ball, h) for h in holes}
        walls = least_walls(holes, R)
        assert [set(w.holes) for w in walls] == [
            {"middle", "ring"},
            {"middle", "thumb"},
            {"ring", "thumb"},
        ]
        for w in walls:
            exact, ends = occ.distance(shapes[w.holes[0]], shapes[w.holes[1]])
            assert w.thickness == pytest.approx(exact, abs=WALL), w.holes
            assert w.meets == (exact == 0.0)
            apart += not w.meets
            if exact > 0.0:
                # where it is, and not only how thin: somewhere from one wall to the other, or at
                # another depth where the wall is as thin
                way = np.linspace(*ends, 9)
                depths = R - np.linalg.norm(way, axis=1)
                off = max(depths.min() - w.depth, w.depth - depths.max())
                assert off < 0.05 or as_thin_at(occ, shapes, w.holes, w.depth, exact), w.holes
    assert apart > 20


def as_thin_at(
    occ: SimpleNamespace, shapes: dict[str, Any], names: tuple[str, str], depth: float, least: float
) -> bool:
    """Whether the wall is as thin at the given depth as anywhere: holes that run side by side."""
    shell = occ.cut(occ.ball(R - depth + 0.1), occ.ball(max(R - depth - 0.1, 0.1)))
    parts = [occ.common(shapes[name], shell) for name in names]
    return bool(occ.distance(*parts)[0] < least + 4.0 * WALL)


@pytest.mark.parametrize("tip", [None, 118.0])
def test_walls_between_any_two_holes(occ: SimpleNamespace, tip: float | None) -> None:
    """Not grips only: 20 pairs of bores anywhere, of any lean."""
    rng = np.random.default_rng(5)
    ball = occ.ball(R)
    apart = told = 0
    for _ in range(20):
        n = random_unit(rng)
        off = n + rng.uniform(0.35, 0.9) * random_unit(rng)
        m = off / np.linalg.norm(off)
        bores = [
            bore_at(
                k,
                axis_at(k, float(rng.uniform(0.0, 0.9)), random_unit(rng)),
                float(rng.uniform(0.5, 1.2)),
                float(rng.uniform(0.75, 3.0)),
                tip,
            )
            for k in (n, m)
        ]
        holes = tuple(
            Hole(name, b, None, None, 0.0, 0.0, 0.0, (b,))
            for name, b in zip(("middle", "ring"), bores, strict=True)
        )
        (wall,) = least_walls(holes, R)
        shapes = [
            occ.common(ball, occ.bore(b.entry, b.axis, b.radius, b.depth, tip)) for b in bores
        ]
        exact, _ = occ.distance(*shapes)
        assert wall.thickness == pytest.approx(exact, abs=WALL), bores
        assert wall.meets == (exact == 0.0)
        apart += not wall.meets
        # a point of an edge is no nearer than the nearest point
        gaps = [edge_gap(*bores), edge_gap(*reversed(bores))]
        assert min(gaps) > exact - WALL
        told += exact == 0.0 and min(gaps) == 0.0
    assert 5 < apart < 30
    assert told > 0


@pytest.mark.parametrize("tip", [None, 118.0])
@pytest.mark.parametrize("aside", [0.0, 0.02, 0.3])
def test_a_bottom_that_faces_another_hole(
    occ: SimpleNamespace, tip: float | None, aside: float
) -> None:
    """One hole ends 0.2 in above another that crosses below; a drill point reaches into that."""
    down = bore_at(np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.0, -1.0]), 1.0, 2.0, tip)
    z = R - 2.2 - 0.25
    y = math.sqrt(R * R - z * z - aside * aside)
    across = Bore((aside, y, z), (0.0, -1.0, 0.0), 0.25, 5.0)
    holes = tuple(
        Hole(name, b, None, None, 0.0, 0.0, 0.0, (b,))
        for name, b in (("middle", down), ("ring", across))
    )
    shapes = [occ.bore(b.entry, b.axis, b.radius, b.depth, b.tip_angle) for b in (down, across)]
    exact, _ = occ.distance(*shapes)
    (wall,) = least_walls(holes, R)
    assert wall.thickness == pytest.approx(exact, abs=WALL)
    assert wall.meets == (exact == 0.0)
    found = shallowest_common(down, across)
    if found is None:
        assert 1.95 < wall.depth < 2.25
    else:
        assert wall.depth == pytest.approx(found, abs=0.01)


def inside(points: Array, b: Bore) -> Any:
    """Which points lie in what the bit sweeps inside the ball."""
    w = points - np.array(b.entry)
    t = w @ np.array(b.axis)
    across = np.sqrt(np.maximum((w * w).sum(axis=-1) - t * t, 0.0))
    reach = b.depth + (b.tip_height * (1.0 - across / b.radius) if b.tip_height else 0.0)
    ball = (points * points).sum(axis=-1) <= R * R
    return (across <= b.radius) & (t <= reach) & ball


def shallowest_common(a: Bore, b: Bore) -> float | None:
    """Depth of the outermost point in both: a grid over one hole, refined around the best point."""
    d = np.array(a.axis)
    u = np.cross(d, [0.3, 0.5, 0.8])
    u /= np.linalg.norm(u)
    v = np.cross(d, u)
    center, size, count = (
        np.array([0.0, 0.0, a.depth / 2.0]),
        np.array([1.0, 1.0, a.depth / 2.0 + 0.2]),
        61,
    )
    size = size * [a.radius, a.radius, 1.0]
    best = None
    for _ in range(7):
        axes = [np.linspace(c - s, c + s, count) for c, s in zip(center, size, strict=True)]
        grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
        points = np.array(a.entry) + grid @ np.stack([u, v, d])
        both = inside(points, a) & inside(points, b)
        if not both.any():
            return best
        out = np.where(both, (points * points).sum(axis=-1), -1.0)
        k = int(out.argmax())
        best, center, size = R - math.sqrt(float(out[k])), grid[k], size / 4.0
    return best


@pytest.mark.parametrize(
    ("bridge", "lateral", "forward"),
    [
        (0.125, -0.125, 0.0),
        (0.125, 0.0, 0.25),
        (0.125, 0.0625, 0.0),
        (0.25, -0.125, 0.25),
        (0.25, 0.0, 0.0),
        (0.25, 0.0, 0.25),
        (0.25, 0.0625, 0.25),
        (0.375, -0.125, 0.0),
        (0.375, 0.0, 0.25),
        (0.375, 0.0625, 0.0),
    ],
)
def test_depth_at_which_holes_meet(
    record: dict[str, Any], bridge: float, lateral: float, forward: float
) -> None:
    grip = record["bowler"]["grip"]
    grip["bridge"] = bridge
    for name, out, lean in (("middle", "left", forward), ("ring", "right", -forward / 2.0)):
        grip[name] |= {
            "diameter": 0.875,
            "depth": 2.75,
            "pitch": {"forward": lean, out: lateral},
        }
    holes = place_holes(parse_job(record).bowler.grip, R, "right")
    found = shallowest_common(holes[0].finished, holes[1].finished)
    (wall,) = [w for w in least_walls(holes, R) if set(w.holes) == {"middle", "ring"}]
    assert wall.meets == (found is not None)
    if found is not None:
        assert wall.depth == pytest.approx(found, abs=0.01)  # cautions give hundredths


def test_a_bottom_that_just_runs_into_a_wall_is_seen(record: dict[str, Any]) -> None:
    """A short hole whose bottom edge meets a longer one's wall, between its ends."""
    grip = record["bowler"]["grip"]
    grip["bridge"] = 0.25
    grip["middle"] |= {"diameter": 0.875, "depth": 3.0, "pitch": {}}
    for depth in (0.85, 0.95, 1.05, 1.25):
        grip["ring"] |= {"diameter": 0.875, "depth": depth, "pitch": {}}
        holes = place_holes(parse_job(record).bowler.grip, R, "right")
        found = shallowest_common(holes[0].finished, holes[1].finished)
        (wall,) = [w for w in least_walls(holes, R) if set(w.holes) == {"middle", "ring"}]
        assert wall.meets == (found is not None), depth
        if found is not None:
            assert wall.depth == pytest.approx(found, abs=0.01)


def searched_overlap(holes: tuple[Hole, ...], points: int = 300) -> float:
    """By how much the two finger holes overlap as round-ended rods, the axes sampled densely."""
    a, b = (h.bore or h.finished for h in holes[:2])
    rods = [
        np.array(c.entry) + np.linspace(0.0, c.depth, points)[:, None] * np.array(c.axis)
        for c in (a, b)
    ]
    apart = np.linalg.norm(rods[0][:, None] - rods[1][None, :], axis=-1).min()
    return float(a.radius + b.radius - apart)


def test_the_bridge_that_clears_meeting_holes_is_the_least(record: dict[str, Any]) -> None:
    """Every sixteenth up to an inch is tried; short spans do not reach past the wider ones."""
    rng = np.random.default_rng(5)
    found, unreached = 0, 0
    for _ in range(60):
        grip = record["bowler"]["grip"]
        grip["thumb"], grip["bridge"] = None, 0.125
        span, diameter = float(rng.uniform(0.5, 0.8)), float(rng.uniform(0.6, 1.0))
        for name in ("middle", "ring"):
            depth = float(rng.uniform(1.0, 3.5))
            sleeve = {"bore": diameter + 0.25, "bore_depth": depth, "density": 1.1}
            grip[name] = {"span": span, "diameter": diameter, "depth": depth, "sleeve": sleeve}
        named = parse_job(record).bowler.grip
        holes = place_holes(named, R, "right")
        expected = None
        for bridge in np.arange(0.1875, 1.0001, 0.0625).tolist():
            grip["bridge"] = bridge
            try:
                wider = place_holes(parse_job(record).bowler.grip, R, "right")
            except InputError:
                unreached += 1
                break
            if searched_overlap(wider) < 0.0:
                expected = bridge
                break
        assert clearing_changes(named, holes, R, "right")[0] == expected
        found += expected is not None
    assert found > 10
    assert unreached > 10


# --- the bit's way --------------------------------------------------------------------------------


def searched_travel(b: Bore, points: int = 400) -> float:
    """Advance of the bit from the first contact of any point of its face to the end of the cut.

    Each point of the face, ahead of the full diameter by ``lead``, meets the ball where its line
    parallel to the axis does; the first of them to touch tells the full diameter's place.
    """
    p, d = np.array(b.entry), np.array(b.axis)
    u = np.cross(d, [0.3, 0.5, 0.8])
    u /= np.linalg.norm(u)
    v = np.cross(d, u)
    rho = np.linspace(0.0, b.radius, points)[:, None]
    phi = np.linspace(0.0, 2.0 * math.pi, 2 * points)[None, :]
    foot = p + (rho * np.cos(phi))[..., None] * u + (rho * np.sin(phi))[..., None] * v
    along = foot @ d
    square = along * along - (foot * foot).sum(axis=-1) + R * R
    meets = np.where(square >= 0.0, -along - np.sqrt(np.maximum(square, 0.0)), np.inf)
    lead = b.tip_height * (1.0 - rho / b.radius)
    return b.depth - float((meets - lead).min())


@pytest.mark.parametrize("tip", [None, 60.0, 90.0, 118.0, 150.0, 170.0, 179.0])
@pytest.mark.parametrize("pitch", [0.0, 0.1, 0.375, 0.75, 1.5, 2.0])
def test_travel_from_first_touch(tip: float | None, pitch: float) -> None:
    """A point touches at its tip, a tilted flat bit at its edge, a blunt point between the two."""
    n = np.array([0.36, 0.48, 0.8])
    for diameter in (0.5, 0.96875, 1.5):
        b = bore_at(n, axis_at(n, pitch, np.array([0.0, 1.0, 0.2])), diameter, 2.0, tip)
        assert travel(b, R) == pytest.approx(searched_travel(b), abs=5e-5)


def test_travel_of_plain_bits() -> None:
    """Derived: a flat bit straight at the centre touches with its middle, a point with its tip."""
    n = np.array([0.0, 0.0, 1.0])
    flat = bore_at(n, -n, 1.0, 2.75)
    assert travel(flat, R) == pytest.approx(2.75, abs=1e-12)
    pointed = bore_at(n, -n, 1.0, 2.75, 118.0)
    assert travel(pointed, R) == pytest.approx(2.75 + 0.300430309514, abs=1e-9)


def searched_run_out(b: Bore) -> bool:
    """Whether any point of the bottom edge lies outside of the ball, beyond the centre's plane."""
    p, d = np.array(b.entry), np.array(b.axis)
    u = np.cross(d, [0.3, 0.5, 0.8])
    u /= np.linalg.norm(u)
    phi = np.linspace(0.0, 2.0 * math.pi, 2000)
    ring = b.radius * (np.cos(phi)[:, None] * u + np.sin(phi)[:, None] * np.cross(d, u))
    bottom = p + b.depth * d + ring
    beyond = (bottom @ d) > 0.0
    tip = p + (b.depth + b.tip_height) * d
    return bool((beyond & (np.linalg.norm(bottom, axis=1) > R)).any()) or bool(
        tip @ d > 0.0 and np.linalg.norm(tip) > R
    )


def test_a_hole_that_runs_out_is_noticed() -> None:
    rng = np.random.default_rng(3)
    out = 0
    for _ in range(400):
        n = random_unit(rng)
        tip = None if rng.random() < 0.5 else float(rng.uniform(60.0, 150.0))
        b = bore_at(
            n,
            axis_at(n, float(rng.uniform(0.0, 2.8)), random_unit(rng)),
            float(rng.uniform(0.5, 1.5)),
            float(rng.uniform(1.0, 9.0)),
            tip,
        )
        expected = searched_run_out(b)
        assert runs_out(b, R) == expected, b
        out += expected
    assert 50 < out < 350


@pytest.mark.parametrize("past", [-0.001, 0.001])
def test_a_bottom_edge_that_just_breaks_through(past: float) -> None:
    """Derived: straight through the centre the edge comes out at R + sqrt(R^2 - r^2)."""
    n = np.array([0.0, 0.6, 0.8])
    b = bore_at(n, -n, 1.0, R + math.sqrt(R * R - 0.25) + past)
    assert runs_out(b, R) == (past > 0.0)
