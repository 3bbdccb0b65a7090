"""What several files of tests share: records to plan, and exact solids from OpenCASCADE."""

import copy
import gc
import math
import os
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import Phase, settings
from hypothesis import strategies as st

# the same examples on every machine and run; a slow machine is no failure
settings.register_profile(
    "layoutkit",
    derandomize=True,
    deadline=None,
    database=None,
    phases=(Phase.explicit, Phase.generate, Phase.shrink),
)
settings.load_profile("layoutkit")

# At its usual rate the collector walks again and again through what stays: a seventh of all the time.
gc.set_threshold(20_000, 20, 10)
# Many tests start the program. Each such process would compile all of it anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


def pytest_collection_finish() -> None:
    """What was imported and collected stays to the end, so the collector may pass it by."""
    gc.collect()
    gc.freeze()


RECORD: dict[str, Any] = {
    "format": "layoutkit-job",
    "version": 2,
    "title": "An invented job",
    "bowler": {
        "name": "Demo",
        "hand": "right",
        "pap": {"over": 5, "up": 0.5},
        "grip": {
            "bridge": 0.25,
            "middle": {"span": 4.375, "diameter": 0.75, "depth": 1.5, "pitch": {"forward": 0.125}},
            "ring": {"span": 4.25, "diameter": 0.75, "depth": 1.5, "pitch": {"right": 0.0625}},
            "thumb": {"diameter": 1.0, "depth": 2.75, "pitch": {"reverse": 0.25}},
        },
    },
    "ball": {
        "name": "Demo ball",
        "serial": "DEMO0000",
        "diameter": 8.55,
        "weight": 15.12,
        "top_weight": 2.75,
        "pin_to_cg": 3,
        "psa": {"distance": "quarter", "cg_bearing": 20},
        "rg_low": 2.52,
        "differential": 0.050,
        "intermediate_differential": 0.015,
        "shell": {"thickness": 0.75, "density": 1.20},
        "filler_density": 0.70,
    },
    "layout": {"by": "angles", "angle_at_pin": 50, "pin_to_pap": 4.5, "angle_at_pap": 35},
    "scale": {"arm": 4.275},
}


@pytest.fixture(autouse=True)
def own_state_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test writes the log of whoever runs it."""
    path = tmp_path / "state-of-the-test"
    monkeypatch.setenv("XDG_STATE_HOME", str(path))
    return path


@pytest.fixture(autouse=True)
def no_shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test reads or writes the shop's file of whoever runs it; this one is not there yet."""
    path = tmp_path / "shop-of-the-test" / "shop.json"
    monkeypatch.setenv("LAYOUTKIT_SHOP", str(path))
    return path


@pytest.fixture
def record() -> dict[str, Any]:
    """A plain record that a test may change."""
    return copy.deepcopy(RECORD)


@pytest.fixture
def odd(record: dict[str, Any]) -> dict[str, Any]:
    """A record of an oval thumb hole, a vent and an inspection hole, on a ball drilled before."""
    record = copy.deepcopy(record)
    record["bowler"]["grip"]["thumb"]["oval"] = {"length": "1 1/8", "direction": 10}
    record["extra_holes"] = {
        "vents": [{"hole": "thumb", "over": 1, "down": "2 1/2", "diameter": "1/4", "meets": 2}],
        "inspection": {"over": -2, "up": 2, "diameter": "5/8", "depth": "1/8"},
    }
    record["history"] = {
        "holes": [
            {
                "name": "old thumb",
                "from_pin": "76.2 mm",
                "bearing": 120,
                "toward_pin": 0.1,
                "diameter": "1 1/8",
                "depth": 2.5,
                "plug": {"density": 1.2},
            },
            {"name": "old open", "from_pin": 6, "bearing": 20, "diameter": 1, "depth": "2 1/2"},
        ]
    }
    return record


# --- random records -------------------------------------------------------------------------------

