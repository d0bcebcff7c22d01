"""The reader gives a whole model or one error that a person understands."""

from __future__ import annotations

import json
from copy import deepcopy
from decimal import Decimal
from hashlib import sha256
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.procedure.faults import ProcedureError
from guide.procedure.model import Adjust, Bound, Choose, HazardWord, Limit, OrderFigure, Procedure, Wait
from guide.procedure.reader import check, read_procedure, read_procedure_file
from guide.procedure.schema import json_schema, part_schema
from guide.procedure.site import at_site, limit_at_site
from guide.units import Kind, Quantity, parse
from tests.procedure.shipped import PATH, TEXT, spoiled
from tests.procedure.test_strict_yaml import HOSTILE

PLAIN = yaml.safe_load(TEXT)
SCHEMA = PATH.with_name("procedure.schema.json")


@pytest.fixture(scope="module")
def procedure() -> Procedure:
    return read_procedure_file(PATH)


def test_the_procedure_carries_its_bytes_and_their_hash(procedure: Procedure) -> None:
    assert procedure.sha256 == sha256(procedure.source).hexdigest()
    assert read_procedure(procedure.source, "kept") == procedure
    flat = read_procedure(TEXT.encode(), "flat")
    assert flat.source == TEXT.encode()


def test_a_wait_is_in_seconds_and_its_limit_in_pascal(procedure: Procedure) -> None:
    proof = procedure.step("4.9").proof
    assert isinstance(proof, Wait)
    assert proof.at_least_s == 120
    assert proof.limits[0].bound is Bound.AT_MOST
    # 1000 micron of mercury = 133.3224 Pa (conventional mmHg, from memory)
    assert isinstance(proof.limits[0].value, Quantity)
    assert proof.limits[0].value.si == Decimal("133.3224")


def test_the_charging_loop_has_the_published_waits_and_tolerance(procedure: Procedure) -> None:
    """15 min between adjustments and 5 F of superheat: Title 24 RA3.2, 2008, pages 15-16 (FOUND)."""
    (proof,) = [step.proof for _, step in procedure.steps() if isinstance(step.proof, Adjust)]
    assert proof.settle_s == 900
    assert proof.tolerance is not None
    assert proof.tolerance.kind is Kind.TEMPERATURE_DIFFERENCE
    assert float(proof.tolerance.si) == pytest.approx(5 / 1.8, abs=1e-6)
    assert [ask.channel for ask in proof.channels] == [
        "suction_pressure",
        "suction_line",
        "liquid_pressure",
        "liquid_line",
        "indoor_db",
        "indoor_wb",
        "supply_db",
        "outdoor_db",
    ]


def test_pipe_sensors_are_given_their_published_time(procedure: Procedure) -> None:
    """Pipe sensors settle in 90 s, air sensors in 15 s: Title 24 RA3 2013 and 2008 (FOUND)."""
    proof = procedure.step("6.3").proof
    assert isinstance(proof, Adjust)
    settled = {ask.channel: ask.settled_s for ask in proof.channels}
    assert settled["suction_line"] >= 90
    assert settled["indoor_wb"] >= 15


def test_purging_is_offered_only_for_a1_where_release_is_allowed(procedure: Procedure) -> None:
    (proof,) = [step.proof for _, step in procedure.steps() if isinstance(step.proof, Choose)]
    sealed, purge, evacuate = proof.options
    conditions = {one.fact: one.values for one in purge.when}
    assert conditions["safety group"] == ("A1",)
    assert conditions["release when purging hoses"] == ("allowed",)
    assert sealed.when
    assert evacuate.when == ()


def test_every_step_where_covers_come_off_is_locked_and_proved_first(procedure: Procedure) -> None:
    do = [step.do for _, step in procedure.steps()]
    order = [
        "SWITCH the unit off at its control.",
        "LOCK the disconnect of the unit open.",
        "PROVE the voltage tester on a known live source.",
        "TEST every conductor against every other and against earth.",
        "PROVE the voltage tester again on the known live source.",
        "REFIT every panel.",
        "UNLOCK the disconnect.",
        "START the unit in cooling.",
    ]
    assert [do.index(line) for line in order] == sorted(do.index(line) for line in order)
    held = {step.do for _, step in procedure.steps() if step.hold}
    assert set(order[1:5]) <= held


