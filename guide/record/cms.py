"""The signature value inside the PDF: a CMS SignedData with no freedom left in it.

Our profile allows exactly one spelling for a given certificate, digest and ECDSA value, so the
checker rebuilds the bytes and compares instead of trusting a parser: one signer, one
certificate, SHA-256, ecdsa-with-SHA256, the signed attributes content-type, message-digest and
signing-certificate-v2 (SHA-256, without the redundant issuer and serial), nothing unsigned. There is
no signing-time attribute: PAdES puts the claimed time into the PDF's signature dictionary.

Sources: CMS structure RFC 5652 sections 5.1-5.4 and 11; signing-certificate-v2 RFC 5035 section 3;
SHA-256 identifier without parameters RFC 5754 section 2; ecdsa-with-SHA256 RFC 5758 section 3.2;
PAdES baseline B-B, no signing-time, ETSI EN 319 142-1 clause 6.3 [all MEMORY].
"""

import hashlib
from dataclasses import dataclass

from guide.errors import ChargewrightError

# DER tags, X.690 section 8 [MEMORY].
INTEGER, BIT_STRING, OCTETS, OID, SEQUENCE, SET, TAGGED_0 = 0x02, 0x03, 0x04, 0x06, 0x30, 0x31, 0xA0

# Order of the P-256 group, SEC 2 section 2.4.2 [MEMORY, proven in the tests by multiplying].
P256_ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551

# DER of SEQUENCE { INTEGER, INTEGER } with two 32-byte numbers that need a sign byte.
LONGEST_ECDSA_BYTES = 72


class CmsError(ChargewrightError):
    """Bytes that are not the CMS of our profile."""