# Balls that can exist: weight lb, low RG, differential, intermediate differential, shell, filler.
# Invented, and physical at any diameter and CG below; None is left out of the record. They cover
# all that `ball` may leave out.
BALLS: tuple[
    tuple[float, float | None, float, float, tuple[float, float] | None, float | None], ...
]
BALLS = (
    (15.12, 2.52, 0.050, 0.015, (0.75, 1.20), 0.70),
    (15.00, 2.50, 0.045, 0.000, (0.75, 1.20), 0.60),
    (14.00, 2.55, 0.040, 0.012, None, None),
    (15.50, 2.48, 0.052, 0.018, None, 0.65),
    (12.50, 2.60, 0.030, 0.000, None, None),
    (15.00, 2.56, 0.035, 0.010, (0.50, 1.15), None),
    (9.00, None, 0.0, 0.0, None, None),
    (15.90, None, 0.0, 0.0, None, None),
)


def lengths(low: float, high: float, parts: int = 64) -> st.SearchStrategy[float]:
    """Lengths on a rule divided into ``parts`` of an inch."""
    return st.integers(math.ceil(low * parts), math.floor(high * parts)).map(lambda n: n / parts)


def written(values: st.SearchStrategy[float]) -> st.SearchStrategy[float | str]:
    """The same lengths as numbers, as inches in words and as millimetres."""
    forms: tuple[Callable[[float], float | str], ...] = (
        float,
        lambda x: f"{x} in",
        lambda x: f"{x * 25.4:.9f} mm",
    )
    return st.builds(lambda x, form: form(x), values, st.sampled_from(forms))


def signed(draw: st.DrawFn, plus: str, minus: str, most: float) -> dict[str, Any]:
    """One of a pair, or neither."""
    name = draw(st.sampled_from((plus, minus, "")))
    return {name: draw(written(lengths(0.0, most)))} if name else {}


def draw_hole(draw: st.DrawFn, widths: tuple[float, float], deepest: float) -> dict[str, Any]:
    diameter = draw(lengths(*widths))
    hole: dict[str, Any] = {"diameter": diameter, "depth": draw(written(lengths(0.5, deepest)))}
    hole["pitch"] = {
        **signed(draw, "forward", "reverse", 0.75),
        **signed(draw, "right", "left", 0.75),
    }
    if draw(st.booleans()):
        hole["tip_angle"] = draw(st.sampled_from((90, 118, 135, 180)))
    if draw(st.booleans()):
        deep = draw(lengths(0.75, deepest))
        sleeve = {"bore": diameter + draw(lengths(0.1, 0.4)), "bore_depth": deep, "density": 1.15}
        if draw(st.booleans()):
            sleeve["length"] = deep * draw(st.floats(0.5, 1.0))
        hole["sleeve"] = sleeve
    return hole


def draw_layout(draw: st.DrawFn, radius: float, has_psa: bool) -> dict[str, Any]:
    kinds = ("angles", "placement", "distances") if has_psa else ("angles", "placement")
    by = draw(st.sampled_from(kinds))
    if by == "placement":
        pin = {"over": draw(written(lengths(-3.0, 5.0))), **signed(draw, "up", "down", 4.0)}
        return {"by": by, "pin": pin, "bearing": draw(st.integers(0, 360))}
    turn, val = draw(st.integers(-180, 180)), draw(st.integers(-180, 180))
    pin_to_pap = draw(lengths(0.25, 6.5, 16))
    if by == "angles":
        return {"by": by, "angle_at_pin": turn, "pin_to_pap": pin_to_pap, "angle_at_pap": val}
    # with the PSA mark at a quarter: the cosine rule's first term vanishes
    p = pin_to_pap / radius
    return {
        "by": by,
        "pin_to_pap": pin_to_pap,
        "psa_to_pap": radius * math.acos(math.sin(p) * math.cos(math.radians(turn))),
        "pin_to_val": radius * math.asin(math.sin(p) * math.sin(math.radians(val))),
        "obtuse_angle_at_pap": draw(st.booleans()),
    }


