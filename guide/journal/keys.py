"""A person's two keys: one signs the log's checkpoints, one signs documents.

The log key is Ed25519. The signing key is ECDSA P-256 with a self-signed certificate, because
common PDF readers can't check Ed25519. Both rest as standard encrypted PKCS#8 (RFC 5958, PBES2
of RFC 8018) that other tools open with the same passphrase.
"""

from __future__ import annotations

import re
import shutil
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from guide.errors import ChargewrightError
from guide.journal.checkpoint import Verifier
from guide.journal.files import reason, sync_folder, write_new
from guide.journal.port import utc_text

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

MIN_PASSPHRASE_CHARACTERS = 10  # PROPOSED
MAX_PASSPHRASE_BYTES = 1024  # PROPOSED
PRACTICE_WORD = "PRACTICE"
_PERSON_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,31}")
_RESERVED = frozenset(  # device names that Windows opens instead of a file (MEMORY), and our pseudo job
    {"con", "prn", "aux", "nul", "journal"} | {f"{d}{n}" for d in ("com", "lpt") for n in range(10)}
)
_LOG_KEY = "log_key.pem"
_SIGNING_KEY = "signing_key.pem"
_CERTIFICATE = "certificate.der"
_VERIFIER = "verifier.txt"


class BadKey(ChargewrightError):
    """Keys that can't be made, found or used."""


class KeysExist(BadKey):
    """This person already has keys here; they are never overwritten."""


class WrongPassphrase(BadKey):
    """The passphrase does not open the key."""


@dataclass(frozen=True, slots=True)
class Person:
    """Whose keys they are, as the public files say; the name is only what the person claims."""

    person_id: str
    display_name: str
    practice: bool
    verifier: Verifier
    certificate: bytes


@dataclass(frozen=True, slots=True)
class LogKey:
    """An unlocked log key."""

    name: str
    public_key: bytes
    private: Ed25519PrivateKey

    def __repr__(self) -> str:
        return f"LogKey({self.name!r})"

    @property
    def verifier(self) -> Verifier:
        """What checks this key's signatures."""
        return Verifier(self.name, self.public_key)

    def sign(self, data: bytes) -> bytes:
        """The Ed25519 signature (64 bytes) over the bytes."""
        return self.private.sign(data)


class KeySource(Protocol):
    """Where a person's keys come from: files, or memory for a demonstration."""

    @property
    def person(self) -> Person:
        """Whose keys they are."""

    def log_key(self, passphrase: str) -> LogKey:
        """Unlock the log key."""

    def signing_key(self, passphrase: str) -> tuple[EllipticCurvePrivateKey, bytes]:
        """Unlock the signing key; with its certificate (DER)."""


@dataclass(frozen=True, slots=True, repr=False)
class KeysInMemory:
    """Keys that were never written down, held open by the passphrase they were made with."""

    person: Person
    _files: dict[str, bytes]

    def log_key(self, passphrase: str) -> LogKey:
        """Unlock the log key.

        Raises:
            WrongPassphrase, BadKey: as the names say.
        """
        return _log_key(self._files[_LOG_KEY], passphrase, self.person.verifier)

    def signing_key(self, passphrase: str) -> tuple[EllipticCurvePrivateKey, bytes]:
        """Unlock the signing key; with its certificate (DER).

        Raises:
            WrongPassphrase, BadKey: as the names say.
        """
        return _signing_key(self._files[_SIGNING_KEY], passphrase, self._files[_CERTIFICATE])


