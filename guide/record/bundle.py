"""What rides inside a record: everything that a stranger needs to reach its figures again.

`log.ndjson`       the job's events, canonical bytes, one a line, up to its closing event
`checkpoints.txt`  signed notes of the log's head, oldest first, each ended by a line of equals signs
`proofs.json`      for each event an inclusion proof in the last checkpoint; between neighbouring
                   checkpoints a consistency proof (RFC 9162); hashes stand once, in `nodes`
`blobs.ndjson`     texts and personal data with their salts; a withheld one is simply absent
`procedure.yaml`, `order.yaml`, `curve.json`   the very bytes the job was worked with
`manifest.json`    format, program, libraries, paper, SHA-256 of each file, the record before an amendment

Reading is bounded in every direction; what comes out is well formed and nothing more. Whether it
is true is for `guide.record.verify`.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from guide.errors import ChargewrightError
from guide.journal.blob import BadBlob, Blob
from guide.journal.canonical import CanonicalError, Json, canonical, require_canonical
from guide.journal.event import BadEvent, Event

FORMAT = "chargewright-record-1"
LOG, CHECKPOINTS, PROOFS, BLOBS = "log.ndjson", "checkpoints.txt", "proofs.json", "blobs.ndjson"
PROCEDURE, ORDER, CURVE, MANIFEST = "procedure.yaml", "order.yaml", "curve.json", "manifest.json"
NAMES = (BLOBS, CHECKPOINTS, CURVE, LOG, MANIFEST, ORDER, PROCEDURE, PROOFS)
MEDIA = {
    LOG: "application/x-ndjson", BLOBS: "application/x-ndjson", CHECKPOINTS: "text/plain",
    PROOFS: "application/json", MANIFEST: "application/json", CURVE: "application/json",
    PROCEDURE: "application/yaml", ORDER: "application/yaml",
}  # fmt: skip
MEANING = {
    LOG: "Events of the job", BLOBS: "Texts the events refer to", CHECKPOINTS: "Signed heads of the log",
    PROOFS: "Proofs of inclusion and consistency", MANIFEST: "What is in this record",
    CURVE: "Saturation curve", PROCEDURE: "Procedure", ORDER: "Order",
}  # fmt: skip

MOST_EVENTS = 50_000  # PROPOSED
MOST_CHECKPOINTS = 2_000  # PROPOSED
_LARGEST_FILE = 48 * 1024 * 1024
_END_OF_NOTE = "=\n"
_SHA = re.compile(r"[0-9a-f]{64}")


class BadBundle(ChargewrightError):
    """The files inside a record are not in their form."""


@dataclass(frozen=True, slots=True)
class Made:
    """With what the pages were made: the same versions lay the same pages out again, to the byte."""

    program: str
    libraries: Mapping[str, str]
    page_size: str


@dataclass(frozen=True, slots=True)
class Proofs:
    """Proofs against the last checkpoint: by event `seq`, and from each checkpoint's size to the next."""

    size: int
    inclusion: Mapping[int, tuple[bytes, ...]]
    consistency: tuple[tuple[int, int, tuple[bytes, ...]], ...]


@dataclass(frozen=True, slots=True)
class Bundle:
    """The files of a record, read."""

    made: Made
    job: str
    log: str
    previous: str | None
    lines: tuple[bytes, ...]
    events: tuple[Event, ...]
    checkpoints: tuple[str, ...]
    proofs: Proofs
    blobs: Mapping[str, Blob]
    procedure: bytes
    order: bytes
    curve: bytes

    def text(self, ref: str | None) -> str:
        """The text behind a reference, or words that say it was withheld."""
        if ref is None:
            return ""
        blob = self.blobs.get(ref)
        return "[withheld]" if blob is None else blob.text


