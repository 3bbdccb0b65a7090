"""The tables of fields, explanations and commands leave nothing out; no module needs a display."""

import ast
import copy
import json
import math
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

import gui
from gui.state import commands, fields, help_texts, odds, readings, scale, shade, shelf
from gui.state.presenter import Presenter
from layoutkit.job.record import DIGITS, job_schema, parse_job
from layoutkit.output import maps
from layoutkit.planning.plan import plan

GUI = Path(gui.__file__).parent
HEADLESS = tuple(sorted(p.stem for p in (GUI / "state").glob("*.py") if p.stem != "__init__"))

CHECKS: tuple[str, ...] = (
    "drillable",
    "diameter",
    "gross",
    "top",
    "side",
    "finger",
    "hole count",
    "balance holes",
    "vent holes",
    "vents of one hole",
    "inspection hole",
    "inspection hole depth",
    "palm mark",
    "serial",
)


def schema_paths(schema: dict[str, Any]) -> set[str]:
    """Every leaf of the record's JSON Schema, as dotted paths; read apart from the models."""
    definitions = schema["$defs"]

    def objects(node: dict[str, Any]) -> list[dict[str, Any]]:
        if "$ref" in node:
            return objects(definitions[node["$ref"].rpartition("/")[2]])
        found = [node] if "properties" in node else []
        for key in ("anyOf", "oneOf"):
            for each in node.get(key, ()):
                found += objects(each)
        return found

    def leaves(node: dict[str, Any], path: str) -> set[str]:
        inner = objects(node)
        if not inner:
            return {path}
        return {
            leaf
            for each in inner
            for name, child in each["properties"].items()
            for leaf in leaves(child, f"{path}.{name}".lstrip("."))
        }

    return leaves(schema, "")


def test_every_field_of_the_records_schema_is_reachable_and_none_else() -> None:
    shown = {p for f in fields.all_fields() for p in f.record_paths}
    wanted = schema_paths(job_schema()) - {"format", "version"}
    wanted = {path for path in wanted if not fields.unshown(path)}
    parts = {f.path for f in fields.all_fields() if f.part}
    assert shown - parts == wanted
    told = {f.path for f in fields.all_fields() if f.kind == "switch"} - parts
    assert told == {
        "layout.obtuse_angle_at_pap",
        "bowler.grip.thumb.oval.milled",
        *(f"bowler.grip.{digit}.sleeve.ready" for digit in DIGITS),
    }
    # the switches are parts that a record may leave out, and the one for the RGs
    assert parts - {fields.RG_DATA} == {
        *(f"bowler.grip.{digit}" for digit in ("thumb", "index", "little")),
        *(f"bowler.grip.{digit}.sleeve" for digit in DIGITS),
        "bowler.grip.thumb.sleeve.outer",
        "bowler.grip.thumb.oval",
        "extra_holes.inspection",
        "as_drilled",
        "ball.psa",
        "ball.shell",
        "tolerances",
        "release",
        "lane",
    }


def test_every_field_of_a_lists_rows_is_reachable_and_none_else() -> None:
    schema = job_schema()
    for path, model in (
        ("bowler.grip.thumb.inners", "Inner"),
        ("extra_holes.vents", "Vent"),
        ("history.holes", "OldHole"),
        ("lane.table", "Friction"),
    ):
        row = {**schema["$defs"][model], "$defs": schema["$defs"]}
        wanted = {f"{path}.*.{leaf}" for leaf in schema_paths(row)}
        wanted = {leaf for leaf in wanted if not fields.unshown(leaf)}
        rows = fields.row_fields(path)
        assert {p for f in rows for p in f.record_paths if not f.part} == wanted
        assert len({f.label for f in rows}) == len(rows)
    assert {f.path for f in fields.all_fields() if f.kind == "rows"} == set(fields.LISTS)
    assert set(fields.LISTS) == {
        p for p in schema_paths(schema) if p.endswith(("vents", "holes", "table", "inners"))
    }