@st.composite
def random_records(draw: st.DrawFn) -> dict[str, Any]:
    weight, rg_low, differential, middle, shell, filler = draw(st.sampled_from(BALLS))
    diameter = draw(st.sampled_from((8.5, 8.55, 8.595)))
    has_psa = middle > 0.0 or draw(st.booleans())
    ball: dict[str, Any] = {
        "name": "Demo ball",
        "serial": "DEMO0000",
        "diameter": diameter,
        "weight": weight,
        "top_weight": draw(st.floats(0.25, 5.0)),
        "pin_to_cg": draw(written(lengths(0.5, 5.0))),
    }
    if has_psa:
        ball["psa"] = {"distance": "quarter", "cg_bearing": draw(st.integers(-90, 90))}
    if rg_low is not None:
        ball |= {"rg_low": rg_low, "differential": differential}
        ball["intermediate_differential"] = middle
    if shell is not None:
        ball["shell"] = {"thickness": shell[0], "density": shell[1]}
    if filler is not None:
        ball["filler_density"] = filler
    thumb = draw_hole(draw, (0.8, 1.25), 3.5) if draw(st.integers(0, 3)) else None
    grip: dict[str, Any] = {"bridge": draw(written(lengths(0.125, 0.5))), "thumb": thumb}
    span = draw(lengths(3.25, 5.0))
    for name in ("middle", "ring"):
        hole = draw_hole(draw, (0.5, 1.0), 3.0)
        grip[name] = {"span": span + draw(lengths(0.0, 0.375)), **hole}
    record: dict[str, Any] = {
        "format": "layoutkit-job",
        "version": 2,
        "bowler": {
            "name": "Demo",
            "hand": draw(st.sampled_from(("right", "left"))),
            "pap": {"over": draw(written(lengths(3.0, 6.5))), **signed(draw, "up", "down", 1.5)},
            "grip": grip,
        },
        "ball": ball,
        "layout": draw_layout(draw, diameter / 2.0, has_psa),
    }
    if draw(st.booleans()):
        record["scale"] = {"arm": draw(st.floats(3.0, 5.0))}
    return record


@pytest.fixture(scope="session")
def records() -> st.SearchStrategy[dict[str, Any]]:
    """Random records that can be planned: both hands, every kind of layout, ball and hole."""
    return random_records()


@pytest.fixture(scope="session")
def shell_of() -> Callable[[Any], tuple[float, float]]:
    """Thickness (in) and density (g/cm3) of a plan's shell, stated or default."""
    oz_per_in3 = 2.54**3 / 28.349523125  # of 1 g/cm3; inch and ounce by definition

    def find(p: Any) -> tuple[float, float]:
        stated = p.job.ball.shell
        if stated is not None:
            return stated.thickness, stated.density
        if p.core is None:
            return 0.0, 0.0
        # of the documented default shells the one that makes up the weight
        core = math.prod(p.core.semi_axes) * (p.core.density - p.core.filler_density)
        unit = 4.0 / 3.0 * math.pi * oz_per_in3
        for thickness in (0.75, 0.50):
            inner = (p.radius - thickness) ** 3
            shell = 1.20 * (p.radius**3 - inner)
            weight = unit * (core + p.core.filler_density * inner + shell)
            if math.isclose(weight, 16.0 * p.job.ball.weight, rel_tol=1e-6):
                return thickness, 1.20
        raise AssertionError("no default shell makes up the weight")

    return find