def write_bundle(bundle: Bundle) -> dict[str, bytes]:
    """The files of a record by name, the manifest among them."""
    nodes: dict[bytes, int] = {}

    def numbers(proof: Iterable[bytes]) -> list[Json]:
        return [nodes.setdefault(node, len(nodes)) for node in proof]

    inclusion = [[seq, *numbers(proof)] for seq, proof in sorted(bundle.proofs.inclusion.items())]
    consistency = [[old, new, *numbers(proof)] for old, new, proof in bundle.proofs.consistency]
    files = {
        LOG: b"".join(line + b"\n" for line in bundle.lines),
        CHECKPOINTS: "".join(note + _END_OF_NOTE for note in bundle.checkpoints).encode(),
        PROOFS: canonical(
            {
                "size": bundle.proofs.size,
                "nodes": [node.hex() for node in nodes],
                "inclusion": inclusion,
                "consistency": consistency,
            }
        ),
        BLOBS: b"".join(_blob_line(blob) + b"\n" for _, blob in sorted(bundle.blobs.items())),
        PROCEDURE: bundle.procedure,
        ORDER: bundle.order,
        CURVE: bundle.curve,
    }
    files[MANIFEST] = canonical(
        {
            "format": FORMAT,
            "program": bundle.made.program,
            "libraries": dict(bundle.made.libraries),
            "page_size": bundle.made.page_size,
            "job": bundle.job,
            "log": bundle.log,
            "previous": bundle.previous,
            "files": {name: hashlib.sha256(data).hexdigest() for name, data in files.items()},
        }
    )
    return files


def _blob_line(blob: Blob) -> bytes:
    return canonical({"ref": blob.ref, "salt": base64.b64encode(blob.salt).decode(), "text": blob.text})


def read_bundle(files: Mapping[str, bytes]) -> Bundle:
    """Read the files of a record strictly.

    Raises:
        BadBundle: a file is missing, too many, too large, not in its form, or not what the
            manifest says.
    """
    names = ", ".join(sorted(set(files) ^ set(NAMES)))
    if names:
        raise BadBundle(f"the attachments are not exactly those of a record: {names[:200]}")
    if any(len(data) > _LARGEST_FILE for data in files.values()):
        raise BadBundle(f"an attachment is larger than {_LARGEST_FILE} bytes")
    manifest = _manifest(files)
    lines = _lines(files[LOG], LOG, MOST_EVENTS)
    return Bundle(
        made=Made(_text(manifest, "program"), _texts(manifest["libraries"]), _text(manifest, "page_size")),
        job=_text(manifest, "job"),
        log=_text(manifest, "log"),
        previous=_previous(manifest["previous"]),
        lines=lines,
        events=_events(lines),
        checkpoints=_notes(files[CHECKPOINTS]),
        proofs=_proofs(files[PROOFS]),
        blobs=_blobs(files[BLOBS]),
        procedure=files[PROCEDURE],
        order=files[ORDER],
        curve=files[CURVE],
    )


def _object(data: bytes, name: str, keys: set[str]) -> dict[str, Json]:
    try:
        value = require_canonical(data, _LARGEST_FILE)
    except CanonicalError as error:
        raise BadBundle(f"{name}: {error}") from error
    if not isinstance(value, dict) or value.keys() != keys:
        raise BadBundle(f"{name}: its members are not exactly {', '.join(sorted(keys))}")
    return value


def _manifest(files: Mapping[str, bytes]) -> dict[str, Json]:
    keys = {"format", "program", "libraries", "page_size", "job", "log", "previous", "files"}
    manifest = _object(files[MANIFEST], MANIFEST, keys)
    if manifest["format"] != FORMAT:
        raise BadBundle(
            f"{MANIFEST}: format {str(manifest['format'])[:40]!r} is not known here; this one reads {FORMAT}"
        )
    for name in NAMES:
        if (
            name != MANIFEST
            and _texts(manifest["files"]).get(name) != hashlib.sha256(files[name]).hexdigest()
        ):
            raise BadBundle(f"{name} is not the file that the manifest names: its SHA-256 is another")
    if len(_texts(manifest["files"])) != len(NAMES) - 1:
        raise BadBundle(f"{MANIFEST}: names files that a record does not carry")
    return manifest


def _text(manifest: Mapping[str, Json], key: str) -> str:
    value = manifest[key]
    if not isinstance(value, str) or not 0 < len(value) <= 200:
        raise BadBundle(f"{MANIFEST}: {key} is not a short text")
    return value


def _texts(value: Json) -> dict[str, str]:
    if not isinstance(value, Mapping) or len(value) > 20:
        raise BadBundle(f"{MANIFEST}: a list of names and texts is damaged")
    texts = {str(key): item for key, item in value.items() if isinstance(item, str) and len(item) <= 200}
    if len(texts) != len(value):
        raise BadBundle(f"{MANIFEST}: a list of names and texts is damaged")
    return texts


def _previous(value: Json) -> str | None:
    if value is None or (isinstance(value, str) and _SHA.fullmatch(value)):
        return value
    raise BadBundle(f"{MANIFEST}: previous is not a SHA-256")


