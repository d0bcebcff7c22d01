"""Signing a prepared record: the technician certifies, a customer with a key of their own may follow.

PAdES B-B, ECDSA on P-256 with SHA-256, offline. Nothing here starts an event loop or needs one
to be absent: the file is built by plain functions. The passphrase and the key's safety are the
caller's; only the key object comes in.
"""

import hashlib
from datetime import datetime
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.record.cms import P256_ORDER, build_cms, reserved_bytes, signed_attributes
from guide.record.pdf_attachments import FormError, decode_attachments
from guide.record.pdf_form import (
    CUSTOMER_FIELD,
    TECHNICIAN_FIELD,
    read_form,
)
from guide.record.pdf_revisions import read_revisions
from guide.record.pdf_syntax import PdfSyntaxError
from guide.record.signature_revision import SignatureSpace, SignatureWords, build_signature

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric import ec

MAXIMUM_WORDS = 300
MAXIMUM_CERTIFICATE_BYTES = 8_192


class SigningError(ChargewrightError):
    """A signature can't be made: the file, the field, the key or the words do not fit."""


def certify(
    pdf: bytes,
    *,
    private_key: "ec.EllipticCurvePrivateKey",
    certificate_der: bytes,
    name: str,
    reason: str,
    when: datetime,
    location: str | None = None,
) -> bytes:
    """Certify a prepared form as its technician, form filling allowed (DocMDP P 2).

    ``name`` must be the certificate's common name: the stamp may not say another. ``when`` must
    know its time zone; it is a claim, kept to the second in UTC.

    Raises:
        SigningError: when the file is not a prepared form, or key, certificate and words do
            not belong together.
    """
    words = SignatureWords(TECHNICIAN_FIELD, name, reason, location, when)
    return _sign(pdf, words, private_key, certificate_der, revisions_before=2)


def countersign(
    pdf: bytes,
    *,
    private_key: "ec.EllipticCurvePrivateKey",
    certificate_der: bytes,
    name: str,
    reason: str,
    when: datetime,
    location: str | None = None,
    field: str = CUSTOMER_FIELD,
) -> bytes:
    """Add the customer's signature, made with a key of the customer's own, to a certified record.

    Raises:
        SigningError: when the file is not certified or countersigned already, the field is not
            the customer's, or key, certificate and words do not belong together.
    """
    if field != CUSTOMER_FIELD:
        raise SigningError(f"there is no field {field!r} to countersign; the customer's is {CUSTOMER_FIELD}")
    words = SignatureWords(field, name, reason, location, when)
    return _sign(pdf, words, private_key, certificate_der, revisions_before=3)


def _sign(
    pdf: bytes,
    words: SignatureWords,
    private_key: "ec.EllipticCurvePrivateKey",
    certificate_der: bytes,
    *,
    revisions_before: int,
) -> bytes:
    _refuse_strangers(words, private_key, certificate_der)
    try:
        revisions = read_revisions(pdf)
        if len(revisions) != revisions_before:
            raise SigningError(
                f"the {words.field} can't sign now: the file has {len(revisions)} revisions where "
                f"{revisions_before} come before that signature"
            )
        space = build_signature(pdf, revisions, words, reserved_bytes(certificate_der))
    except (PdfSyntaxError, FormError) as fault:
        raise SigningError(f"the file can't be signed ({fault}); build the record again") from None
    return fill_signature(space, private_key, certificate_der)


def fill_signature(
    space: SignatureSpace, private_key: "ec.EllipticCurvePrivateKey", certificate_der: bytes
) -> bytes:
    """The file with its signature value in the room left for it.

    Raises:
        CmsError: when the certificate is not a version 3 certificate in DER.
    """
    covered = space.pdf[: space.value_at] + space.pdf[space.value_end :]
    digest = hashlib.sha256(covered).digest()
    ecdsa = ecdsa_value(private_key, signed_attributes(certificate_der, digest))
    cms = build_cms(certificate_der, digest, ecdsa)
    value = b"<" + cms.hex().encode("ascii").ljust(space.value_end - space.value_at - 2, b"0") + b">"
    return space.pdf[: space.value_at] + value + space.pdf[space.value_end :]


def ecdsa_value(private_key: "ec.EllipticCurvePrivateKey", message: bytes) -> bytes:
    """Sign; of the two equivalent values the one with the smaller ``s``, in DER.

    (r, n - s) verifies whenever (r, s) does; taking the smaller one leaves one spelling
    [common practice, no source].
    """
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature, encode_dss_signature

    r, s = decode_dss_signature(private_key.sign(message, ec.ECDSA(hashes.SHA256())))
    return encode_dss_signature(r, min(s, P256_ORDER - s))


def _refuse_strangers(
    words: SignatureWords, private_key: "ec.EllipticCurvePrivateKey", certificate_der: bytes
) -> None:
    from guide.record.certificate import CertificateError, read_certificate

    for what, text in (("name", words.name), ("meaning", words.reason), ("place", words.location or "-")):
        if not text.strip() or len(text) > MAXIMUM_WORDS or not text.isprintable():
            raise SigningError(f"the {what} must be 1 to {MAXIMUM_WORDS} printable characters on one line")
    if len(certificate_der) > MAXIMUM_CERTIFICATE_BYTES:
        raise SigningError(f"the certificate is larger than {MAXIMUM_CERTIFICATE_BYTES} bytes")
    try:
        certificate = read_certificate(certificate_der)
    except CertificateError as fault:
        raise SigningError(f"this certificate can't sign a record: {fault}") from None
    if private_key.public_key() != certificate.public_key:
        raise SigningError("the signing key and the certificate do not belong together")
    if certificate.common_name != words.name:
        raise SigningError(
            f"the name to sign with, {words.name!r}, is not the certificate's, {certificate.common_name!r}"
        )
    if words.when.tzinfo is None:
        raise SigningError("the time of signing does not say its time zone")
    if not certificate.not_before <= words.when <= certificate.not_after:
        raise SigningError("the time of signing lies outside the certificate's validity; make a new key")


def extract_attachments(pdf: bytes) -> dict[str, bytes]:
    """The files a record carries, by name. Says nothing about whether they are what was signed.

    Raises:
        FormError: when the file is no record form, or an attachment is out of bounds or damaged.
    """
    try:
        revisions = read_revisions(pdf)
        if len(revisions) < 2:
            raise FormError("the file carries no attachments of a record")
        return decode_attachments(read_form(pdf, revisions[0], revisions[1]).attachments)
    except PdfSyntaxError as fault:
        raise FormError(f"the attachments can't be read ({fault})") from None
