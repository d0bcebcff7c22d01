"""The two answers that need something from outside the file: whose signature, and which log.

A signer is known when the reader names them (a fingerprint or a certificate, their own or that of
whoever issued it) or this machine keeps them. A log is anchored when a checkpoint, or the short
fingerprint of one, was kept where the technician could not change it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass

from guide.errors import ChargewrightError
from guide.journal.checkpoint import (
    BadCheckpoint,
    UnknownSigner,
    fingerprint,
    read_unverified,
    same_fingerprint,
)
from guide.record.answers import AnchorAnswer, SignerAnswer
from guide.record.keyring import open_with
from guide.record.signature_report import Signature

_HEX = re.compile(r"[0-9a-f]{64}")
_SHORT = re.compile(r"[0-9A-Za-z\s\-–—]{20,40}")
SELF_ATTESTED = "self-attested only: nothing kept outside the technician's laptop was compared"


class BadWitness(ChargewrightError):
    """A signer or checkpoint that was named can't be used."""


@dataclass(frozen=True, slots=True)
class NamedSigner:
    """A signer the reader names: the SHA-256 of a certificate, and the certificate where it was given."""

    fingerprint: str
    certificate_der: bytes | None = None


def read_signer(given: str | bytes) -> NamedSigner:
    """A signer from a fingerprint (SHA-256 in hexadecimal, colons and blanks allowed) or a certificate file.

    Raises:
        BadWitness: it is neither.
    """
    from hashlib import sha256

    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    data = given.encode() if isinstance(given, str) else given
    folded = re.sub(rb"[\s:]", b"", data).lower().decode("ascii", "replace")
    if _HEX.fullmatch(folded):
        return NamedSigner(folded)
    try:
        loaded = (
            x509.load_pem_x509_certificate(data)
            if b"-----BEGIN" in data
            else x509.load_der_x509_certificate(data)
        )
    except ValueError:
        raise BadWitness(
            "signer: neither a SHA-256 fingerprint (64 hexadecimal digits) nor a certificate file"
        ) from None
    der = loaded.public_bytes(Encoding.DER)
    return NamedSigner(sha256(der).hexdigest(), der)


def judge_signer(
    signature: Signature | None, named: Sequence[NamedSigner], kept: Mapping[str, str]
) -> SignerAnswer:
    """Whether a record's signer is known; `kept` maps fingerprints to the names this machine keeps."""
    if signature is None:
        return SignerAnswer(known=False, words="not reached")
    own, claimed = signature.fingerprint_sha256, signature.common_name
    for signer in named:
        if signer.fingerprint == own:
            words = f"signed by {claimed}, whose certificate you named"
            return SignerAnswer(True, words, own, claimed)  # noqa: FBT003 - the first field reads as its name
        if signer.certificate_der is not None and _issued(signature.certificate_der, signer.certificate_der):
            words = f"signed by {claimed}, whose certificate was issued by the one you named"
            return SignerAnswer(True, words, own, claimed)  # noqa: FBT003 - as above
    words = f"not known to you; the certificate claims the name {claimed}"
    if named:
        wrong = f"the record is signed with the certificate {own}, which is not the one you named"
        return SignerAnswer(False, words, own, claimed, wrong)  # noqa: FBT003 - as above
    if own in kept:
        return SignerAnswer(True, f"signed by {kept[own]}, kept on this machine", own, claimed)  # noqa: FBT003
    return SignerAnswer(False, words, own, claimed)  # noqa: FBT003 - as above


def _issued(der: bytes, issuer_der: bytes) -> bool:
    from cryptography import x509
    from cryptography.exceptions import InvalidSignature

    try:
        certificate = x509.load_der_x509_certificate(der)
        certificate.verify_directly_issued_by(x509.load_der_x509_certificate(issuer_der))
    except (InvalidSignature, ValueError, TypeError):
        return False
    return True


def judge_anchor(
    shipped: Sequence[str], given: Sequence[str], keys: Sequence[bytes], closing_seq: int
) -> AnchorAnswer:
    """Compare checkpoints from outside (notes or short fingerprints) with those inside a record.

    The last one inside covers the whole job; one taken earlier anchors the job up to there.
    """
    reached = -1
    for text in given:
        try:
            reached = max(reached, _size_anchored(shipped, text, keys))
        except (BadCheckpoint, BadWitness) as error:
            return AnchorAnswer("self-attested only", "a checkpoint you gave does not fit", str(error))
    if reached < 0:
        return AnchorAnswer("self-attested only", SELF_ATTESTED)
    if reached <= closing_seq:
        return AnchorAnswer(
            "partly anchored",
            f"anchored up to event {reached - 1} of the log; what came after is self-attested only",
        )
    return AnchorAnswer("anchored", "anchored: the checkpoint you gave holds every event of this job")


def _size_anchored(shipped: Sequence[str], text: str, keys: Sequence[bytes]) -> int:
    heads = [(read_unverified(note), fingerprint(note)) for note in shipped]
    if "\n" not in text.strip():
        if not _SHORT.fullmatch(text.strip()):
            raise BadWitness(
                "the checkpoint is neither a signed note nor a fingerprint of five groups of four"
            )
        for head, short in reversed(heads):
            if same_fingerprint(text, short):
                return head.size
        raise BadWitness(f"no checkpoint of this record has the fingerprint {text.strip()[:40]}")
    outside = read_unverified(text)
    with suppress(UnknownSigner):  # whoever keeps it may have signed it; it is the reader who trusts it
        open_with(text, keys)
    last = heads[-1][0]
    if outside.origin != last.origin:
        raise BadWitness(f"the checkpoint is of another log, {outside.origin}")
    for head, short in heads:
        if head.size != outside.size:
            continue
        if head.root_hash != outside.root_hash:
            raise BadWitness(
                f"two heads of one log at {head.size} events: {short} in the record, "
                f"{fingerprint(text)} outside: the log was rewritten"
            )
        return head.size
    if outside.size > last.size:
        raise BadWitness(
            f"the checkpoint holds {outside.size} events, the record's log ends at {last.size}: it was cut, "
            "or a newer record of this job exists; ask for it"
        )
    raise BadWitness(
        f"the record carries no checkpoint at {outside.size} events; it can't be compared with yours"
    )