@dataclass(frozen=True, slots=True)
class KeyFiles:
    """Keys in one person's folder."""

    folder: Path

    @property
    def person(self) -> Person:
        """Whose keys they are, from the public files.

        Raises:
            BadKey: a file is missing or not readable.
        """
        return _person(_read(self.folder, _VERIFIER), _read(self.folder, _CERTIFICATE))

    def log_key(self, passphrase: str) -> LogKey:
        """Unlock the log key.

        Raises:
            WrongPassphrase, BadKey: as the names say.
        """
        return _log_key(_read(self.folder, _LOG_KEY), passphrase, self.person.verifier)

    def signing_key(self, passphrase: str) -> tuple[EllipticCurvePrivateKey, bytes]:
        """Unlock the signing key; with its certificate (DER).

        Raises:
            WrongPassphrase, BadKey: as the names say.
        """
        return _signing_key(_read(self.folder, _SIGNING_KEY), passphrase, _read(self.folder, _CERTIFICATE))


def create(
    folder: Path, person_id: str, display_name: str, passphrase: str, now: datetime, *, practice: bool
) -> KeyFiles:
    """Make both keys for a person, in `folder`/`person_id`; all files appear at once or none.

    Raises:
        KeysExist: the person has keys here already.
        BadKey: the id, name or passphrase can't be used, or the folder can't be written.
    """
    made = create_in_memory(person_id, display_name, passphrase, now, practice=practice)
    target = folder / person_id
    draft = folder / f".{person_id}.new"
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if target.exists():
            raise KeysExist(f"{person_id} already has keys in {target}; replace them, or choose another id")
        shutil.rmtree(draft, ignore_errors=True)
        draft.mkdir(mode=0o700)
        for name, data in made._files.items():
            write_new(draft / name, data)
        sync_folder(draft)
        draft.rename(target)
        sync_folder(folder)
    except OSError as error:
        shutil.rmtree(draft, ignore_errors=True)
        raise BadKey(f"keys for {person_id} can't be written in {folder}: {reason(error)}") from error
    return KeyFiles(target)


def replace(
    folder: Path, person_id: str, display_name: str, passphrase: str, now: datetime, *, practice: bool
) -> KeyFiles:
    """Make new keys for a person whose passphrase is lost; the old files stay, set aside by date.

    Raises:
        BadKey: there is nothing to replace, or as for `create`.
    """
    _require_usable(person_id, display_name, passphrase)
    old = folder / person_id
    aside = folder / f"{person_id}.until-{utc_text(now).replace(':', '')}"
    if not old.is_dir():
        raise BadKey(f"{person_id} has no keys in {folder} to replace; make the first ones")
    try:
        old.rename(aside)
    except OSError as error:
        raise BadKey(f"the old keys of {person_id} can't be set aside: {reason(error)}") from error
    try:
        return create(folder, person_id, display_name, passphrase, now, practice=practice)
    except BadKey:
        aside.rename(old)
        raise


def people(folder: Path) -> list[KeyFiles]:
    """Everybody with keys in this folder, by id."""
    if not folder.is_dir():
        return []
    return [KeyFiles(f) for f in sorted(folder.iterdir()) if _PERSON_ID.fullmatch(f.name) and f.is_dir()]


def open_log_key(folder: Path, passphrase: str) -> LogKey:
    """Unlock the log key in one person's folder.

    Raises:
        WrongPassphrase, BadKey: as the names say.
    """
    return KeyFiles(folder).log_key(passphrase)


def open_signing_key(folder: Path, passphrase: str) -> tuple[EllipticCurvePrivateKey, bytes]:
    """Unlock the signing key in one person's folder; with its certificate (DER).

    Raises:
        WrongPassphrase, BadKey: as the names say.
    """
    return KeyFiles(folder).signing_key(passphrase)


def create_in_memory(
    person_id: str, display_name: str, passphrase: str, now: datetime, *, practice: bool
) -> KeysInMemory:
    """Make both keys without writing anything.

    Raises:
        BadKey: the id, name or passphrase can't be used.
    """
    from cryptography.hazmat.primitives.asymmetric import ec, ed25519

    from guide.journal.certificate import encrypted_pem, self_signed

    _require_usable(person_id, display_name, passphrase)
    log_key = ed25519.Ed25519PrivateKey.generate()
    signing_key = ec.generate_private_key(ec.SECP256R1())
    word = f"{PRACTICE_WORD}/" if practice else "person/"
    verifier = Verifier(f"chargewright/{word}{person_id}", log_key.public_key().public_bytes_raw())
    unit = PRACTICE_WORD if practice else None
    files = {
        _LOG_KEY: encrypted_pem(log_key, passphrase),
        _SIGNING_KEY: encrypted_pem(signing_key, passphrase),
        _CERTIFICATE: self_signed(signing_key, person_id, display_name, unit, now),
        _VERIFIER: f"{verifier.vkey}\n".encode(),
    }
    return KeysInMemory(_person(files[_VERIFIER], files[_CERTIFICATE]), files)