def test_each_path_has_one_field_and_each_field_a_label_of_its_own_in_its_section() -> None:
    paths = Counter(
        p for f in fields.all_fields() for p in (*f.record_paths, f.direction_path) if p
    )
    assert max(paths.values()) == 1
    places = Counter((f.section, f.label) for f in fields.all_fields() if not f.shown_if)
    assert max(places.values()) == 1


def test_conditions_are_about_switches_and_the_statement() -> None:
    for field in fields.all_fields():
        for condition in field.shown_if:
            asked = fields.field_at(condition.path)
            assert asked is not None
            assert set(condition.values) <= {value for value, _ in asked.options}


ALL = (*fields.all_fields(), *(f for each in fields.LISTS for f in fields.row_fields(each)))


@pytest.mark.parametrize("field", ALL, ids=lambda f: f.path)
def test_every_field_is_explained(field: fields.Field) -> None:
    found = help_texts.of_field(field)
    assert found.what
    assert found.bench
    assert found.usual
    words = help_texts.field_words(field.path)
    if field.limit is not None:
        assert field.limit.range in words


def test_no_explanation_is_left_over() -> None:
    used = [help_texts.of_field(f) for f in ALL]
    assert all(any(e is u for u in used) for e in help_texts.FIELDS.values())
    keys = {s.key for s in readings.SPECS} | {b[0] for b in readings.BARS} | set(CHECKS)
    keys |= {odds.KEY, readings.WEIGH_IN}
    assert set(help_texts.READINGS) == keys
    asked = {"reading", "by", "take", "bit"} | {name for _, name, _ in scale.COLUMNS}
    assert set(help_texts.SHOP) == asked
    assert list(help_texts.SHELF) == [heading for heading in shelf.HEADINGS if heading]
    assert set(help_texts.MAPS) == {p.name for p in maps.PANELS} | set(shade.PANELS)


def test_every_computed_reading_has_a_formula() -> None:
    given = {"filler_density", "palm mark", "serial"}
    for spec in (*readings.SPECS, *readings.BARS):
        key = spec.key if isinstance(spec, readings.Spec) else spec[0]
        assert bool(help_texts.READINGS[key].formula) == (key not in given), key


def test_every_column_and_every_check_of_every_plan_is_explained(
    record: dict[str, Any], odd: dict[str, Any]
) -> None:
    headings: set[str] = set()
    seen: set[str] = set()
    bare = copy.deepcopy(record)
    bare["bowler"]["grip"]["thumb"] = None
    crowded = copy.deepcopy(odd)
    crowded["extra_holes"]["vents"] *= 2
    crowded["ball"]["diameter"] = 8.45  # as after resurfacing
    for each in (record, bare, odd, crowded):
        found = readings.readings(plan(parse_job(each)))
        for table in (
            found.operations, found.oval, found.holes, found.extra, found.old, found.proof,
            found.walls,
        ):  # fmt: skip
            headings |= {h for h in table.heading if h}
        seen |= {check.name for check in found.checks}
    assert headings == set(help_texts.COLUMNS)
    assert seen == set(CHECKS) | {bar[0] for bar in readings.BARS}
    for name in seen:
        assert help_texts.reading_words(name)


def test_the_explained_core_density_is_the_plans(record: dict[str, Any]) -> None:
    # 1 g/cm3 = 0.578037 oz/in3, from the pound and the inch by definition
    p = plan(parse_job(record))
    assert p.core is not None
    unit = 4.0 / 3.0 * math.pi * 2.54**3 / 28.349523125
    inner = p.radius - 0.75
    shell_and_filler = unit * (1.20 * (p.radius**3 - inner**3) + 0.70 * inner**3)
    excess = 16.0 * 15.12 - shell_and_filler
    assert p.core.density == pytest.approx(
        0.70 + excess / (unit * math.prod(p.core.semi_axes)), rel=1e-9
    )


