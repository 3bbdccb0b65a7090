"""How long one plan takes, and how much longer OpenCASCADE needs for the same drilled ball.

    python tests/bench/bench_plan.py

Plans 200 distinct plain jobs, each once, in a warm process (at most 1 ms is asked of the median), and
computes the mass properties of some of the same drilled balls with OpenCASCADE: shell, filler and
core, each less the holes, and the sleeves (at least 60 times the time is asked). The core's offset,
drill points and what neighbouring sleeves share are left out, which spares OpenCASCADE time. Not a
test: no machine is quiet enough to fail on it.
"""

import copy
import json
import math
import random
import statistics
import time
from pathlib import Path
from typing import Any

from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import BRepBuilderAPI_GTransform, BRepBuilderAPI_Transform
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakeSphere
from OCP.gp import gp_Ax2, gp_Ax3, gp_Dir, gp_GTrsf, gp_Mat, gp_Pnt, gp_Trsf
from OCP.GProp import GProp_GProps

from layoutkit.job.record import Job, parse_job
from layoutkit.planning.plan import plan
from layoutkit.planning.unknown import open_fields
from layoutkit.planning.values import HolePlan, Plan

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
JOBS, SOLIDS, WARM_UP = 200, 12, 20
MILLISECONDS, TIMES = 1.0, 60.0
# milliseconds asked of what takes longer
ASKED = {"tolerances": 5.0, "oval": 2.0}


def varied(base: dict[str, Any], r: random.Random) -> Job:
    """A sample job with other marks, spans, pitches, label figures and layout."""
    record = copy.deepcopy(base)
    grip, ball = record["bowler"]["grip"], record["ball"]
    record["bowler"]["pap"] = {"over": r.uniform(4.0, 5.5), "up": r.uniform(-0.5, 1.0)}
    for name in ("middle", "ring", "thumb"):
        if grip[name] is not None:
            grip[name]["pitch"] = {"forward": r.uniform(-0.25, 0.25), "right": r.uniform(-0.1, 0.1)}
    grip["bridge"] = r.choice([0.25, 0.3125, 0.375])
    ball["top_weight"] = r.uniform(1.5, 3.5)
    ball["pin_to_cg"] = r.uniform(1.0, 4.0)
    record["layout"] = {
        "by": "angles",
        "angle_at_pin": r.uniform(20.0, 90.0),
        "pin_to_pap": r.uniform(2.0, 5.5),
        "angle_at_pap": r.uniform(20.0, 75.0),
    }
    return parse_job(record)


def cylinder(h: HolePlan, diameter: float, depth: float) -> Any:
    """What a flat bit sweeps, from 1 in above the surface."""
    out = [e - a for e, a in zip(h.entry, h.axis, strict=True)]
    at = gp_Ax2(gp_Pnt(*out), gp_Dir(*h.axis))
    return BRepPrimAPI_MakeCylinder(at, diameter / 2.0, depth + 1.0).Shape()


def mass(shape: Any) -> float:
    """Volume, and with it all moments, in OpenCASCADE's default accuracy."""
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    properties.MatrixOfInertia()
    return float(properties.Mass())


def core_of(p: Plan) -> Any:
    """The core as a stretched sphere, its axes as the plan's marks say; its offset left out."""
    assert p.core is not None
    low = [x / p.radius for x in p.marks.pin.xyz]
    mark = (p.marks.psa or p.marks.cg).xyz
    onto = sum(a * b for a, b in zip(low, mark, strict=True))
    high = [b - onto * a for a, b in zip(low, mark, strict=True)]
    frame = gp_Ax3(gp_Pnt(0, 0, 0), gp_Dir(*high), gp_Dir(*low))
    placed = gp_Trsf()
    placed.SetTransformation(frame, gp_Ax3())
    a, b, c = p.core.semi_axes
    stretch = gp_GTrsf()
    stretch.SetVectorialPart(gp_Mat(a, 0, 0, 0, b, 0, 0, 0, c))
    ball = BRepPrimAPI_MakeSphere(1.0).Shape()
    return BRepBuilderAPI_Transform(
        BRepBuilderAPI_GTransform(ball, stretch).Shape(), placed
    ).Shape()