def test_airflow_and_coils_come_before_charge(procedure: Procedure) -> None:
    ids = [part.id for part in procedure.parts]
    assert ids == ["brief", "safe", "airways", "connect", "run-in", "charge-by-superheat", "leave", "sign"]


def test_hazards_keep_their_words(procedure: Procedure) -> None:
    assert procedure.step("2.9").hazards[0].word is HazardWord.DANGER


def test_a_draft_is_read_but_told() -> None:
    text = spoiled(TEXT[TEXT.index("status:") : TEXT.index("applies:")], "status: draft\n")
    assert read_procedure(text.encode(), "x").status == "draft"
    assert [fault.rule for fault in check(text.encode(), "x")] == ["draft"]


def test_bad_writing_is_read_but_told() -> None:
    text = spoiled("do: READ the nameplate of the outdoor unit.", "do: Nameplate first.")
    read_procedure(text.encode(), "x")


def test_impossible_logic_is_not_read() -> None:
    text = spoiled("fact: hose set\n", "fact: receiver\n")
    with pytest.raises(ProcedureError, match=r"^x:[0-9]+:[0-9]+: "):
        read_procedure(text.encode(), "x")


def test_an_error_is_one_line_with_its_place() -> None:
    text = spoiled("channel: hose_vacuum", "channel: hose_vacum")
    with pytest.raises(ProcedureError) as raised:
        read_procedure(text.encode(), "job.yaml")
    line = next(n for n, one in enumerate(text.splitlines(), start=1) if "hose_vacum," in one)
    assert str(raised.value).startswith(f"job.yaml:{line}:")
    assert "hose_vacuum" in str(raised.value)
    assert str(raised.value).isprintable()


def test_a_file_that_is_not_there_is_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(ProcedureError, match="can't be read"):
        read_procedure_file(tmp_path / "absent.yaml")
    with pytest.raises(ProcedureError, match="can't be read"):
        read_procedure_file(tmp_path)
    with pytest.raises(ProcedureError):
        read_procedure_file(tmp_path / "nul\0byte.yaml")


def test_a_huge_file_is_not_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "huge.yaml"
    with path.open("wb") as file:
        file.truncate(5_000_000_000)  # sparse: takes no room on the disk
    with pytest.raises(ProcedureError, match="bytes"):
        read_procedure_file(path)