def _require_usable(person_id: str, display_name: str, passphrase: str) -> None:
    if not _PERSON_ID.fullmatch(person_id) or person_id in _RESERVED:
        raise BadKey(
            f"person id {person_id[:40]!r} can't be used: small letters a-z, digits and dashes, at most 32"
        )
    if not display_name.strip() or len(display_name) > 64 or not display_name.isprintable():
        raise BadKey("this name can't be used: 1 to 64 printable characters")
    if len(passphrase) < MIN_PASSPHRASE_CHARACTERS:
        raise BadKey(f"this passphrase is too short: at least {MIN_PASSPHRASE_CHARACTERS} characters")
    if len(_passphrase_bytes(passphrase)) > MAX_PASSPHRASE_BYTES:
        raise BadKey(f"this passphrase is too long: at most {MAX_PASSPHRASE_BYTES} bytes")


def _passphrase_bytes(passphrase: str) -> bytes:
    try:
        return passphrase.encode()
    except UnicodeEncodeError:
        raise BadKey("this passphrase can't be used: it holds half a surrogate pair; type it again") from None


def _read(folder: Path, name: str) -> bytes:
    try:
        return (folder / name).read_bytes()
    except OSError as error:
        raise BadKey(f"key file {folder / name} can't be read: {reason(error)}; restore it") from error


def _person(vkey: bytes, certificate: bytes) -> Person:
    from guide.journal.certificate import claims

    verifier = Verifier.from_vkey(vkey.decode("utf-8", errors="replace"))
    try:
        person_id, display_name, unit = claims(certificate)
    except ValueError as error:
        raise BadKey(f"the certificate of {verifier.name} can't be read: {error}") from error
    practice = unit == PRACTICE_WORD
    if practice != (f"/{PRACTICE_WORD}/" in verifier.name):
        raise BadKey(f"the keys of {verifier.name} don't belong together: one is for practice, one is not")
    return Person(person_id, display_name, practice, verifier, certificate)


def _log_key(pem: bytes, passphrase: str, verifier: Verifier) -> LogKey:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    key = _unlock(pem, passphrase)
    if not isinstance(key, Ed25519PrivateKey) or key.public_key().public_bytes_raw() != verifier.public_key:
        raise BadKey(f"the log key of {verifier.name} does not fit its public half; restore the folder")
    return LogKey(verifier.name, verifier.public_key, key)


def _signing_key(pem: bytes, passphrase: str, certificate: bytes) -> tuple[EllipticCurvePrivateKey, bytes]:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

    from guide.journal.certificate import certifies

    key = _unlock(pem, passphrase)
    if not isinstance(key, EllipticCurvePrivateKey) or not certifies(certificate, key):
        raise BadKey("the signing key does not fit its certificate; restore the folder")
    return key, certificate


def _unlock(pem: bytes, passphrase: str) -> object:
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    secret = _passphrase_bytes(passphrase)
    if not secret or len(secret) > MAX_PASSPHRASE_BYTES:
        raise WrongPassphrase("wrong passphrase: the key stays locked")
    try:
        return load_pem_private_key(pem, secret)
    except ValueError as error:
        # the padding check can't tell a damaged file from a wrong passphrase either
        raise WrongPassphrase("wrong passphrase (or a damaged key file): the key stays locked") from error
    except TypeError as error:
        raise BadKey("the key file is not encrypted; it is not one of ours") from error