def drilled_masses(p: Plan) -> float:
    """The drilled ball by OpenCASCADE: each layer less the holes, and the sleeves; in3 of the ball."""
    tools = None
    for h in p.holes:
        for diameter, depth in {(h.diameter, h.depth)} | (
            {(h.bore.diameter, h.bore.depth)} if h.bore else set()
        ):
            hole = cylinder(h, diameter, depth)
            tools = hole if tools is None else BRepAlgoAPI_Fuse(tools, hole).Shape()
    ball = BRepPrimAPI_MakeSphere(p.radius).Shape()
    layers = [ball]
    if p.core is not None:
        layers += [BRepPrimAPI_MakeSphere(p.radius - 0.75).Shape(), core_of(p)]
    masses = [mass(BRepAlgoAPI_Cut(layer, tools).Shape()) for layer in layers]
    for h in p.holes:
        if h.bore:
            sleeve = BRepAlgoAPI_Common(ball, cylinder(h, h.bore.diameter, h.bore.sleeve_length))
            mass(BRepAlgoAPI_Cut(sleeve.Shape(), cylinder(h, h.diameter, h.depth)).Shape())
    return masses[0]


def more_of(record: dict[str, Any]) -> tuple[str, ...]:
    """What a record asks for beyond a plain plan: it takes its own time."""
    thumb = record["bowler"]["grip"]["thumb"] or {}
    parts = [name for name in ("tolerances", "extra_holes", "history") if record.get(name)]
    return (*parts, *(["oval"] if thumb.get("oval") else []))


def main() -> None:
    r = random.Random(20261125)
    records = [json.loads(path.read_text()) for path in sorted(SAMPLES.glob("*.json"))]
    # a record that leaves figures open takes no layout but a placement
    whole = [record for record in records if not open_fields(parse_job(record))]
    bases = [record for record in whole if not more_of(record)]
    jobs = [varied(r.choice(bases), r) for _ in range(JOBS + WARM_UP)]
    for job in jobs[:WARM_UP]:
        plan(job)
    times, plans = [], []
    for job in jobs[WARM_UP:]:
        start = time.perf_counter()
        found = plan(job)
        times.append(time.perf_counter() - start)
        plans.append(found)
    slow = []
    for p in plans[:SOLIDS]:
        start = time.perf_counter()
        volume = drilled_masses(p)
        slow.append(time.perf_counter() - start)
        assert 0.97 < volume / (4.0 / 3.0 * math.pi * p.radius**3) < 1.0
    median, quarter = statistics.median(times), statistics.quantiles(times, n=4)
    ratio = statistics.median(slow) / median
    print(
        f"plan, {JOBS} distinct jobs: median {median * 1e3:.2f} ms (asked: {MILLISECONDS:g}), "
        f"middle half {quarter[0] * 1e3:.2f} to {quarter[2] * 1e3:.2f}, least {min(times) * 1e3:.2f}"
    )
    print(
        f"OpenCASCADE, the same drilled balls: median {statistics.median(slow) * 1e3:.0f} ms, "
        f"{ratio:.0f} times as long (asked: {TIMES:g})"
    )
    for record in records:
        if more_of(record):
            spent = []
            for _ in range(WARM_UP):
                job = varied(record, r)
                start = time.perf_counter()
                plan(job)
                spent.append(time.perf_counter() - start)
            asked = [f"{ASKED[part]:g}" for part in more_of(record) if part in ASKED]
            print(
                f"with {', '.join(more_of(record))}: median {statistics.median(spent) * 1e3:.1f} ms"
                f"{f' (asked: {asked[-1]})' if asked else ''}, "
                f"{statistics.median(spent) / median:.1f} plain plans"
            )


if __name__ == "__main__":
    main()
