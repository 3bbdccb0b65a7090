"""A drilled ball as it was measured: the file from which its grip is copied.

Once parsed, lengths are inches and angles degrees. Each field says how it was read, for a reading is not
always the figure that a job record states: `layoutkit.bench.grip_copy` makes one of the other.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationError, model_validator

from layoutkit.errors import InputError
from layoutkit.job.files import MEASURED_GRIP, read_json
from layoutkit.job.limits import limit
from layoutkit.job.problems import problems_of
from layoutkit.job.record import Oval, Pitch
from layoutkit.job.validators import Date, Hand, Model, Text, only_version

FORMAT = "layoutkit-grip"
VERSION = 1

_Line = Annotated[str, Text(200)]
_Notes = Annotated[str, Text(2000, lines=True)]
_Bore = Annotated[float, limit("bowler.grip.*.sleeve.bore")]
_Span = Annotated[float, limit("bowler.grip.*.span")]


class MeasuredHole(Model):
    """One hole as measured: inches, ``tip_angle`` degrees, ``density`` g/cm3.

    ``depth`` is read from a bar that lies across the opening, or along the axis from the surface at the
    hole's centre; where there is a ``tip_angle`` the rod stands on the drill point's tip. With a
    ``sleeve`` in the hole, ``bore`` is the diameter that was bored for it. What nobody can measure on a
    finished ball, its ``bore_depth`` and ``density``, may be left out.
    """

    diameter: Annotated[float, limit("bowler.grip.*.diameter")]
    depth: Annotated[float, limit("bowler.grip.*.depth")]
    depth_from: Literal["bar", "axis"] = "bar"
    tip_angle: Annotated[float, limit("bowler.grip.*.tip_angle")] | None = None
    pitch: Pitch = Field(default_factory=Pitch)
    sleeve: bool = False
    bore: _Bore | None = None
    bore_depth: Annotated[float, limit("bowler.grip.*.sleeve.bore_depth")] | None = None
    density: Annotated[float, limit("bowler.grip.*.sleeve.density")] | None = None
    ready: bool = False

    @model_validator(mode="after")
    def _sleeve_agrees(self) -> Self:
        if self.sleeve and self.bore is None:
            raise InputError(
                "missing beside sleeve true; possible: the diameter bored for the sleeve, which is the "
                "outer edge of its ring at the surface.",
                "bore",
            )
        for name in ("bore", "bore_depth", "density"):
            value = getattr(self, name)
            if not self.sleeve and value is not None:
                raise InputError(
                    f"{value:g} beside sleeve false; possible: leave it out, or sleeve true.", name
                )
        return self

    @property
    def cut(self) -> float:
        """The diameter of the edge that the ball itself has, in inches: the bore's, if there is one."""
        return self.diameter if self.bore is None else self.bore


class MeasuredThumb(MeasuredHole):
    """The thumb hole as measured; of an ``oval`` one, ``diameter`` is its narrow way."""

    oval: Oval | None = None


class MeasuredFinger(MeasuredHole):
    """A finger hole as measured; ``span`` by the file's rule from finished edge to finished edge.

    ``straight`` is the same span read straight across, as a check: by a caliper or a stiff rule.
    """

    span: _Span
    straight: _Span | None = None


class MeasuredOuterFinger(MeasuredFinger):
    """A hole beside the middle or the ring finger's; ``gap`` inches to it, as the bridge is read."""

    gap: Annotated[float, limit("bowler.grip.*.gap")]


class MeasuredGrip(Model):
    """The ball that was measured, ``diameter`` inches across, and the holes of one hand.

    ``rule`` is what the spans, the bridge and the gaps were read with: a flexible rule lies along the
    ball, a stiff one straight across. ``bridge_between`` names the edges between which bridge and gaps
    were read. Without a ``thumb`` the spans are measured from the palm mark.
    """

    format: Literal["layoutkit-grip"]
    version: Annotated[Literal[1], only_version(VERSION)]
    name: _Line = ""
    date: Annotated[str, Date()] | None = None
    notes: _Notes = ""
    hand: Hand
    diameter: Annotated[float, limit("ball.diameter")]
    rule: Literal["flexible", "stiff"] = "flexible"
    bridge: Annotated[float, limit("as_drilled.bridge")]
    bridge_between: Literal["bored edges", "finished edges"] = "bored edges"
    middle: MeasuredFinger
    ring: MeasuredFinger
    thumb: MeasuredThumb | None
    index: MeasuredOuterFinger | None = None
    little: MeasuredOuterFinger | None = None


def parse_measured(data: object) -> MeasuredGrip:
    """The measured grip of decoded JSON.

    Raises InputError about the first problem: the field's dotted path, the value as written and
    what is possible.
    """
    try:
        return MeasuredGrip.model_validate(data)
    except ValidationError as error:
        raise problems_of(error, MeasuredGrip, "the measured grip")[0].error() from None


def load_measured(path: str | Path) -> MeasuredGrip:
    """The measured grip of a file.

    Raises InputError where the file cannot be read, is no JSON or is no measured grip.
    """
    return parse_measured(read_json(path, MEASURED_GRIP))


_HOLE = {
    "diameter": None,
    "depth": None,
    "depth_from": "bar",
    "pitch": None,
}
_SLEEVED = {"sleeve": True, "bore": None, "ready": True}
_FORM: dict[str, Any] = {
    "format": FORMAT,
    "version": VERSION,
    "name": "",
    "date": None,
    "notes": 'Replace every null. A pitch is {"forward": "1/8", "left": "1/16"}, or reverse, right; {} '
    "is none. A hole without a sleeve: sleeve false, and take bore and ready out. No thumb hole: leave "
    "thumb null, and read the spans from the palm mark.",
    "hand": None,
    "diameter": None,
    "rule": "flexible",
    "bridge": None,
    "bridge_between": "bored edges",
    "middle": {"span": None, **_HOLE, **_SLEEVED},
    "ring": {"span": None, **_HOLE, **_SLEEVED},
    "thumb": {**_HOLE, "sleeve": False},
}


def form_text(date: str) -> str:
    """A file to fill in, with this date: what is measured is null, so that nothing can be forgotten."""
    return json.dumps(_FORM | {"date": date}, indent=2) + "\n"
