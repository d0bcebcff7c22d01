"""Checkpoints: the head of the log, signed, in a form other programs can check.

The form is the C2SP signed note with a tlog-checkpoint body (c2sp.org/signed-note and
c2sp.org/tlog-checkpoint; FOUND), signed with Ed25519 (RFC 8032).
"""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256
from typing import Protocol

from guide.errors import ChargewrightError

MAX_SIGNATURES = 100  # the specification asks for at least 16 to be accepted (FOUND)
MAX_NOTE_BYTES = 1 << 20  # PROPOSED
_ED25519 = 0x01  # signature type byte (FOUND, c2sp.org/signed-note)
_SIGNATURE_LINE = re.compile(r"— ([^\s+]+) ([A-Za-z0-9+/]+={0,2})")
_SIZE = re.compile(r"0|[1-9]\d{0,15}", re.ASCII)
# Crockford's base-32 letters (MEMORY): no I, L, O or U, so nothing is mistaken for 1 or 0
_FINGERPRINT_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_FINGERPRINT_DOMAIN = b"chargewright checkpoint fingerprint v1\n"


class BadCheckpoint(ChargewrightError):
    """A note or checkpoint that is not in its form, or whose signature does not hold."""


class UnknownSigner(BadCheckpoint):
    """A note in good form that none of the given keys has signed."""


class Signer(Protocol):
    """What signs a note: a key with a name."""

    @property
    def name(self) -> str:
        """Key name as it stands on the signature line."""

    @property
    def public_key(self) -> bytes:
        """The 32 bytes of the Ed25519 public key."""

    def sign(self, data: bytes) -> bytes:
        """The 64-byte Ed25519 signature."""


@dataclass(frozen=True, slots=True)
class Verifier:
    """A name and an Ed25519 public key (32 bytes) that a note may be checked with.

    Raises:
        BadCheckpoint: the name is empty, holds a space, a plus sign or a control character,
            or the key is not 32 bytes.
    """

    name: str
    public_key: bytes

    def __post_init__(self) -> None:
        if not _good_name(self.name):
            raise BadCheckpoint(f"key name {self.name!r} can't be used: no spaces, no plus sign, not empty")
        if len(self.public_key) != 32:
            raise BadCheckpoint(f"key {self.name} can't be used: an Ed25519 public key has 32 bytes")

    @property
    def key_id(self) -> bytes:
        """SHA-256(name ‖ 0x0A ‖ 0x01 ‖ public key), its first four bytes (FOUND)."""
        return sha256(self.name.encode() + b"\n" + bytes([_ED25519]) + self.public_key).digest()[:4]

    @property
    def vkey(self) -> str:
        """The one-line text form: name+hex(id)+base64(type ‖ key)."""
        key = base64.b64encode(bytes([_ED25519]) + self.public_key).decode()
        return f"{self.name}+{self.key_id.hex()}+{key}"

    @classmethod
    def from_vkey(cls, text: str) -> Verifier:
        """Read the one-line text form.

        Raises:
            BadCheckpoint: not in that form, not Ed25519, or the key id does not fit.
        """
        parts = text.strip().split("+", 2)
        if len(parts) != 3:
            raise BadCheckpoint("not a verifier key: expected name+id+key on one line")
        name, key_id, encoded = parts
        key = _base64(encoded, "verifier key")
        if len(key) != 33 or key[0] != _ED25519:
            raise BadCheckpoint(f"verifier key {name!r} can't be used: it is not an Ed25519 key")
        verifier = cls(name, key[1:])
        if verifier.key_id.hex() != key_id:
            raise BadCheckpoint(f"verifier key {name!r} can't be used: its id does not fit its key")
        return verifier

    def holds(self, signature: bytes, data: bytes) -> bool:
        """Whether the signature is this key's over these bytes."""
        from cryptography.exceptions import InvalidSignature
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

        try:
            Ed25519PublicKey.from_public_bytes(self.public_key).verify(signature, data)
        except (InvalidSignature, ValueError):
            return False
        return True


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """The head of a log: whose log, how many events, the tree's root hash (32 bytes).

    Raises:
        BadCheckpoint: a field is not in its form.
    """

    origin: str
    size: int
    root_hash: bytes

    def __post_init__(self) -> None:
        if not self.origin or any(ord(c) < 0x20 for c in self.origin):
            raise BadCheckpoint("not a checkpoint: its first line must name the log")
        if not 0 <= self.size < 10**16 or len(self.root_hash) != 32:
            raise BadCheckpoint("not a checkpoint: the size or the root hash is out of range")

    @property
    def text(self) -> str:
        """The note text: three lines (c2sp.org/tlog-checkpoint)."""
        return f"{self.origin}\n{self.size}\n{base64.b64encode(self.root_hash).decode()}\n"

    @classmethod
    def from_text(cls, text: str) -> Checkpoint:
        """Read a note text. Extension lines are refused: our logs write none, and none is auditable.

        Raises:
            BadCheckpoint: not the three lines.
        """
        lines = text.split("\n")
        if len(lines) != 4 or lines[3] or not _SIZE.fullmatch(lines[1]):
            raise BadCheckpoint("not a checkpoint: expected three lines, name of the log, size, root hash")
        return cls(lines[0], int(lines[1]), _base64(lines[2], "root hash"))


@dataclass(frozen=True, slots=True)
class OpenedNote:
    """A checkpoint whose note was checked, and the keys whose signatures held."""

    checkpoint: Checkpoint
    signers: tuple[Verifier, ...]


