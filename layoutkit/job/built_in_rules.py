"""The rule sets that are built in, and how the content of a rule file becomes a `rules.RuleSet`.

Their files are part of the program, so they are read as they stand: a test holds each of them to the
models of `rule_files`. That makes a start quicker, since those models take longer than a plan.
"""

import json
import math
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from layoutkit.errors import InputError
from layoutkit.job import rules
from layoutkit.job.rules import RuleSet
from layoutkit.units import shown

BUILT_IN = ("usbc-2020", "usbc-pre-2018")

_Part = Mapping[str, Any]  # one object of a rule file


def rules_template(name: str) -> str:
    """The JSON text of the built-in rule set `name`, from which a shop can start its own file.

    Raises InputError naming the built-in sets when there is none of that name.
    """
    if name not in BUILT_IN:
        possible = ", ".join(f'"{each}"' for each in BUILT_IN)
        raise InputError(
            f"{shown(name)} is not a built-in rule set; possible: {possible}.", "rules"
        )
    return (Path(__file__).parent / "rule_sets" / f"{name}.json").read_text(encoding="utf-8")


@lru_cache(maxsize=len(BUILT_IN))
def rule_set(name: str) -> RuleSet:
    """The built-in rule set `name`, read once.

    Raises InputError naming the built-in sets when there is none of that name.
    """
    return rule_set_of(json.loads(rules_template(name)))


def rule_set_of(content: _Part) -> RuleSet:
    """The rule set of a file's content, which is known to be right."""
    balance, vents = content["balance_holes"], content["vent_holes"]
    inspection = content["inspection_holes"]
    return RuleSet(
        name=content["name"],
        title=content["title"],
        in_force=content["in_force"],
        static_limits=tuple(_weight_class(each) for each in content["static_limits"]),
        gross_weight_lb=_figure(content["gross_weight"], "max_lb"),
        gripping_holes=_figure(content["gripping_holes"], "max"),
        balance_holes=_figure(balance, "max_count"),
        balance_hole_diameter_in=(
            None if balance["max_diameter_in"] is None else _figure(balance, "max_diameter_in")
        ),
        vent_holes_per_gripping_hole=_figure(vents, "per_gripping_hole"),
        vent_hole_diameter_in=_figure(vents, "max_diameter_in"),
        inspection_holes=_figure(inspection, "max_count"),
        inspection_hole_diameter_in=_figure(inspection, "max_diameter_in"),
        inspection_hole_depth_in=_figure(inspection, "max_depth_in"),
        palm_mark_without_thumb=rules.Requirement(**content["palm_mark_without_thumb"]),
        serial_number=rules.Requirement(**content["serial_number"]),
        notes=tuple(rules.Note(**each) for each in content["notes"]),
        undrilled=rules.Undrilled(
            **{name: _figure(part, "value") for name, part in content["undrilled"].items()}
        ),
        readings=tuple(content.get("readings", rules.READINGS)),
        looked_at=tuple(content.get("looked_at", ())),
        first_day=content.get("first_day"),
        last_day=content.get("last_day"),
    )


def _figure(part: _Part, name: str) -> rules.Figure:
    return rules.Figure(float(part[name]), part["source"], part["status"])


def _weight_class(part: _Part) -> rules.WeightClass:
    return rules.WeightClass(
        over_lb=float(part["over_lb"]),
        up_to_lb=math.inf if part["up_to_lb"] is None else float(part["up_to_lb"]),
        top_oz=float(part["top_oz"]),
        side_oz=float(part["side_oz"]),
        finger_oz=float(part["finger_oz"]),
        source=part["source"],
        status=part["status"],
    )
