"""Lesson files: the shipped ones can be worked, and what is wrong with one is told with its place."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.procedure.library import load
from guide.rig.learning import shelf
from guide.rig.learning.beginning import beginning
from guide.rig.learning.drawing import draw, trouble_of
from guide.rig.learning.lesson import Help, Item
from guide.rig.learning.lesson_file import json_schema
from guide.rig.learning.lesson_reader import LessonError, lint, read_lesson
from guide.rig.learning.rubric import lines
from guide.rig.scenario import Scenario
from tests.rig.learning.stories import ready

FOLDER = shelf.folder()
SHIPPED = sorted(FOLDER.glob("*.yaml"))
EACH = pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)


@EACH
def test_every_shipped_lesson_is_without_a_fault(path: Path) -> None:
    assert lint(path) == []


@EACH
def test_every_shipped_lesson_makes_a_unit_on_any_seed(path: Path) -> None:
    lesson = ready(path.stem)
    for seed in range(8):
        unit = beginning(lesson, seed)
        assert isinstance(unit, Scenario)
        assert unit.start_fraction == draw(lesson.lesson, seed).start_fraction
        assert unit.faults == draw(lesson.lesson, seed).faults


@EACH
def test_a_charge_by_superheat_has_a_target_in_the_weather_of_its_lesson(path: Path) -> None:
    lesson = ready(path.stem)
    if lesson.order.metering == "fixed orifice" and lesson.lesson.aim is not None:
        for seed in range(30):
            assert beginning(lesson, seed).target_superheat_K is not None


def test_there_are_ten_lessons_and_more_and_every_procedure_is_practised() -> None:
    lessons = [ready(path.stem) for path in SHIPPED]
    assert len(lessons) >= 10
    assert {each.procedure.id for each in lessons} == {
        "charge-fixed-orifice", "charge-valve-subcooling", "open-circuit-weigh-in",
    }  # fmt: skip
    assert len({each.order.refrigerant.designation for each in lessons}) == 6
    assert all(Help.NONE in each.lesson.helps for each in lessons)


def test_the_published_schema_is_in_step_with_the_model() -> None:
    published = json.loads((FOLDER / "lesson.schema.json").read_text(encoding="utf-8"))
    assert published == json_schema()


@EACH
def test_the_published_schema_takes_what_is_shipped_as_any_yaml_reader_sees_it(path: Path) -> None:
    jsonschema.Draft202012Validator.check_schema(json_schema())
    jsonschema.Draft202012Validator(json_schema()).validate(yaml.safe_load(path.read_bytes()))


def test_a_lesson_is_found_by_its_id_and_no_own_file_takes_the_place_of_a_shipped_one(tmp_path: Path) -> None:
    own = tmp_path / "lessons"
    own.mkdir()
    text = (FOLDER / "connect-tight.yaml").read_text(encoding="utf-8")
    easier = text.replace("title: Connect", "title: Our way to connect").replace("minimum: 85", "minimum: 1")
    (own / "connect-tight.yaml").write_text(easier)
    (own / "our-way.yaml").write_text(easier.replace("id: connect-tight", "id: our-way"))
    shutil.copytree(FOLDER / "orders", own / "orders")

    assert shelf.load("our-way", own).lesson.title.startswith("Our way")
    assert shelf.load("connect-tight", own).lesson == shelf.load("connect-tight").lesson
    assert shelf.passed_over(own) == ("connect-tight",)
    with pytest.raises(LessonError, match="there is no lesson 'none-such'; there are: add-by-superheat"):
        shelf.load("none-such", own)


def test_every_shipped_lesson_has_a_place_of_its_own_in_the_order_of_learning() -> None:
    places = {name: read_lesson(path).lesson.place for name, path in shelf.paths().items()}
    assert None not in places.values()
    assert len(set(places.values())) == len(places)
    first_to_last = sorted(places, key=lambda name: places[name] or 0)
    assert (first_to_last[0], first_to_last[-1]) == ("connect-tight", "which-is-it")


WRONG = [
    ("format: lesson/1", "format: lesson/9", "structure", "lesson/1"),
    ("help: [worked, fill, choose, none]", "help: [none, worked]", "help-order", "in order"),
    ("help: [worked, fill, choose, none]", "help: [worked, fill]", "help-order", "mastered"),
    ("safety: 15", "safety: 14", "points", "come to 99"),
    ("  safety: 15\n  order: 10", "  safety: 5\n  order: 20", "safety-counts", "at least 10"),
    ("minimum: 85", "minimum: 60", "aim-counts", "misses the charge"),
    ('"7.15"', '"7.99"', "step-exists", "no step 7.99"),
    ("orders/orifice-r410a.yaml", "orders/none-such.yaml", "order", "none-such.yaml"),
    ("start: 0.82 to 0.90", "start: 0.9 to 0.82", "range", "does not rise"),
    ("start: 0.82 to 0.90", "start: nan", "range", "no number"),
    ("outdoor: 82F to 94F", "outdoor: 82 to 94F", "quantity", "no unit"),
    ("indoor_wet_bulb: 66F to 68F", "indoor_wet_bulb: 66F to 79F", "range", "never lies above"),
    (
        "charge: {by: superheat, within: 5dF}",
        "charge: {by: subcooling, within: 5dF}",
        "charge-fits",
        "target",
    ),
    ("charge: {by: superheat, within: 5dF}", "charge: {by: weight, within: 5dF}", "quantity", "write 2%"),
    ("  - text: you can find", "  - text: it is good to find", "objective", "begins with"),
    ("time_limit: 240 min", "time_limit: soon", "quantity", "soon"),
    ("time_limit: 240 min\n", "", "time-counts", "time_limit"),
    ("    computed: first sign\n", "    computed: the moon\n", "structure", "computed"),
    ("id: add-by-superheat", "id: another", "file-name", "another.yaml"),
]


@pytest.mark.parametrize(("old", "new", "rule", "words"), WRONG)
def test_what_is_wrong_with_a_lesson_is_told_with_file_line_and_rule(
    tmp_path: Path, old: str, new: str, rule: str, words: str
) -> None:
    text = (FOLDER / "add-by-superheat.yaml").read_text(encoding="utf-8")
    assert old in text
    shutil.copytree(FOLDER / "orders", tmp_path / "orders")
    path = tmp_path / "add-by-superheat.yaml"
    path.write_text(text.replace(old, new), encoding="utf-8")

    faults = lint(path)

    assert any(fault.rule == rule and words in fault.message for fault in faults), [str(f) for f in faults]
    assert all(fault.file == str(path) and fault.line >= 1 for fault in faults)
    with pytest.raises(LessonError, match=r"add-by-superheat\.yaml:\d+:\d+: "):
        read_lesson(path)


def test_the_fault_stands_at_the_line_it_is_in(tmp_path: Path) -> None:
    text = (FOLDER / "connect-tight.yaml").read_text(encoding="utf-8")
    shutil.copytree(FOLDER / "orders", tmp_path / "orders")
    path = tmp_path / "connect-tight.yaml"
    path.write_text(text.replace("minimum: 80", "minimum: high"), encoding="utf-8")
    line = text[: text.index("minimum: 80")].count("\n") + 1

    assert [fault.line for fault in lint(path)] == [line]


def test_a_trouble_that_a_seed_may_draw_has_to_be_among_the_choices(tmp_path: Path) -> None:
    text = (FOLDER / "false-reading.yaml").read_text(encoding="utf-8")
    shutil.copytree(FOLDER / "orders", tmp_path / "orders")
    path = tmp_path / "false-reading.yaml"
    path.write_text(text.replace("    - gauge not at zero\n", "    - leak\n", 1), encoding="utf-8")

    assert [(fault.rule, "gauge not at zero" in fault.message) for fault in lint(path)] == [
        ("trouble-offered", True)
    ]


def test_an_order_may_stand_in_the_lesson_itself(tmp_path: Path) -> None:
    text = (FOLDER / "connect-tight.yaml").read_text(encoding="utf-8")
    order = (FOLDER / "orders" / "orifice-r410a.yaml").read_text(encoding="utf-8")
    inside = "order_here: |\n" + "".join(f"  {line}\n" if line else "\n" for line in order.splitlines())
    path = tmp_path / "connect-tight.yaml"
    path.write_text(text.replace("order: orders/orifice-r410a.yaml\n", inside), encoding="utf-8")

    assert read_lesson(path).order.number == "LESSON-A"


@pytest.mark.parametrize(
    "name", ["../orifice-r410a.yaml", "/etc/passwd", "orders/../../secret.yaml", "a b.yaml"]
)
def test_an_order_is_never_taken_from_elsewhere(tmp_path: Path, name: str) -> None:
    text = (FOLDER / "connect-tight.yaml").read_text(encoding="utf-8")
    path = tmp_path / "connect-tight.yaml"
    path.write_text(text.replace("orders/orifice-r410a.yaml", name), encoding="utf-8")

    assert [fault.rule for fault in lint(path)] == ["structure"]


def test_a_real_order_is_refused_for_practice(tmp_path: Path) -> None:
    shutil.copytree(FOLDER / "orders", tmp_path / "orders")
    order = tmp_path / "orders" / "orifice-r410a.yaml"
    order.write_text(order.read_text(encoding="utf-8").replace("nature: practice", "nature: real"))
    path = tmp_path / "connect-tight.yaml"
    shutil.copy(FOLDER / "connect-tight.yaml", path)

    assert [fault.rule for fault in lint(path)] == ["practice-order"]


def test_a_file_that_is_not_there_is_told_in_one_line(tmp_path: Path) -> None:
    for path in (tmp_path / "none.yaml", tmp_path):
        with pytest.raises(LessonError, match="give the path of a lesson file") as raised:
            lint(path)
        assert str(raised.value).isprintable()


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_any_file_is_read_or_refused_in_words(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    text = (FOLDER / "false-reading.yaml").read_text(encoding="utf-8").splitlines()
    cut = data.draw(st.integers(0, len(text) - 1))
    kind = data.draw(st.sampled_from(["drop", "swap", "junk", "bytes"]))
    lines = list(text)
    if kind == "drop":
        del lines[cut]
    elif kind == "swap":
        other = data.draw(st.integers(0, len(text) - 1))
        lines[cut], lines[other] = lines[other], lines[cut]
    elif kind == "junk":
        lines[cut] = lines[cut].partition(":")[0] + ": " + data.draw(st.text(max_size=40))
    whole = "\n".join(lines).encode("utf-8", "replace")
    if kind == "bytes":
        whole = data.draw(st.binary(max_size=200)) + whole
    folder = tmp_path_factory.mktemp("lesson")
    shutil.copytree(FOLDER / "orders", folder / "orders")
    path = folder / "false-reading.yaml"
    path.write_bytes(whole)

    for fault in lint(path):
        assert str(fault).isprintable()
        assert fault.rule


@EACH
@given(seed=st.integers(0, 2_147_483_647))
def test_a_seed_draws_the_same_every_time_and_within_what_the_lesson_says(path: Path, seed: int) -> None:
    lesson = ready(path.stem).lesson
    drawn = draw(lesson, seed)

    assert drawn == draw(lesson, seed)
    assert lesson.start.low <= drawn.start_fraction <= lesson.start.high
    assert len(drawn.faults) == len(lesson.faults) + lesson.draw_count
    spans = {(each.fault, each.where): each.grade for each in (*lesson.faults, *lesson.draw_from)}
    for graded in drawn.faults:
        span = spans[(graded.fault, graded.where)]
        assert span.low <= graded.grade <= span.high
    if lesson.weather is not None:
        assert drawn.weather is not None
        assert drawn.weather.indoor_wb_K <= drawn.weather.indoor_db_K
        outdoor = lesson.weather.outdoor_K
        assert outdoor.low - 0.01 <= drawn.weather.outdoor_K <= outdoor.high + 0.01
    if lesson.conclusion is not None:
        assert trouble_of(lesson, drawn) in lesson.conclusion.choices


def test_different_seeds_draw_different_runs() -> None:
    lesson = read_lesson(FOLDER / "which-is-it.yaml").lesson
    assert {trouble_of(lesson, draw(lesson, seed)) for seed in range(60)} == {
        "low indoor airflow", "dirty condenser", "liquid-line restriction", "non-condensables",
        "compressor valve leak",
    }  # fmt: skip


@pytest.mark.parametrize("seed", [-1, 2_147_483_648])
def test_a_seed_out_of_range_is_refused(seed: int) -> None:
    with pytest.raises(ValueError, match="a seed lies between 0 and 2147483647"):
        draw(read_lesson(SHIPPED[0]).lesson, seed)


def test_every_point_of_a_rubric_says_what_loses_it() -> None:
    for path in SHIPPED:
        shown = lines(ready(path.stem).lesson)
        assert sum(line.points for line in shown) == 100
        assert all(line.loses and line.points > 0 for line in shown)
        assert shown[0].item is Item.SAFETY


def test_the_procedures_named_are_shipped() -> None:
    assert all(load(ready(path.stem).order.procedure) for path in SHIPPED)