def sign(checkpoint: Checkpoint, signer: Signer) -> str:
    """The signed note of a checkpoint.

    Raises:
        BadCheckpoint: the signer's name can't stand on a signature line.
    """
    return sign_text(checkpoint.text, signer)


def sign_text(text: str, signer: Signer) -> str:
    """Any note text, signed (c2sp.org/signed-note).

    Raises:
        BadCheckpoint: the text does not end in a newline or holds control characters, or the
            signer's name can't stand on a signature line.
    """
    if not text.endswith("\n") or any(ord(c) < 0x20 and c != "\n" for c in text):
        raise BadCheckpoint("can't sign this note: it must end in a newline and hold no control characters")
    verifier = Verifier(signer.name, signer.public_key)
    signature = base64.b64encode(verifier.key_id + signer.sign(text.encode())).decode()
    return f"{text}\n— {verifier.name} {signature}\n"


def open_note(note: str, verifiers: Iterable[Verifier]) -> OpenedNote:
    """Check a signed checkpoint with the keys given; signature lines of other keys are ignored.

    Raises:
        UnknownSigner: none of the keys has signed it.
        BadCheckpoint: not in its form, or a signature of a given key does not hold.
    """
    text, signers = open_text(note, verifiers)
    return OpenedNote(Checkpoint.from_text(text), signers)


def open_text(note: str, verifiers: Iterable[Verifier]) -> tuple[str, tuple[Verifier, ...]]:
    """Check any signed note; returns its text and the keys whose signatures held.

    Raises:
        UnknownSigner, BadCheckpoint: as for `open_note`.
    """
    text, signatures = _split(note)
    known: dict[tuple[str, bytes], Verifier] = {}
    for verifier in verifiers:
        same = known.setdefault((verifier.name, verifier.key_id), verifier)
        if same != verifier:
            raise BadCheckpoint(f"two different keys share the name and id of {verifier.name}: name one only")
    signers: list[Verifier] = []
    for name, blob in signatures:
        found = known.get((name, blob[:4]))
        if found is None or found in signers:
            continue
        if not found.holds(blob[4:], text.encode()):
            raise BadCheckpoint(f"the signature of {name} on this note does not hold: the note was altered")
        signers.append(found)
    if not signers:
        raise UnknownSigner("this note is signed by none of the keys given")
    return text, tuple(signers)


def read_unverified(note: str) -> Checkpoint:
    """What a note says, its signatures unchecked.

    Raises:
        BadCheckpoint: not in its form.
    """
    return Checkpoint.from_text(_split(note)[0])


def fingerprint(note: str) -> str:
    """A short form of a checkpoint that a person can copy: 100 bits in five groups of four.

    Covers origin, size and root hash, not the signatures: two people who sign the same head
    give the same fingerprint. SHA-256, domain-separated, first 100 bits in Crockford's base 32
    (our own construction).

    Raises:
        BadCheckpoint: the note is not in its form.
    """
    checkpoint = read_unverified(note)
    number = int.from_bytes(sha256(_FINGERPRINT_DOMAIN + checkpoint.text.encode()).digest()) >> 156
    letters = "".join(_FINGERPRINT_LETTERS[number >> shift & 31] for shift in range(95, -1, -5))
    return "-".join(letters[i : i + 4] for i in range(0, 20, 4))


def same_fingerprint(typed: str, fingerprint_: str) -> bool:
    """Whether a person typed this fingerprint; case, spaces, dashes, O for 0, I or L for 1 don't matter."""
    return _fold(typed) == _fold(fingerprint_)


def _fold(text: str) -> str:
    letters = re.sub(r"[\s\-–—]", "", text).upper()
    return letters.translate(str.maketrans("OIL", "011"))


def _split(note: str) -> tuple[str, list[tuple[str, bytes]]]:
    if len(note) > MAX_NOTE_BYTES or any(ord(c) < 0x20 and c != "\n" for c in note):
        raise BadCheckpoint("not a signed note: too long, or control characters in it")
    try:
        note.encode()
    except UnicodeEncodeError:
        raise BadCheckpoint("not a signed note: half a surrogate pair in it") from None
    text, gap, tail = note.rpartition("\n\n")
    if not gap or not tail.endswith("\n"):
        raise BadCheckpoint("not a signed note: a text, an empty line and signature lines were expected")
    lines = tail[:-1].split("\n")
    if len(lines) > MAX_SIGNATURES:
        raise BadCheckpoint(f"not a signed note: more than {MAX_SIGNATURES} signature lines")
    signatures: list[tuple[str, bytes]] = []
    for line in lines:
        match = _SIGNATURE_LINE.fullmatch(line)
        if match is None:
            raise BadCheckpoint(f"not a signed note: {line[:60]!r} is not a signature line")
        blob = _base64(match.group(2), "signature")
        if len(blob) < 5:
            raise BadCheckpoint("not a signed note: a signature is too short")
        signatures.append((match.group(1), blob))
    return text + "\n", signatures


def _base64(text: str, what: str) -> bytes:
    try:
        data = base64.b64decode(text.encode("ascii"), validate=True)
    except (binascii.Error, UnicodeEncodeError):
        raise BadCheckpoint(f"not readable: the {what} is not base64") from None
    if base64.b64encode(data).decode() != text:
        raise BadCheckpoint(f"not readable: the {what} is not in the one base64 form of its bytes")
    return data


def _good_name(name: str) -> bool:
    return bool(name) and not any(c.isspace() or c == "+" or ord(c) < 0x20 for c in name)
