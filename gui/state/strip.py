"""The layout in one strip: placement, angles and distances, as figures that can be changed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from gui.state.fields import field_at
from gui.state.readings import SPECS
from layoutkit.output.report import proof_words
from layoutkit.planning.values import Plan
from layoutkit.planning.variants import plan_flare
from layoutkit.units import Units, format_ounces

UNKNOWN = "-"
CHANGE = "This change: "
_MOVED = 0.005  # ounces or inches below which a figure has not changed


class Figure(NamedTuple):
    """A figure of the strip: its reading's key, its label, and the record's field that states it."""

    key: str
    label: str
    path: str


# the ways to state a layout, and the figures that each brings into the strip; those of placement lead
FORMS: dict[str, tuple[Figure, ...]] = {
    "placement": (
        Figure("pin_over", "pin over", "layout.pin.over"),
        Figure("pin_up", "pin up", "layout.pin.up"),
        Figure("bearing", "bearing", "layout.bearing"),
    ),
    "angles": (
        Figure("angle_at_pin", "at the pin", "layout.angle_at_pin"),
        Figure("pin_to_pap", "pin to PAP", "layout.pin_to_pap"),
        Figure("angle_at_pap", "at the PAP", "layout.angle_at_pap"),
    ),
    "distances": (
        Figure("psa_to_pap", "PSA to PAP", "layout.psa_to_pap"),
        Figure("pin_to_val", "pin to VAL", "layout.pin_to_val"),
    ),
}
_SPECS = {spec.key: spec for spec in SPECS}


def form_of(key: str, stated: str) -> str:
    """The way of stating a layout that a figure is changed in, where the record states it so now."""
    if key == "pin_to_pap" and stated == "distances":
        return stated
    return next(by for by, figures in FORMS.items() if any(f.key == key for f in figures))


def figure_text(figure: Figure, entries: Mapping[str, str], plan: Plan | None, units: Units) -> str:
    """A figure as it was typed where it states the layout, else as the plan has it."""
    stated = entries.get("layout.by", "")
    if form_of(figure.key, stated) == stated:
        text = entries.get(figure.path, "").strip()
        field = field_at(figure.path)
        if field is not None and field.directions is not None and text:
            way = entries.get(field.direction_path, field.directions[0])
            text = text if way == field.directions[0] else f"{text} {way}"
        return text
    spec = _SPECS[figure.key]
    value = None if plan is None else spec.get(plan)
    if value is None:
        return UNKNOWN
    return spec.show(value, units).removesuffix(" in")


def with_figure(entries: Mapping[str, str], figure: Figure, text: str) -> dict[str, str]:
    """Entries in which a field has this text; `1 1/2 down` and `-1 1/2` also set its direction."""
    field = field_at(figure.path)
    text = text.strip()
    changed = dict(entries)
    if field is not None and field.directions is not None:
        plus, minus = field.directions
        number, _, word = text.rpartition(" ")
        below = text.startswith("-")
        if number and word.isalpha() and (plus.startswith(word) or minus.startswith(word)):
            text, below = number.strip(), minus.startswith(word)
        changed[field.direction_path] = minus if below else plus
        text = text.removeprefix("-").strip()
    if text:
        changed[figure.path] = text
    else:
        changed.pop(figure.path, None)
    return changed


def change_words(
    before: Plan | None,
    now: Plan | None,
    units: Units,
    weights: tuple[str, ...] = ("side", "finger", "top"),
) -> str:
    """What the last change did to these weights and to flare; empty where nothing is to be told."""
    if before is None or now is None or before is now:
        return ""
    parts = []
    for name in weights:
        old, new = (getattr(each.statics, f"{name}_oz") for each in (before, now))
        if old is not None and new is not None and abs(new - old) >= _MOVED:
            parts.append(f"{name} {format_ounces(new - old, units, signed=True)}")
    old, new = plan_flare(before), plan_flare(now)
    if old is not None and new is not None:
        words = proof_words(abs(new - old), "decimal" if units == "fraction" else units)
        if any(c in "123456789" for c in words):
            parts.append(f"flare {'+' if new > old else '-'}{words}")
    return f"{CHANGE}{', '.join(parts) or 'no weight or flare'}"