def test_glossary_has_the_trades_words_once_and_in_order() -> None:
    terms = [term.lower() for term in help_texts.GLOSSARY]
    assert terms == sorted(terms)
    for word in ("Pin", "CG mark", "PSA mark", "PAP", "VAL", "Span", "Pitch", "Bridge", "RG"):
        assert word in help_texts.GLOSSARY


# --- commands -------------------------------------------------------------------------------------


def test_commands_have_names_keys_and_mnemonics_of_their_own() -> None:
    assert len({c.id for c in commands.COMMANDS}) == len(commands.COMMANDS)
    keys = Counter(s for c in commands.COMMANDS for s in c.sequences())
    assert max(keys.values()) == 1
    for menu in commands.MENUS:
        letters = [c.text[c.underline].lower() for c in commands.in_menu(menu) if c.underline >= 0]
        assert len(letters) == len(set(letters)), menu
    titles = [t[t.index("&") + 1] for t in commands.MENUS.values()]
    assert len(titles) == len(set(titles))


def test_methods_of_commands_are_the_presenters(tmp_path: Path) -> None:
    presenter = Presenter(tmp_path)
    for command in commands.COMMANDS:
        assert command.enabled(presenter) in (True, False)
        if command.chosen is not None:
            assert command.chosen(presenter) in (True, False)
        if command.method:
            command.run(presenter)  # on an empty record: refused or done, never raised


def test_keys_that_people_expect() -> None:
    wanted = {
        "open": "Ctrl+O",
        "save": "Ctrl+S",
        "undo": "Ctrl+Z",
        "redo": "Ctrl+Y",
        "help_field": "F1",
        "next_step": "Alt+Right",
        "nudge_left": "Left",
        "nudge_left_coarse": "Shift+Left",
    }
    assert {name: commands.command(name).accelerator() for name in wanted} == wanted
    told = commands.keys_text()
    for command in commands.COMMANDS:
        assert command.accelerator() in told


def test_a_letter_is_bound_in_both_cases() -> None:
    assert commands.command("undo").sequences() == ("<Control-z>", "<Control-Z>")
    assert commands.command("face_grip").sequences() == ("<Key-g>", "<Key-G>")
    assert commands.command("help_field").sequences() == ("<Key-F1>",)


# --- imports --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", HEADLESS)
def test_the_presenters_modules_import_no_display(name: str) -> None:
    tree = ast.parse((GUI / "state" / f"{name}.py").read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [node.module or ""]
            if node.module == "gui":
                assert {alias.name for alias in node.names} <= set(HEADLESS)
        for module in names:
            top, _, rest = module.partition(".")
            assert top not in ("tkinter", "matplotlib", "tktooltip", "scipy")
            assert top != "gui" or rest.partition(".")[0] == "state"


def test_a_presenter_at_work_loads_no_display(tmp_path: Path) -> None:
    sample = GUI.parent / "sample_bowlers" / "01_right_asymmetric.json"
    code = (
        "import sys, json\n"
        "from pathlib import Path\n"
        "from gui.state.presenter import Presenter\n"
        "from gui.state import commands, help_texts, readings\n"
        f"p = Presenter(Path({str(tmp_path)!r}))\n"
        f"p.open({str(sample)!r})\n"
        "readings.readings(p.plan); p.steps; p.plan_text(); p.keep_recovery()\n"
        "print(json.dumps([m for m in ('tkinter', 'matplotlib', 'scipy') if m in sys.modules]))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert json.loads(done.stdout) == []


def test_what_a_ball_is_said_to_do_is_told_to_be_common_practice() -> None:
    claims = [
        each.what
        for each in (*help_texts.FIELDS.values(), *help_texts.READINGS.values())
        if any(word in each.what for word in ("sooner", "flares most", "revs up"))
    ]
    assert len(claims) >= 4
    for claim in claims:
        assert "Common practice: " in claim


def test_each_section_stands_in_one_piece() -> None:
    for group in fields.GROUPS:
        sections = [f.section for f in fields.all_fields() if f.group == group]
        headings = [s for s, before in zip(sections, ["", *sections], strict=False) if s != before]
        assert len(headings) == len(set(headings)), (group, headings)
