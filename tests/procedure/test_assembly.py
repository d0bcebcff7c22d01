"""Common parts: put together they read as one file, and their faults stand where they were written."""

from __future__ import annotations

import os
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.procedure import library
from guide.procedure.canonical import canonical
from guide.procedure.faults import Fault, ProcedureError
from guide.procedure.model import Choose, Condition, Confirm, Part, Procedure, Sign
from guide.procedure.parts import folder
from guide.procedure.reader import check, check_file, read_procedure, read_procedure_file
from guide.procedure.strict_yaml import Node, read_yaml
from tests.procedure.shipped import FOLDER, PATH, TEXT
from tests.procedure.test_strict_yaml import HOSTILE

HEAD = """\
format: procedure/1
id: whole
title: A whole
revision: "1"
status: approved
approved: {date: "2026-11-25", by: the test}
applies:
  - {fact: safety group, is: [A1, A2L]}
sources: {mine: a paper}
parts:
"""
SIGNED = """\
  - id: sign
    title: Sign
    steps:
      - {id: "NUMBER.1", do: SIGN the record., sign: {meaning: I did it.}}
on_abort:
  id: abort
  title: Break off
  steps:
    - {id: "A.1", do: CLOSE the valve., confirm: {ask: How is it?, accept: [shut]}}
"""
LOOK = """\
id: look
title: Look
needs: [A lamp]
sources: {theirs: a book}
steps:
  - id: "1"
    do: LOOK at the coil.
    confirm: {ask: How is it?, accept: [clean, dirty], fact: coil}
  - id: "2"
    do: CLEAN the coil.
    when:
      - {fact: coil, is: [dirty]}
    confirm: {ask: How is it now?, accept: [clean now]}
"""


def whole(tmp_path: Path, use: str = "  - use: look\n", parts: Mapping[str, str] = {"look": LOOK}) -> Path:
    """A procedure of `use` and a signature in a folder with these common parts."""
    (tmp_path / "parts").mkdir(exist_ok=True)
    for name, text in parts.items():
        (tmp_path / "parts" / f"{name}.yaml").write_text(text, encoding="utf-8")
    path = tmp_path / "whole.yaml"
    number = str(use.count("  - ") + 1)
    path.write_text(HEAD + use + SIGNED.replace("NUMBER", number), encoding="utf-8")
    return path


def only_fault(path: Path) -> Fault:
    with pytest.raises(ProcedureError) as raised:
        read_procedure_file(path)
    (fault,) = raised.value.faults
    assert str(fault) == str(raised.value)
    assert str(fault).isprintable()
    return fault


def same(one: Procedure, other: Procedure) -> bool:
    """Whether two procedures say the same, whatever the text they came from."""
    return replace(one, source=b"", sha256="") == replace(other, source=b"", sha256="")


# -- what is put together -------------------------------------------------------------------


def test_the_shipped_procedure_is_the_one_written_out_by_hand() -> None:
    assert same(read_procedure_file(PATH), read_procedure(TEXT.encode(), "flat"))


def test_the_text_of_the_whole_is_complete_and_always_the_same() -> None:
    for name in library.list_procedures():
        one, two = library.load(name), read_procedure_file(FOLDER / f"{name}.yaml")
        assert one.source == two.source
        assert b"- use:" not in one.source
        assert read_procedure(one.source, "kept") == one


def test_steps_are_numbered_by_the_place_of_their_part(tmp_path: Path) -> None:
    procedure = read_procedure_file(whole(tmp_path))
    assert [step.id for _, step in procedure.steps()] == ["1.1", "1.2", "2.1"]
    assert procedure.needs == ("A lamp",)
    assert procedure.sources == (("mine", "a paper"), ("theirs", "a book"))


def test_a_common_part_can_end_a_job_that_is_broken_off(tmp_path: Path) -> None:
    step = '{id: "1", do: STOP the unit., confirm: {ask: What stopped?, accept: [all]}}'
    stop = f"id: stop\ntitle: Stop\nsteps:\n  - {step}\n"
    path = whole(tmp_path, parts={"look": LOOK, "stop": stop})
    text = path.read_text()
    path.write_text(text[: text.index("on_abort:")] + "on_abort: {use: stop}\n")
    assert [step.id for step in read_procedure_file(path).on_abort.steps] == ["A.1"]


