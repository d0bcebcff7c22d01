"""The signers this machine keeps: one file in the data folder, certificate fingerprints with names."""

from __future__ import annotations

import json
import re
import secrets
from pathlib import Path

from guide.errors import ChargewrightError
from guide.journal.files import reason, sync_folder, write_new

FILE_NAME = "known-signers.json"
_LARGEST_FILE = 1 << 20
_MOST_SIGNERS = 5_000
_FINGERPRINT = re.compile(r"[0-9a-f]{64}")


class BadSignerFile(ChargewrightError):
    """The file of known signers can't be read or written."""


def read_known_signers(folder: Path) -> dict[str, str]:
    """Names by certificate fingerprint (SHA-256, hexadecimal); empty where nobody is kept.

    Raises:
        BadSignerFile: the file is there and can't be used.
    """
    path = folder / FILE_NAME
    try:
        with path.open("rb") as file:
            data = file.read(_LARGEST_FILE + 1)
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise BadSignerFile(f"{path}: can't be read: {reason(error)}") from error
    fault = f"{path}: not a list of fingerprints and names; put it right or delete it"
    if len(data) > _LARGEST_FILE:
        raise BadSignerFile(fault)
    try:
        value = json.loads(data)
    except (ValueError, RecursionError):
        raise BadSignerFile(fault) from None
    if not isinstance(value, dict) or len(value) > _MOST_SIGNERS:
        raise BadSignerFile(fault)
    for fingerprint, name in value.items():
        if not _FINGERPRINT.fullmatch(fingerprint) or not isinstance(name, str) or not 0 < len(name) <= 200:
            raise BadSignerFile(fault)
    return value


def keep_signer(folder: Path, fingerprint: str, name: str) -> None:
    """Keep a signer, durable on return.

    Raises:
        BadSignerFile: fingerprint or name can't be kept, or the file can't be read or written.
    """
    if not _FINGERPRINT.fullmatch(fingerprint) or not name.strip() or len(name) > 200:
        raise BadSignerFile("signer: give a SHA-256 of 64 hexadecimal digits and a name of up to 200 letters")
    kept = {**read_known_signers(folder), fingerprint: name.strip()}
    path = folder / FILE_NAME
    draft = folder / f".{FILE_NAME}.{secrets.token_hex(4)}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_new(draft, json.dumps(kept, indent=1, sort_keys=True).encode())
        draft.replace(path)
        sync_folder(folder)
    except OSError as error:
        raise BadSignerFile(f"{path}: can't be written: {reason(error)}") from error
    finally:
        draft.unlink(missing_ok=True)
