"""What a plan says beside its numbers: cautions in order, and whether to drill at all."""

from typing import Any

from layoutkit import plan
from layoutkit.job.record import parse_job
from layoutkit.output.report import report
from layoutkit.output.sheet import sheet_bytes


def test_a_hole_out_of_the_far_side_is_not_to_be_drilled(record: dict[str, Any]) -> None:
    pitch = {"forward": 2, "right": 2}
    record["bowler"]["grip"]["thumb"] = {"diameter": 1, "depth": 6, "pitch": pitch}
    p = plan(parse_job(record))
    assert p.outcome == "fail"
    assert (p.checks[0].name, p.checks[0].outcome) == ("drillable", "fail")
    assert p.as_dict()["reasons"] == [p.cautions[0]]
    assert "comes out of the far side" in p.cautions[0]
    assert "DO NOT DRILL" in report(p)
    assert sheet_bytes(p, "letter") != b""


def test_a_plain_job_may_be_drilled(record: dict[str, Any]) -> None:
    p = plan(parse_job(record))
    assert p.checks[0][:4] == ("drillable", 1.0, 1.0, "yes/no")
    assert p.checks[0].outcome == "pass"
    assert p.reasons == ()
    assert "DO NOT DRILL" not in report(p)


def test_what_is_assumed_of_the_inside_is_named(record: dict[str, Any]) -> None:
    for left_out, told in (
        (("shell",), "The shell is assumed"),
        (("filler_density",), "The filler is assumed"),
        (("shell", "filler_density"), "Shell and filler are assumed"),
    ):
        ball = {k: v for k, v in record["ball"].items() if k not in left_out}
        p = plan(parse_job({**record, "ball": ball}))
        assert any(c.startswith(told) for c in p.cautions), told
    assert not any("assumed" in c for c in plan(parse_job(record)).cautions)


def test_limits_from_memory_are_cautioned(record: dict[str, Any]) -> None:
    light = {"name": "Demo", "serial": "D1", "diameter": 8.5, "weight": 9, "top_weight": 1}
    p = plan(parse_job({**record, "ball": {**light, "pin_to_cg": 1}}))
    assert any("from memory" in c for c in p.cautions)
    assert not any("from memory" in c for c in plan(parse_job(record)).cautions)


def test_a_weight_near_a_class_limit_is_cautioned(record: dict[str, Any]) -> None:
    ball = {"name": "Demo", "serial": "D1", "diameter": 8.5, "top_weight": 1, "pin_to_cg": 1}
    removed = plan(parse_job({**record, "ball": {**ball, "weight": 10}})).statics.removed_oz
    near = {**ball, "weight": 10.005 + removed / 16.0}
    p = plan(parse_job({**record, "ball": near}))
    assert any("weigh the ball before judging it" in c and "10.00 lb" in c for c in p.cautions)


def test_finished_holes_deeper_than_their_bores_are_listed_once(record: dict[str, Any]) -> None:
    sleeve = {"bore": 1, "bore_depth": 1, "density": 1.1}
    for name in ("middle", "ring"):
        record["bowler"]["grip"][name]["sleeve"] = sleeve
    deeper = [c for c in plan(parse_job(record)).cautions if "deeper" in c]
    assert len(deeper) == 1
    assert "middle and ring holes are deeper" in deeper[0]