def test_conditions_of_the_use_come_before_each_steps_own(tmp_path: Path) -> None:
    group = Condition("safety group", ("A2L",))
    path = whole(tmp_path, "  - use: look\n    when: [{fact: safety group, is: [A2L]}]\n")
    look, clean, sign = (step for _, step in read_procedure_file(path).steps())
    assert look.when == (group,)
    assert clean.when == (group, Condition("coil", ("dirty",)))
    assert sign.when == ()


def test_a_condition_that_stands_in_both_stands_once(tmp_path: Path) -> None:
    own = LOOK.replace(
        "do: LOOK at the coil.", "do: LOOK at it.\n    when: [{fact: safety group, is: [A2L]}]"
    )
    path = whole(tmp_path, "  - use: look\n    when: [{fact: safety group, is: [A2L]}]\n", {"look": own})
    (_, look), *_ = read_procedure_file(path).steps()
    assert look.when == (Condition("safety group", ("A2L",)),)


def test_a_part_beside_the_procedure_goes_before_a_shipped_one(tmp_path: Path) -> None:
    mine = LOOK.replace("id: look", "id: airways").replace("title: Look", "title: Mine")
    path = whole(tmp_path, "  - use: airways\n", {"airways": mine})
    assert read_procedure_file(path).parts[0].title == "Mine"