def _der(tag: int, *parts: bytes) -> bytes:
    content = b"".join(parts)
    if len(content) < 0x80:
        return bytes((tag, len(content))) + content
    size = len(content).to_bytes((len(content).bit_length() + 7) // 8, "big")
    return bytes((tag, 0x80 | len(size))) + size + content


def _oid(dotted: str) -> bytes:
    first, second, *rest = map(int, dotted.split("."))
    encoded = bytearray((40 * first + second,))
    for arc in rest:
        groups = [arc & 0x7F]
        while arc := arc >> 7:
            groups.append(0x80 | arc & 0x7F)
        encoded.extend(reversed(groups))
    return _der(OID, bytes(encoded))


_DATA = _oid("1.2.840.113549.1.7.1")
_SIGNED_DATA = _oid("1.2.840.113549.1.7.2")
_CONTENT_TYPE = _oid("1.2.840.113549.1.9.3")
_MESSAGE_DIGEST = _oid("1.2.840.113549.1.9.4")
_SIGNING_CERTIFICATE_V2 = _oid("1.2.840.113549.1.9.16.2.47")
_SHA256 = _der(SEQUENCE, _oid("2.16.840.1.101.3.4.2.1"))
_ECDSA_WITH_SHA256 = _der(SEQUENCE, _oid("1.2.840.10045.4.3.2"))


@dataclass(frozen=True, slots=True)
class Element:
    """One DER element: its tag, where it starts, where its content starts and where both end."""

    tag: int
    start: int
    content: int
    end: int


def read_element(data: bytes, at: int, limit: int, tag: int | None = None) -> Element:
    """Read one DER element inside ``data[at:limit]``, of the given tag if one is given.

    Raises:
        CmsError: when it does not fit, has another tag, or its length is not spelt shortest.
    """
    if limit > len(data) or at + 2 > limit:
        raise CmsError("the signature value ends in the middle")
    found, length, content = data[at], data[at + 1], at + 2
    if length & 0x80:
        size = length & 0x7F
        if not 1 <= size <= 4 or content + size > limit:
            raise CmsError("the signature value states an impossible length")
        length = int.from_bytes(data[content : content + size], "big")
        if length < 0x80 or length >> (8 * (size - 1)) == 0:
            raise CmsError("a length in the signature value is not spelt shortest")
        content += size
    if content + length > limit:
        raise CmsError("the signature value ends in the middle")
    if tag is not None and found != tag:
        raise CmsError("the signature value is not built as records build it")
    return Element(found, at, content, content + length)


def signed_attributes(certificate_der: bytes, message_digest: bytes) -> bytes:
    """The DER ``SET OF`` attributes that the ECDSA value signs."""
    certificate_digest = _der(OCTETS, hashlib.sha256(certificate_der).digest())
    identified = _der(SEQUENCE, _der(SEQUENCE, _der(SEQUENCE, certificate_digest)))
    attributes = (
        _der(SEQUENCE, _CONTENT_TYPE, _der(SET, _DATA)),
        _der(SEQUENCE, _MESSAGE_DIGEST, _der(SET, _der(OCTETS, message_digest))),
        _der(SEQUENCE, _SIGNING_CERTIFICATE_V2, _der(SET, identified)),
    )
    return _der(SET, *sorted(attributes))


def _issuer_and_serial(certificate_der: bytes) -> bytes:
    outer = read_element(certificate_der, 0, len(certificate_der), SEQUENCE)
    if outer.end != len(certificate_der):
        raise CmsError("bytes stand behind the certificate")
    body = read_element(certificate_der, outer.content, outer.end, SEQUENCE)
    version = read_element(certificate_der, body.content, body.end, TAGGED_0)
    serial = read_element(certificate_der, version.end, body.end, INTEGER)
    algorithm = read_element(certificate_der, serial.end, body.end, SEQUENCE)
    issuer = read_element(certificate_der, algorithm.end, body.end, SEQUENCE)
    return _der(
        SEQUENCE, certificate_der[issuer.start : issuer.end], certificate_der[serial.start : serial.end]
    )


def build_cms(certificate_der: bytes, message_digest: bytes, ecdsa_value: bytes) -> bytes:
    """The one CMS our profile allows for these parts.

    Raises:
        CmsError: when the certificate is not a version 3 certificate in DER.
    """
    attributes = signed_attributes(certificate_der, message_digest)
    signer = _der(
        SEQUENCE,
        _der(INTEGER, b"\x01"),
        _issuer_and_serial(certificate_der),
        _SHA256,
        bytes((TAGGED_0,)) + attributes[1:],
        _ECDSA_WITH_SHA256,
        _der(OCTETS, ecdsa_value),
    )
    signed_data = _der(
        SEQUENCE,
        _der(INTEGER, b"\x01"),
        _der(SET, _SHA256),
        _der(SEQUENCE, _DATA),
        _der(TAGGED_0, certificate_der),
        _der(SET, signer),
    )
    return _der(SEQUENCE, _SIGNED_DATA, _der(TAGGED_0, signed_data))


@dataclass(frozen=True, slots=True)
class CmsParts:
    """What is not fixed by the profile: certificate, digest of the signed bytes, ECDSA value."""

    certificate_der: bytes
    message_digest: bytes
    ecdsa_value: bytes


def split_cms(cms: bytes) -> CmsParts:
    """Take a CMS apart far enough to rebuild it.

    What is answered is not trusted: :func:`build_cms` on it must give the same bytes.

    Raises:
        CmsError: when the parts can't be found where the profile puts them.
    """
    content = read_element(cms, 0, len(cms), SEQUENCE)
    kind = read_element(cms, content.content, content.end, OID)
    wrapped = read_element(cms, kind.end, content.end, TAGGED_0)
    signed_data = read_element(cms, wrapped.content, wrapped.end, SEQUENCE)
    version = read_element(cms, signed_data.content, signed_data.end, INTEGER)
    digests = read_element(cms, version.end, signed_data.end, SET)
    inner = read_element(cms, digests.end, signed_data.end, SEQUENCE)
    certificates = read_element(cms, inner.end, signed_data.end, TAGGED_0)
    certificate = read_element(cms, certificates.content, certificates.end, SEQUENCE)
    signers = read_element(cms, certificates.end, signed_data.end, SET)
    signer = read_element(cms, signers.content, signers.end, SEQUENCE)
    signer_version = read_element(cms, signer.content, signer.end, INTEGER)
    identifier = read_element(cms, signer_version.end, signer.end, SEQUENCE)
    digest_algorithm = read_element(cms, identifier.end, signer.end, SEQUENCE)
    attributes = read_element(cms, digest_algorithm.end, signer.end, TAGGED_0)
    algorithm = read_element(cms, attributes.end, signer.end, SEQUENCE)
    value = read_element(cms, algorithm.end, signer.end, OCTETS)
    return CmsParts(
        cms[certificate.start : certificate.end],
        _message_digest(cms, attributes),
        cms[value.content : value.end],
    )


def _message_digest(cms: bytes, attributes: Element) -> bytes:
    at = attributes.content
    while at < attributes.end:
        attribute = read_element(cms, at, attributes.end, SEQUENCE)
        kind = read_element(cms, attribute.content, attribute.end, OID)
        if cms[kind.start : kind.end] == _MESSAGE_DIGEST:
            values = read_element(cms, kind.end, attribute.end, SET)
            octets = read_element(cms, values.content, values.end, OCTETS)
            return cms[octets.content : octets.end]
        at = attribute.end
    raise CmsError("the signature value holds no digest of the signed bytes")


def cms_length(cms_and_padding: bytes) -> int:
    """How many of the leading bytes are the CMS, by its own DER length.

    Raises:
        CmsError: when no DER sequence stands there.
    """
    return read_element(cms_and_padding, 0, len(cms_and_padding), SEQUENCE).end


def reserved_bytes(certificate_der: bytes) -> int:
    """How many bytes the profile reserves for the CMS of this certificate, padding included.

    Raises:
        CmsError: when the certificate is not a version 3 certificate in DER.
    """
    longest = len(build_cms(certificate_der, bytes(32), bytes(LONGEST_ECDSA_BYTES)))
    return (longest // 64 + 1) * 64