@pytest.mark.parametrize("data", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_files_raise_only_the_procedure_error(data: bytes) -> None:
    with pytest.raises(ProcedureError, match=r"^bad\.yaml:[0-9]+:[0-9]+: "):
        read_procedure(data, "bad.yaml")


def _read_or_refuse(data: bytes) -> None:
    try:
        read_procedure(data, "x")
    except ProcedureError as error:
        said = str(error)
    else:
        said = "x: read"
    assert said.startswith("x:")
    assert said.isprintable()


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_shuffled_procedure_is_read_or_refused_with_the_procedure_error(data: st.DataObject) -> None:
    """Lines of the shipped file removed, doubled and swapped at random."""
    lines = TEXT.splitlines(keepends=True)
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        other = data.draw(st.integers(0, len(lines) - 1))
        match data.draw(st.sampled_from(["remove", "double", "swap", "cut"])):
            case "remove":
                lines.pop(at)
            case "double":
                lines.insert(at, lines[other])
            case "swap":
                lines[at], lines[other] = lines[other], lines[at]
            case _:
                lines[at] = lines[at][: len(lines[at]) // 2] + "\n"
    _read_or_refuse("".join(lines).encode())


_ANY = st.recursive(
    st.text(max_size=8) | st.sampled_from(["2 min", "A1", "true", "1.1", "READ it."]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_value_in_any_place_is_read_or_refused(data: st.DataObject) -> None:
    document = deepcopy(PLAIN)
    node = document
    while True:
        keys = list(node) if isinstance(node, dict) else list(range(len(node)))
        key = data.draw(st.sampled_from(keys))
        if isinstance(node[key], dict | list) and node[key] and data.draw(st.booleans()):
            node = node[key]
            continue
        node[key] = data.draw(_ANY)
        break
    text = json.dumps(document, ensure_ascii=False).replace("}, ", "},\n").replace(", ", ",\n")
    _read_or_refuse(text.encode("utf-8", "replace"))


def test_the_published_schemas_are_in_step() -> None:
    assert json.loads(SCHEMA.read_text(encoding="utf-8")) == json_schema()
    assert json.loads(SCHEMA.with_name("part.schema.json").read_text(encoding="utf-8")) == part_schema()


@pytest.mark.parametrize("path", sorted(PATH.parent.glob("*.yaml")), ids=lambda path: path.stem)
def test_the_published_schema_takes_what_is_shipped_as_any_yaml_reader_sees_it(path: Path) -> None:
    jsonschema.Draft202012Validator.check_schema(json_schema())
    judge = jsonschema.Draft202012Validator(json_schema())
    judge.validate(yaml.safe_load(path.read_bytes()))
    judge.validate(yaml.safe_load(read_procedure_file(path).source))


@pytest.mark.parametrize("path", sorted(PATH.parent.glob("parts/*.yaml")), ids=lambda path: path.stem)
def test_the_published_schema_of_parts_takes_each_shipped_part(path: Path) -> None:
    jsonschema.Draft202012Validator.check_schema(part_schema())
    jsonschema.Draft202012Validator(part_schema()).validate(yaml.safe_load(path.read_bytes()))


@pytest.mark.parametrize("schema", [json_schema(), part_schema()], ids=["procedure", "part"])
def test_the_published_schemas_describe_every_field(schema: dict[str, Any]) -> None:
    for name, definition in {**schema["$defs"], "procedure": schema}.items():
        assert definition.get("description"), name
        for key, entry in definition["properties"].items():
            assert entry.get("description"), f"{name}.{key}"
        assert definition["additionalProperties"] is False


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("hold: true", "halt: true"),
        ("hold: true", "hold: perhaps"),
        ("is: [none]}", "is: [none], is_not: [fitted]}"),
        ("- WARNING: Liquid refrigerant", "- ATTENTION: Liquid refrigerant"),
        ("        confirm:\n", "        sign: {meaning: x}\n        confirm:\n"),
        ("format: procedure/1", "format: procedure/9"),
        ("at_most: 1000 micron", "at_most: {order: nameplate_charge}"),
        ("at_most: 1000 micron", "at_most: {figure: recovery_level}"),
        ("applies:\n", "needs_order: [licence]\napplies:\n"),
    ],
)
def test_schema_and_reader_refuse_alike(old: str, new: str) -> None:
    text = spoiled(old, new)
    assert not jsonschema.Draft202012Validator(json_schema()).is_valid(yaml.safe_load(text))
    with pytest.raises(ProcedureError):
        read_procedure(text.encode(), "x")


def test_a_gauge_limit_follows_the_site() -> None:
    limit = Limit(
        "test_pressure",
        Bound.AT_LEAST,
        parse("150 psig", Kind.PRESSURE, site_pressure_Pa=Decimal(101_325)),
        "common practice, no source",
    )
    high = limit_at_site(limit, Decimal(84_300))
    assert isinstance(limit.value, Quantity)
    assert isinstance(high.value, Quantity)
    assert limit.value.si - high.value.si == Decimal(101_325 - 84_300)


def test_a_figure_of_the_order_stays_one_at_any_site() -> None:
    limit = Limit("test_pressure", Bound.AT_MOST, OrderFigure.LOW_SIDE_DESIGN_PRESSURE, "nameplate")
    assert limit_at_site(limit, Decimal(84_300)) == limit


def test_an_absolute_limit_holds_anywhere() -> None:
    vacuum = parse("500 micron", Kind.PRESSURE)
    assert at_site(vacuum, Decimal(84_300)) == vacuum
