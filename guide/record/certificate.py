"""A signer's certificate as our profile has it: X.509 version 3, a P-256 key, one common name.

The practice mark is the organisational unit. A self-made certificate proves possession of a key
and nothing about the name in it: that name is a claim.
"""

import hashlib
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.record.cms import BIT_STRING, INTEGER, SEQUENCE, TAGGED_0, CmsError, read_element

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec


class CertificateError(ChargewrightError):
    """A certificate that can't stand in a record."""


@dataclass(frozen=True, slots=True)
class SignerCertificate:
    """What the profile takes from a certificate."""

    der: bytes
    public_key: "ec.EllipticCurvePublicKey"
    common_name: str
    practice_mark: str | None
    issuer: str
    self_issued: bool
    not_before: datetime
    not_after: datetime

    @property
    def fingerprint_sha256(self) -> str:
        """SHA-256 over the DER, lower-case hex."""
        return hashlib.sha256(self.der).hexdigest()


def _one(name: "x509.Name", oid: "x509.ObjectIdentifier", what: str) -> str | None:
    values = [str(each.value) for each in name.get_attributes_for_oid(oid)]
    if len(values) > 1:
        raise CertificateError(f"it states its {what} more than once")
    return values[0] if values else None


def _refuse_loose_spelling(der: bytes) -> None:
    """What X.509 libraries let pass: a serial number that is not positive, spare bits in the signature.

    RFC 5280 section 4.1.2.2; X.690 section 11.2.1 [MEMORY].
    """
    try:
        outer = read_element(der, 0, len(der), SEQUENCE)
        body = read_element(der, outer.content, outer.end, SEQUENCE)
        version = read_element(der, body.content, body.end, TAGGED_0)
        serial = read_element(der, version.end, body.end, INTEGER)
        algorithm = read_element(der, body.end, outer.end, SEQUENCE)
        signature = read_element(der, algorithm.end, outer.end, BIT_STRING)
    except CmsError:
        raise CertificateError("it is damaged or of an unknown kind") from None
    if int.from_bytes(der[serial.content : serial.end], "big", signed=True) <= 0:
        raise CertificateError("its serial number is not positive")
    if der[signature.content : signature.content + 1] != b"\x00" or not signature.end == outer.end == len(
        der
    ):
        raise CertificateError("it is not spelt in the one way certificates are spelt")


def read_certificate(der: bytes) -> SignerCertificate:
    """Read a certificate; a self-issued one must carry a valid signature by its own key.

    Raises:
        CertificateError: when it is damaged, has another kind of key, no common name, or a
            self-signature that does not verify.
    """
    from cryptography import x509
    from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric import ec

    _refuse_loose_spelling(der)
    try:
        certificate = x509.load_der_x509_certificate(der)
        key = certificate.public_key()
        if certificate.version is not x509.Version.v3:
            raise CertificateError("it is not an X.509 version 3 certificate")
        if not isinstance(key, ec.EllipticCurvePublicKey) or not isinstance(key.curve, ec.SECP256R1):
            raise CertificateError("its key is not of the kind records use (ECDSA on P-256)")
        common_name = _one(certificate.subject, x509.NameOID.COMMON_NAME, "common name")
        practice_mark = _one(
            certificate.subject, x509.NameOID.ORGANIZATIONAL_UNIT_NAME, "organisational unit"
        )
        self_issued = certificate.issuer == certificate.subject
        issuer = certificate.issuer.rfc4514_string()
        certificate.extensions  # noqa: B018 - reading them is the check that they are well formed
        if self_issued:
            certificate.verify_directly_issued_by(certificate)
    except InvalidSignature:
        raise CertificateError("its signature by its own key does not verify") from None
    except (ValueError, TypeError, UnsupportedAlgorithm, x509.DuplicateExtension, x509.InvalidVersion):
        raise CertificateError("it is damaged or of an unknown kind") from None
    if not common_name:
        raise CertificateError("it names nobody (no common name)")
    return SignerCertificate(
        der=der,
        public_key=key,
        common_name=common_name,
        practice_mark=practice_mark,
        issuer=issuer,
        self_issued=self_issued,
        not_before=certificate.not_valid_before_utc,
        not_after=certificate.not_valid_after_utc,
    )


def issued_by(certificate_der: bytes, issuer_der: bytes) -> bool:
    """Whether the first certificate carries a valid signature by the second's key and names it as issuer.

    Says nothing about whether the issuer was allowed to issue, or when.

    Raises:
        CertificateError: when one of them is damaged or of an unknown kind.
    """
    from cryptography import x509
    from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm

    try:
        certificate = x509.load_der_x509_certificate(certificate_der)
        issuer = x509.load_der_x509_certificate(issuer_der)
    except (ValueError, UnsupportedAlgorithm, x509.InvalidVersion):
        raise CertificateError("it is damaged or of an unknown kind") from None
    try:
        certificate.verify_directly_issued_by(issuer)
    except (InvalidSignature, ValueError, TypeError, UnsupportedAlgorithm):
        return False
    return True