def test_shipped_parts_serve_a_procedure_anywhere(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_bytes(PATH.read_bytes())
    assert read_procedure_file(path) == read_procedure_file(PATH)


# -- faults stand where they were written ---------------------------------------------------

PARTS = {
    "no such part": ("use: absent", LOOK, "whole.yaml", 11, "there is no common part 'absent'; there are: "),
    "a path": ("use: ../look", LOOK, "whole.yaml", 11, "small letters"),
    "a path to the root": ("use: /etc/passwd", LOOK, "whole.yaml", 11, "small letters"),
    "no text": ("use: [look]", LOOK, "whole.yaml", 11, "small letters"),
    "capitals": ("use: Look", LOOK, "whole.yaml", 11, "small letters"),
    "a key beside": ("{use: look, title: Mine}", LOOK, "whole.yaml", 11, "'title' does not go with 'use'"),
    "conditions that are no list": ("{use: look, when: never}", LOOK, "whole.yaml", 11, "a list of at most"),
    "another file's part": ("use: look", LOOK.replace("id: look", "id: see"), "look.yaml", 1, "called look"),
    "a part that uses a part": ("use: look", LOOK + "  - use: look\n", "look.yaml", 14, "can't use another"),
    "a part that is a use": ("use: look", LOOK + "use: look\n", "look.yaml", 14, "can't use another"),
    "a full number": ("use: look", LOOK.replace('"2"', '"1.2"'), "look.yaml", 9, "its number in the part"),
    "a source told twice": (
        "use: look",
        LOOK.replace("theirs: a book", "mine: a book"),
        "look.yaml",
        4,
        "source 'mine' reads otherwise in",
    ),
    "sources as a list": ("use: look", LOOK.replace("{theirs: a book}", "[x]"), "look.yaml", 4, "its text"),
    "needs as text": ("use: look", LOOK.replace("[A lamp]", "A lamp"), "look.yaml", 3, "'needs' is a list"),
    "steps as text": (
        "use: look",
        LOOK[: LOOK.index("steps:")] + "steps: none\n",
        "look.yaml",
        5,
        "list of 1 to 60 steps",
    ),
    "no steps": ("use: look", LOOK[: LOOK.index("steps:")], "look.yaml", 1, "key 'steps' is missing"),
    "a list": ("use: look", "- id: look\n", "look.yaml", 1, "a common part begins with"),
    "an unknown key": ("use: look", LOOK + "colour: red\n", "look.yaml", 14, "key 'colour' is not known"),
    "a step with a slip": (
        "use: look",
        LOOK.replace("confirm: {ask: How is it?", "konfirm: {ask: How is it?"),
        "look.yaml",
        None,
        "",
    ),
    "broken YAML": ("use: look", LOOK.replace("[A lamp]", "[A lamp"), "look.yaml", None, "YAML"),
    "a fact nobody knows": (
        "use: look",
        LOOK.replace("fact: coil, is", "fact: moon, is"),
        "look.yaml",
        12,
        "fact 'moon' can't be known",
    ),
    "a fact nobody knows in the use": (
        "{use: look, when: [{fact: moon, is: [full]}]}",
        LOOK.replace("    when:\n      - {fact: coil, is: [dirty]}\n", ""),
        "whole.yaml",
        11,
        "fact 'moon' can't be known",
    ),
    "a condition against the procedure": (
        "{use: look, when: [{fact: safety group, is: [A3]}]}",
        LOOK.replace("    when:\n      - {fact: coil, is: [dirty]}\n", ""),
        "whole.yaml",
        11,
        "can never be reached",
    ),
    "a slip in the conditions of the use": (
        "{use: look, when: [{fact: safety group, is: [A2L], is_not: [A1]}]}",
        LOOK,
        "whole.yaml",
        11,
        "exactly one of 'is' and 'is_not'",
    ),
}


@pytest.mark.parametrize(("use", "part", "file", "line", "words"), PARTS.values(), ids=PARTS.keys())
def test_a_fault_names_the_file_and_line_where_its_author_wrote_it(
    tmp_path: Path, use: str, part: str, file: str, line: int | None, words: str
) -> None:
    path = whole(tmp_path, f"  - {use}\n", {"look": part})
    with pytest.raises(ProcedureError) as raised:
        read_procedure_file(path)
    fault = raised.value.faults[0]
    assert Path(fault.file).name == file
    assert line in (None, fault.line), fault
    assert words in fault.message
    assert str(fault).isprintable()
    assert check_file(path)


def test_bad_writing_in_a_part_is_told_in_the_part_once(tmp_path: Path) -> None:
    path = whole(tmp_path, parts={"look": LOOK.replace("accept: [clean now]", "accept: [OK]")})
    (fault,) = check_file(path)
    assert (Path(fault.file).name, fault.line, fault.rule) == ("look.yaml", 13, "answers-seen")
    read_procedure_file(path)


def test_a_part_points_to_no_step_by_its_number(tmp_path: Path) -> None:
    path = whole(tmp_path, parts={"look": LOOK.replace("ask: How is it?", "ask: How is it since step 1.1?")})
    (fault,) = check_file(path)
    assert (fault.rule, fault.line) == ("known-references", 8)


def test_a_part_used_twice_is_refused(tmp_path: Path) -> None:
    path = whole(tmp_path, "  - use: look\n  - use: look\n")
    assert {fault.rule for fault in check_file(path)} >= {"numbered-ids", "own-facts"}


def test_a_text_without_a_folder_says_that_it_has_to_be_complete(tmp_path: Path) -> None:
    path = whole(tmp_path)
    with pytest.raises(ProcedureError, match=r"^job:11:\d+: 'use' names a common part") as raised:
        read_procedure(path.read_bytes(), "job")
    assert [fault.rule for fault in raised.value.faults] == ["common-part"]
    assert check(path.read_bytes(), "job") == list(raised.value.faults)


def test_more_parts_than_a_procedure_has_are_not_fetched(tmp_path: Path) -> None:
    path = whole(tmp_path, "  - use: absent\n" * 5_000)
    fault = only_fault(path)
    assert "more than 20 parts" in fault.message


def test_a_part_that_would_never_end_when_read_is_none(tmp_path: Path) -> None:
    path = whole(tmp_path)
    (tmp_path / "parts" / "look.yaml").unlink()
    os.mkfifo(tmp_path / "parts" / "look.yaml")
    assert "there is no common part 'look'" in only_fault(path).message


def test_a_huge_part_is_not_read_whole(tmp_path: Path) -> None:
    path = whole(tmp_path)
    with (tmp_path / "parts" / "look.yaml").open("wb") as file:
        file.truncate(5_000_000_000)  # sparse: takes no room on the disk
    assert "bytes" in only_fault(path).message


def test_what_would_be_too_long_to_keep_is_refused(tmp_path: Path) -> None:
    """Each file is within its bounds, and the whole is not."""
    long = "x" * 900
    steps = "".join(
        f'  - id: "{n}"\n    do: LOOK at it.\n    why: {long}\n    confirm:\n      ask: What?\n'
        f"      accept: [a, b, c, d, e, f, g, h]\n      refuse: [no]\n      if_refused: {long}\n"
        for n in range(1, 61)
    )
    names = [f"part-{n}" for n in range(19)]
    parts = {name: f"id: {name}\ntitle: Part\nsteps:\n{steps}" for name in names}
    fault = only_fault(whole(tmp_path, "".join(f"  - use: {name}\n" for name in names), parts))
    assert "can't be kept" in fault.message
    assert "more than" in fault.message or "bytes" in fault.message


@pytest.mark.parametrize("data", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_parts_raise_only_the_procedure_error(tmp_path: Path, data: bytes) -> None:
    path = whole(tmp_path)
    (tmp_path / "parts" / "look.yaml").write_bytes(data)
    with pytest.raises(ProcedureError, match=r"look\.yaml:[0-9]+:[0-9]+: "):
        read_procedure_file(path)


# -- a common part by itself ----------------------------------------------------------------


@pytest.mark.parametrize("path", sorted((FOLDER / "parts").glob("*.yaml")), ids=lambda path: path.stem)
def test_every_shipped_part_has_no_fault_by_itself_and_is_used(path: Path) -> None:
    assert [str(fault) for fault in check_file(path)] == []
    assert any(f"use: {path.stem}" in one.read_text().replace("}", "\n") for one in FOLDER.glob("*.yaml"))


@pytest.mark.parametrize(
    ("old", "new", "rule", "line"),
    [
        ("do: LOOK at the coil.", "do: Look at the coil.", "verb-first", 7),
        ('id: "2"', 'id: "3"', "numbered-ids", 9),
        ('id: "2"', 'id: "1.2"', "structure", 9),
        ("title: Look\n", "", "structure", 1),
        (
            "confirm: {ask: How is it?",
            "reading: {channels: [{channel: moon}]}\n    why: {x: {x: x}",
            "structure",
            9,
        ),
        ("accept: [clean now]", "accept: [OK]", "answers-seen", 13),
        ("[A lamp]", "[A lamp", "yaml", 4),
    ],
)
def test_a_part_is_checked_by_itself(tmp_path: Path, old: str, new: str, rule: str, line: int) -> None:
    assert old in LOOK
    path = tmp_path / "look.yaml"
    path.write_text(LOOK.replace(old, new))
    fault = check_file(path, "mine")[0]
    assert (fault.file, fault.rule) == ("mine", rule)
    assert fault.line == line


# -- any split, any damage ------------------------------------------------------------------

FLAT = read_procedure(TEXT.encode(), "flat")
FLAT_TREE: Any = yaml.load(TEXT, Loader=yaml.BaseLoader)
PLACES: list[tuple[str | int, ...]] = [*(("parts", at) for at in range(len(FLAT.parts))), ("on_abort",)]


def _split(tree: Any, place: tuple[str | int, ...], *, outer: int, head: set[str]) -> tuple[str, Any]:
    """Takes the part at `place` out of the tree: its name, its file. `outer` conditions stay at the `use`."""
    holder = tree if place[0] == "on_abort" else tree["parts"]
    part = holder[place[-1]]
    wanted = [step.get("when", [])[:outer] for step in part["steps"]]
    common = wanted[0] if all(one == wanted[0] for one in wanted) else []
    steps = [{**step, "id": step["id"].split(".")[1]} for step in part["steps"]]
    for step in steps:
        step["when"] = step.get("when", [])[len(common) :]
        if not step["when"]:
            del step["when"]
    holder[place[-1]] = {"use": part["id"], **({"when": common} if common else {})}
    file = {"id": part["id"], "title": part["title"], "steps": steps}
    if "sources" in head:
        file["sources"] = dict(list(tree["sources"].items())[:2])
    if "needs" in head:
        file["needs"] = tree["needs"][:3]
    return part["id"], file


def _gives_on(part: Part) -> bool:
    """Whether later steps hang on this part: on a fact it sets, or as the end of the work."""
    proofs = [step.proof for step in part.steps]
    facts = [proof for proof in proofs if isinstance(proof, Confirm | Choose) and proof.fact is not None]
    return bool(facts) or any(isinstance(proof, Sign) for proof in proofs)


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_any_split_into_common_parts_reads_as_the_one_file(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    tree = deepcopy(FLAT_TREE)
    # conditions in front of some parts, so that a `use` has some to carry
    for part, model in zip(tree["parts"], FLAT.parts, strict=True):
        if not _gives_on(model) and data.draw(st.booleans()):
            group = {"fact": "safety group", "is": ["A1", "A2L"]}
            for step in part["steps"]:
                step["when"] = [group, *step.get("when", [])]
    flat = canonical(tree)
    taken = data.draw(st.sets(st.sampled_from(PLACES), min_size=1))
    folder_here = tmp_path_factory.mktemp("split")
    (folder_here / "parts").mkdir()
    for place in taken:
        head = data.draw(st.sets(st.sampled_from(["sources", "needs"])))
        name, file = _split(tree, place, outer=data.draw(st.integers(0, 2)), head=head)
        (folder_here / "parts" / f"{name}.yaml").write_bytes(canonical(file))
    path = folder_here / "whole.yaml"
    path.write_bytes(canonical(tree))
    assert same(read_procedure_file(path), read_procedure(flat, "flat"))


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_damaged_files_are_read_or_refused_with_the_procedure_error(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Lines removed, doubled and swapped at random in the procedure and in its parts."""
    here = tmp_path_factory.mktemp("damaged")
    (here / "parts").mkdir()
    files = [PATH, *sorted((FOLDER / "parts").glob("[acls]*.yaml"))]
    spoil = data.draw(st.sets(st.sampled_from(files), min_size=1, max_size=2))
    for file in files:
        lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
        if file in spoil:
            at, other = (data.draw(st.integers(0, len(lines) - 1)) for _ in range(2))
            match data.draw(st.sampled_from(["remove", "double", "swap", "cut", "use"])):
                case "remove":
                    lines.pop(at)
                case "double":
                    lines.insert(at, lines[other])
                case "swap":
                    lines[at], lines[other] = lines[other], lines[at]
                case "use":
                    lines[at] = lines[at][: len(lines[at]) - len(lines[at].lstrip())] + "use: safe\n"
                case _:
                    lines[at] = lines[at][: len(lines[at]) // 2] + "\n"
        (here / file.relative_to(FOLDER)).write_text("".join(lines), encoding="utf-8")
    found = check_file(here / PATH.name)
    assert all(Path(fault.file).is_relative_to(here) for fault in found)
    if any(fault.blocks for fault in found):
        with pytest.raises(ProcedureError) as raised:
            read_procedure_file(here / PATH.name)
        assert str(raised.value).isprintable()
    else:
        read_procedure_file(here / PATH.name)


_ANY = st.recursive(
    st.text(st.characters(codec="ascii", min_codepoint=32, max_codepoint=126), max_size=8)
    | st.sampled_from(["look", "1", "1.1", "A1", "true", "READ it.", "use"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["use", "when", "id", "steps", "sources", "needs", "fact", "is"]),
            inner,
            max_size=3,
        )
    ),
    max_leaves=6,
)


def _spoil(data: st.DataObject, node: Any) -> None:
    """Puts any value in any place of a tree."""
    while True:
        key = data.draw(st.sampled_from(list(node) if isinstance(node, dict) else list(range(len(node)))))
        if isinstance(node[key], dict | list) and node[key] and data.draw(st.booleans()):
            node = node[key]
            continue
        node[key] = data.draw(_ANY)
        return


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_value_in_any_place_of_use_and_part_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    use = "  - use: look\n    when: [{fact: safety group, is: [A2L]}]\n"
    trees: dict[str, Node] = {
        "whole": deepcopy(read_yaml((HEAD + use + SIGNED.replace("NUMBER", "2")).encode(), "whole").root),
        "parts/look": deepcopy(read_yaml(LOOK.encode(), "look").root),
    }
    for _ in range(data.draw(st.integers(1, 2))):
        _spoil(data, trees[data.draw(st.sampled_from(sorted(trees)))])
    here = tmp_path_factory.mktemp("any")
    (here / "parts").mkdir()
    for name, tree in trees.items():
        (here / f"{name}.yaml").write_bytes(canonical(tree))
    found = check_file(here / "whole.yaml")
    assert all(str(fault).isprintable() for fault in found)
    if not any(fault.blocks for fault in found):
        procedure = read_procedure_file(here / "whole.yaml")
        assert read_procedure(procedure.source, "kept") == procedure


def test_the_library_lists_procedures_and_no_parts() -> None:
    assert {path.stem for path in folder().glob("*.yaml")} == set(library.list_procedures())