def _lines(data: bytes, name: str, most: int) -> tuple[bytes, ...]:
    if not data:
        return ()
    if not data.endswith(b"\n"):
        raise BadBundle(f"{name}: cut inside its last line")
    lines = tuple(data[:-1].split(b"\n"))
    if len(lines) > most:
        raise BadBundle(f"{name}: more than {most} lines")
    return lines


def _events(lines: Iterable[bytes]) -> tuple[Event, ...]:
    events = []
    for number, line in enumerate(lines, start=1):
        try:
            events.append(Event.from_bytes(line))
        except BadEvent as error:
            raise BadBundle(f"{LOG}, line {number}: {error}") from error
    return tuple(events)


def read_log(data: bytes) -> tuple[Event, ...]:
    """The events of a log file, each from its canonical bytes.

    Raises:
        BadBundle: a line is not an event in canonical form, or the file is too long.
    """
    if len(data) > _LARGEST_FILE:
        raise BadBundle(f"{LOG}: larger than {_LARGEST_FILE} bytes")
    return _events(_lines(data, LOG, MOST_EVENTS))


def _notes(data: bytes) -> tuple[str, ...]:
    try:
        text = data.decode()
    except UnicodeDecodeError:
        raise BadBundle(f"{CHECKPOINTS}: not UTF-8") from None
    notes = text.split("\n" + _END_OF_NOTE)
    if notes.pop() or not notes or len(notes) > MOST_CHECKPOINTS:
        raise BadBundle(f"{CHECKPOINTS}: not 1 to {MOST_CHECKPOINTS} notes, each ended by a line =")
    return tuple(note + "\n" for note in notes)


def _proofs(data: bytes) -> Proofs:
    value = _object(data, PROOFS, {"size", "nodes", "inclusion", "consistency"})
    size, hexes = value["size"], value["nodes"]
    if not _is_count(size) or not isinstance(hexes, list):
        raise BadBundle(f"{PROOFS}: size or nodes are not in their form")
    if not all(isinstance(node, str) and _SHA.fullmatch(node) for node in hexes):
        raise BadBundle(f"{PROOFS}: a node is not a hash in hexadecimal")
    nodes = [bytes.fromhex(str(node)) for node in hexes]
    inclusion: dict[int, tuple[bytes, ...]] = {}
    for row in _rows(value["inclusion"], 1):
        if row[0] in inclusion:
            raise BadBundle(f"{PROOFS}: event {row[0]} has two proofs")
        inclusion[row[0]] = _path(row[1:], nodes)
    consistency = tuple((row[0], row[1], _path(row[2:], nodes)) for row in _rows(value["consistency"], 2))
    assert isinstance(size, int)
    return Proofs(size, inclusion, consistency)


def _is_count(value: Json) -> bool:
    return type(value) is int and value >= 0


def _rows(value: Json, least: int) -> list[list[int]]:
    if not isinstance(value, list) or len(value) > MOST_EVENTS:
        raise BadBundle(f"{PROOFS}: a list of proofs is damaged")
    rows: list[list[int]] = []
    for row in value:
        if not isinstance(row, list) or not least <= len(row) <= 130 or not all(map(_is_count, row)):
            raise BadBundle(f"{PROOFS}: a proof is damaged")
        rows.append([int(item) for item in row if isinstance(item, int)])
    return rows


def _path(indices: Iterable[int], nodes: list[bytes]) -> tuple[bytes, ...]:
    try:
        return tuple(nodes[index] for index in indices)
    except IndexError:
        raise BadBundle(f"{PROOFS}: a proof leads to a node that is not there") from None


def _blobs(data: bytes) -> dict[str, Blob]:
    blobs: dict[str, Blob] = {}
    for number, line in enumerate(_lines(data, BLOBS, MOST_EVENTS), start=1):
        where = f"{BLOBS}, line {number}"
        value = _object(line, where, {"ref", "salt", "text"})
        ref, salt, text = value["ref"], value["salt"], value["text"]
        if not isinstance(ref, str) or not isinstance(salt, str) or not isinstance(text, str):
            raise BadBundle(f"{where}: not three texts")
        try:
            blob = Blob(base64.b64decode(salt, validate=True), text)
        except (BadBlob, binascii.Error, ValueError) as error:
            raise BadBundle(f"{where}: {error}") from error
        if blob.ref != ref or base64.b64encode(blob.salt).decode() != salt or ref in blobs:
            raise BadBundle(f"{where}: the text is not the one that the log refers to")
        blobs[ref] = blob
    return blobs