# --- exact solids ---------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def occ() -> SimpleNamespace:
    """Solids, booleans, mass properties and distances by OpenCASCADE, in plain numbers."""
    import numpy as np
    from OCP.Bnd import Bnd_Box
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
    from OCP.BRepBndLib import BRepBndLib
    from OCP.BRepBuilderAPI import BRepBuilderAPI_GTransform, BRepBuilderAPI_Transform
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape
    from OCP.BRepGProp import BRepGProp
    from OCP.BRepPrimAPI import (
        BRepPrimAPI_MakeBox,
        BRepPrimAPI_MakeCone,
        BRepPrimAPI_MakeCylinder,
        BRepPrimAPI_MakeSphere,
    )
    from OCP.gp import gp_Ax2, gp_Dir, gp_GTrsf, gp_Mat, gp_Pnt, gp_Trsf, gp_Vec, gp_XYZ
    from OCP.GProp import GProp_GProps

    lip = 1.0  # inches by which a bore reaches out of the ball

    def ball(radius: float, center: Any = (0.0, 0.0, 0.0)) -> Any:
        return BRepPrimAPI_MakeSphere(gp_Pnt(*map(float, center)), float(radius)).Shape()

    def ellipsoid(center: Any, semi_axes: Any, axes: Any) -> Any:
        m = (np.asarray(axes).T * np.asarray(semi_axes)) @ np.eye(3)
        matrix = gp_Mat(*(float(v) for v in m.ravel()))
        move = gp_GTrsf(matrix, gp_XYZ(*map(float, center)))
        return BRepBuilderAPI_GTransform(ball(1.0), move, True).Shape()

    def bore(
        entry: Any, axis: Any, radius: float, depth: float, tip_angle: float | None = None
    ) -> Any:
        p, d = np.asarray(entry, dtype=float), np.asarray(axis, dtype=float)
        place = gp_Ax2(gp_Pnt(*(p - lip * d)), gp_Dir(*d))
        shape = BRepPrimAPI_MakeCylinder(place, float(radius), float(depth) + lip).Shape()
        if tip_angle is None or tip_angle >= 180.0:
            return shape
        # the point, and a little of the cylinder above it, which the two then share
        height = radius / math.tan(math.radians(tip_angle / 2.0))
        base = gp_Ax2(gp_Pnt(*(p + depth * d)), gp_Dir(*d))
        return fuse(shape, BRepPrimAPI_MakeCone(base, float(radius), 0.0, height).Shape())

    def slot(one: Any, other: Any, axis: Any, radius: float, depth: float) -> Any:
        """What a mill sweeps between two places: two cylinders and the box between them."""
        p, q, d = (np.asarray(v, dtype=float) for v in (one, other, axis))
        way = (q - p) / np.linalg.norm(q - p)
        corner = p - lip * d - radius * np.cross(d, way)
        place = gp_Ax2(gp_Pnt(*corner), gp_Dir(*d), gp_Dir(*way))
        size = (float(np.linalg.norm(q - p)), 2.0 * radius, float(depth) + lip)
        box = BRepPrimAPI_MakeBox(place, *size).Shape()
        return fuse(fuse(bore(p, d, radius, depth), box), bore(q, d, radius, depth))

    def moved(shape: Any, by: Any) -> Any:
        t = gp_Trsf()
        t.SetTranslation(gp_Vec(*map(float, by)))
        return BRepBuilderAPI_Transform(shape, t, True).Shape()

    def fuse(a: Any, b: Any) -> Any:
        return BRepAlgoAPI_Fuse(a, b).Shape()

    def common(a: Any, b: Any) -> Any:
        return BRepAlgoAPI_Common(a, b).Shape()

    def cut(a: Any, b: Any) -> Any:
        return BRepAlgoAPI_Cut(a, b).Shape()

    def clear(a: Any, b: Any) -> bool:
        """Whether the boxes around two shapes lie apart, so that these have nothing in common."""
        around = Bnd_Box(), Bnd_Box()
        for shape, box in zip((a, b), around, strict=True):
            BRepBndLib.Add_s(shape, box)  # never smaller than the shape
        return bool(around[0].IsOut(around[1]))

    def moments(shape: Any, eps: float = 1e-10) -> tuple[float, Any, Any]:
        """Volume, first moment and second moment about the origin, integrated to ``eps``."""
        props = GProp_GProps()
        BRepGProp.VolumeProperties_s(shape, props, eps, True)
        volume = props.Mass()
        c = props.CentreOfMass()
        center = np.array([c.X(), c.Y(), c.Z()])
        m = props.MatrixOfInertia()  # about the centre of mass
        inertia = np.array([[m.Value(i, j) for j in (1, 2, 3)] for i in (1, 2, 3)])
        second = 0.5 * np.trace(inertia) * np.eye(3) - inertia
        return volume, volume * center, second + volume * np.outer(center, center)

    def distance(a: Any, b: Any) -> tuple[float, Any]:
        """Least distance between two shapes, and a point on each, that far apart."""
        found = BRepExtrema_DistShapeShape(a, b)
        p, q = found.PointOnShape1(1), found.PointOnShape2(1)
        return found.Value(), np.array([[p.X(), p.Y(), p.Z()], [q.X(), q.Y(), q.Z()]])

    return SimpleNamespace(
        ball=ball,
        ellipsoid=ellipsoid,
        bore=bore,
        slot=slot,
        moved=moved,
        fuse=fuse,
        common=common,
        cut=cut,
        clear=clear,
        moments=moments,
        distance=distance,
    )
