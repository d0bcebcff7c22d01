"""What may stand in the PDF below a record's form: pages that show the same to everyone, and nothing else.

A signed page can still lie if it may change by itself: scripts, actions that start something,
layers that can be switched off [the attacks known as "shadow attacks"; MEMORY]. A base that
holds any of these is refused when the form is made and again when a record is checked.
"""

from guide.record.pdf_revisions import Revision
from guide.record.pdf_syntax import Name, PdfSyntaxError, Value, read_object, skip_space

_ACTIVE_KEYS = frozenset(
    (
        "AA",
        "AcroForm",
        "AF",
        "EmbeddedFiles",
        "JS",
        "JavaScript",
        "OCProperties",
        "OpenAction",
        "Perms",
        "XFA",
    )
)
_HARMLESS_ACTIONS = frozenset(("GoTo", "URI"))
_REFUSED_TYPES = frozenset(("ObjStm", "XRef", "Sig", "EmbeddedFile", "Filespec", "OCG", "OCMD"))


def _refuse_active(value: Value, at: int) -> None:
    waiting = [value]
    while waiting:
        item = waiting.pop()
        if isinstance(item, list):
            waiting.extend(item)
        if not isinstance(item, dict):
            continue
        for key in item:
            if key in _ACTIVE_KEYS:
                raise PdfSyntaxError(at, f"the pages hold something that can act or hide (/{key})")
        kind, action = item.get("Type"), item.get("S")
        if isinstance(kind, Name) and kind in _REFUSED_TYPES:
            raise PdfSyntaxError(at, f"the pages hold an object that has no place there (/{kind})")
        if kind == "Action" and action not in _HARMLESS_ACTIONS:
            raise PdfSyntaxError(at, "the pages hold an action that does more than open a link")
        waiting.extend(item.values())


def refuse_unplain_base(pdf: bytes, base: Revision) -> None:
    """Read every object of the base and refuse what is hidden, left over or able to act.

    Raises:
        PdfSyntaxError: at the first such thing.
    """
    if "Encrypt" in base.trailer or "XRefStm" in base.trailer:
        raise PdfSyntaxError(base.table_at, "the pages are encrypted or kept in a compressed form")
    at = skip_space(pdf, 0)
    left = dict(base.offsets)
    while at < base.table_at:
        found = read_object(pdf, at)
        if left.pop(found.number, None) != at:
            raise PdfSyntaxError(at, f"object {found.number} stands where the table does not say")
        _refuse_active(found.value, at)
        at = skip_space(pdf, found.end)
    if left or at != base.table_at:
        raise PdfSyntaxError(base.table_at, "the table lists objects that do not stand in the file")
