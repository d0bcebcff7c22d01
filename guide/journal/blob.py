"""Free text and personal data, kept beside the log so that they can be withheld or erased.

The log holds only the reference. Without its salt a reference tells nothing about the text,
not even to somebody who guesses it.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from hashlib import sha256

from guide.errors import ChargewrightError

MAX_CHARACTERS = 20_000  # of a note; PROPOSED
MAX_DOCUMENT_CHARACTERS = 1 << 20  # of an order or a procedure kept with its job; PROPOSED
SALT_BYTES = 32
_DOMAIN = b"chargewright blob v1\n"


class BadBlob(ChargewrightError):
    """A text that can't be kept as a blob."""


@dataclass(frozen=True, slots=True)
class Blob:
    """A text with the random salt (32 bytes) that hides it behind its reference.

    Raises:
        BadBlob: the salt has another length, the text is too long or no proper Unicode.
    """

    salt: bytes
    text: str

    def __post_init__(self) -> None:
        if len(self.salt) != SALT_BYTES:
            raise BadBlob(f"note can't be kept: its salt must be {SALT_BYTES} bytes")
        if len(self.text) > MAX_DOCUMENT_CHARACTERS:
            raise BadBlob(
                f"text can't be kept: {len(self.text)} characters, at most {MAX_DOCUMENT_CHARACTERS}"
            )
        try:
            self.text.encode()
        except UnicodeEncodeError:
            raise BadBlob("note can't be kept: it holds half a surrogate pair; type it again") from None

    @classmethod
    def of(cls, text: str, salt: bytes | None = None) -> Blob:
        """A note of this text, with a fresh random salt unless one is given.

        Raises:
            BadBlob: as for the class, and for more than `MAX_CHARACTERS`.
        """
        if len(text) > MAX_CHARACTERS:
            raise BadBlob(
                f"note can't be kept: {len(text)} characters, at most {MAX_CHARACTERS}; split it in two"
            )
        return cls.of_document(text, salt)

    @classmethod
    def of_document(cls, text: str, salt: bytes | None = None) -> Blob:
        """A blob of a whole order or procedure.

        Raises:
            BadBlob: as for the class.
        """
        return cls(secrets.token_bytes(SALT_BYTES) if salt is None else salt, text)

    @property
    def ref(self) -> str:
        """SHA-256(domain ‖ salt ‖ UTF-8 text), hexadecimal; the salt's fixed length keeps the parts apart."""
        return sha256(_DOMAIN + self.salt + self.text.encode()).hexdigest()
