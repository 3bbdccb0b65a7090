"""The customer's card: half a page of what was measured and weighed, to be signed."""

import copy
import io
from dataclasses import replace
from typing import Any

import pypdf
import pytest

from layoutkit.commands.main import main
from layoutkit.job.built_in_rules import rule_set
from layoutkit.job.record import parse_job
from layoutkit.job.rules import RuleSet
from layoutkit.job.store import save_job
from layoutkit.output.card import card_bytes, card_figure
from layoutkit.output.typeset import PAPERS, Paper
from layoutkit.planning.plan import plan


def done(record: dict[str, Any]) -> dict[str, Any]:
    """The record of a ball that was drilled, measured and weighed."""
    return copy.deepcopy(record) | {
        "work": {"date": "2026-11-25", "driller": "Demo Driller"},
        "as_drilled": {"bridge": "17/64", "thumb": {"diameter": "1 1/32"}},
        "weighings": {
            "drilled": {
                "gross": 14.9,
                "top": 1.2,
                "side": 0.5,
                "finger": -0.3,
                "by": "Demo Checker",
            }
        },
    }


def words(record: dict[str, Any], rules: RuleSet | None = None) -> str:
    (page,) = pypdf.PdfReader(io.BytesIO(card_bytes(plan(parse_job(record), rules)))).pages
    return " ".join(page.extract_text().split())


def test_says_what_was_measured_and_weighed_when_and_by_whom(record: dict[str, Any]) -> None:
    text = words(done(record))
    for part in (
        "1 1/32",
        "Bridge 17/64 in between the cut edges, as measured.",
        "14.90 lb",
        "1.20 oz top weight",
        "0.30 oz thumb weight",
        "Weights by Demo Checker",
        "2026-11-25, by Demo Driller",
        "Rules: usbc-2020",
        "Weights as weighed: pass",
        "bowler driller date",
        "can injure: stop",
    ):
        assert part in text
    place = text.index("The pin lies ")
    assert place < text.index("angle at the pin") < text.index("angle at the axis point")


def test_nothing_is_legal_that_was_not_weighed(record: dict[str, Any]) -> None:
    text = words(record)
    assert "Weights as weighed: incomplete" in text
    assert "As planned: not measured." in text
    record["weighings"] = {"drilled": {"gross": 14.9, "top": 1.2, "side": 3.9, "finger": 0}}
    text = words(record)
    assert "Not legal: see the rules below" in text
    assert "Weights as weighed: fail" in text


def test_a_rule_set_that_asks_for_no_weighing_makes_no_ball_legal(record: dict[str, Any]) -> None:
    asks_nothing = replace(rule_set("usbc-2020"), readings=())
    assert "Weights as weighed: incomplete" in words(record, asks_nothing)


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_stays_above_the_cut_whatever_the_record_holds(
    record: dict[str, Any], paper: Paper
) -> None:
    record = done(record)
    del record["scale"]
    for part in (record["work"], record["ball"], record["bowler"]):
        part |= {key: "Wide W " * 25 for key in ("driller", "name", "serial") if key in part}
    record["bowler"]["grip"]["thumb"]["oval"] = {"length": "1 1/4"}
    width, height = PAPERS[paper]
    figure = card_figure(plan(parse_job(record)), paper)
    figure.canvas.draw()  # type: ignore[no-untyped-call]
    for text in figure.axes[0].texts:
        box = text.get_window_extent()
        assert box.y0 >= height / 2.0
        assert 24.0 <= box.x0 < box.x1 <= width - 24.0


def test_the_command_writes_it_and_keeps_other_files(
    record: dict[str, Any], tmp_path: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    job, card = (str(tmp_path / name) for name in ("job.json", "card.pdf"))
    save_job(parse_job(done(record)), job)
    assert main(["plan", job, "--card", card, "--paper", "a4"]) == 0
    assert capsys.readouterr().out.endswith(f"Card written to {card}\n")
    for more in (["--card", "card.txt"], ["--card", job], ["--card", card, "--sheet", card]):
        assert main(["plan", job, *more]) == 2
        assert "--card" in capsys.readouterr().err
