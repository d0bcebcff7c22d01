"""The only way in for a procedure file: strict YAML, then structure, then meaning, then the rules.

`check` tells everything that is wrong; `read_procedure` refuses what can't be worked and lets bad
writing and drafts through to the caller, who decides what to do with them. Bytes have to be complete; a
file may name common parts (`use:`), which are put in their places first.
"""

from __future__ import annotations

from pathlib import Path as FilePath

from pydantic import ValidationError

from guide.procedure.assembly import Fetch, assemble, refused_uses, uses
from guide.procedure.build import Builder
from guide.procedure.canonical import canonical
from guide.procedure.checker import RULES
from guide.procedure.faults import Fault, ProcedureError, fault_at
from guide.procedure.model import Part, Procedure
from guide.procedure.parts import beside, is_part, read_bytes
from guide.procedure.schema import CommonPartFile, ProcedureFile
from guide.procedure.step_file import FLAGS
from guide.procedure.strict_yaml import Document, Path, YamlRefused, read_yaml
from guide.procedure.structure import existing, told
from guide.procedure.tree import Tree, tree_of

_MOST_FAULTS = 200


def read_procedure(data: bytes, name: str) -> Procedure:
    """The procedure in the bytes of the file called `name`; they use no common parts.

    Raises:
        ProcedureError: it can't be worked; the message names the first place, `faults` holds them all.
    """
    return _usable(*_examine(data, name, None))


def read_procedure_file(path: FilePath) -> Procedure:
    """The procedure in a file, with the common parts it uses.

    A part NAME is the file `parts/NAME.yaml` beside it, or else one shipped with the program. The text of
    the whole (`source`) is that of the file where it uses none.

    Raises:
        ProcedureError: it can't be opened or can't be worked.
    """
    return _usable(*_examine(read_bytes(path), str(path), beside(path)))


def check(data: bytes, name: str) -> list[Fault]:
    """Everything wrong with the bytes of the file called `name`, in the order of the file."""
    return _examine(data, name, None)[1]


def check_file(path: FilePath, name: str | None = None) -> list[Fault]:
    """Everything wrong with a file, which is called `name` in what is told, and with the parts it uses.

    A common part may be checked by itself; whether its conditions can be met shows only where it is used.

    Raises:
        ProcedureError: it can't be opened.
    """
    data = read_bytes(path)
    called = str(path) if name is None else name
    return _examine_part(data, called) if is_part(data) else _examine(data, called, beside(path))[1]


def _usable(procedure: Procedure | None, faults: list[Fault]) -> Procedure:
    blocking = tuple(fault for fault in faults if fault.blocks)
    if blocking or procedure is None:
        more = f" (and {len(blocking) - 1} more)" if len(blocking) > 1 else ""
        raise ProcedureError(f"{blocking[0]}{more}", blocking)
    return procedure


def _examine(data: bytes, name: str, fetch: Fetch | None) -> tuple[Procedure | None, list[Fault]]:
    try:
        document = read_yaml(data, name)
    except YamlRefused as error:
        return None, [fault_at(error.name, error.mark, "yaml", error.problem)]
    tree, source = tree_of(document), data
    faults: list[Fault] = []
    if any(uses(document.root)):
        if fetch is None:
            return None, _sorted(refused_uses(document))
        tree, faults = assemble(document, fetch)
        if any(fault.blocks for fault in faults):
            return None, _sorted(faults)
    try:
        file = ProcedureFile.model_validate(tree.root)
    except ValidationError as error:
        return None, _sorted([*faults, *_structure_faults(tree, error)])
    if tree.root is not document.root:
        source = canonical(tree.root, flags=FLAGS)
        faults += _too_long(document, source)
    builder = Builder()
    procedure = builder.procedure(file, source)
    found = [_found(tree, f.path, f.rule, f.message) for f in builder.findings]
    if found or any(fault.blocks for fault in faults):
        return None, _sorted([*faults, *found])
    faults += [
        _found(tree, path, rule.name, message, blocks=rule.blocks)
        for rule in RULES
        for path, message in rule.judge(procedure)
    ]
    return procedure, _sorted(faults)


def _examine_part(data: bytes, name: str) -> list[Fault]:
    tree = tree_of(read_yaml(data, name))
    try:
        file = CommonPartFile.model_validate(tree.root)
    except ValidationError as error:
        return _sorted(_structure_faults(tree, error))
    builder = Builder()
    part = builder.part(file, ())
    if builder.findings:
        return _sorted([_found(tree, f.path, f.rule, f.message) for f in builder.findings])
    alone = Procedure(
        id=file.id, title=file.title, revision="", status="", approved_on="", approved_by="", applies=(),
        needs=file.needs, needs_order=file.needs_order, sources=tuple(file.sources.items()),
        parts=(part,), on_abort=Part("", "", ()), sha256="", source=b"",
    )  # fmt: skip
    faults = [
        # what stands before a path is the place of the part in a procedure
        _found(tree, path[2:], rule.name, message, blocks=rule.blocks)
        for rule in RULES
        if not rule.whole
        for path, message in rule.judge(alone)
    ]
    faults += [
        _found(tree, ("steps", at, "id"), "numbered-ids", f"step '{step.id}' stands where {at + 1} belongs")
        for at, step in enumerate(part.steps)
        if step.id != str(at + 1)
    ]
    return _sorted(faults)


def _too_long(document: Document, source: bytes) -> list[Fault]:
    """The assembled text is kept with the job and read again, under the same bounds as any other."""
    try:
        read_yaml(source, document.name)
    except YamlRefused as error:
        return [
            fault_at(
                document.name, document.at(("parts",)), "common-part",
                f"with its common parts the text can't be kept: {error.problem}",
            )
        ]  # fmt: skip
    return []


def _found(tree: Tree, path: Path, rule: str, message: str, *, blocks: bool = True) -> Fault:
    place = tree.at(path)
    return fault_at(place.file, place.mark, rule, message, blocks=blocks)


def _sorted(faults: list[Fault]) -> list[Fault]:
    # conditions of a `use` stand in every step, so the same fault of theirs would be told for each
    once = dict.fromkeys(faults)
    return sorted(once, key=lambda fault: (fault.file, fault.line, fault.column, fault.rule))[:_MOST_FAULTS]


def _structure_faults(tree: Tree, error: ValidationError) -> list[Fault]:
    faults = []
    details = error.errors(include_url=False, include_context=False, include_input=False)
    inside = {detail["loc"][:length] for detail in details for length in range(len(detail["loc"]))}
    for detail in details:
        if detail["type"] == "too_short" and detail["loc"] in inside:
            continue  # it has entries, and each of those is told
        path = existing(tree.places, detail["loc"])
        faults.append(_found(tree, path, "structure", told(detail, path)))
    return faults
