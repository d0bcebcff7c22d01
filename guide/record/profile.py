"""Is this file, to the last bit, a record as we make them? Numbered checks on the raw bytes.

The checks run in order and stop at the first that fails, so the first thing wrong is the one
named. Each takes the file apart, rebuilds the part in question under the profile and compares
bytes, so that there is nothing a changed bit could hide in; no PDF library is asked before the
last. What the file says about itself is never a reason to trust it: *intact* means that nothing
was changed since signing, not that the signer is who the certificate claims.

A change of the layout of form or stamp needs a profile beside this one, chosen by what rebuilds:
records made under this one must stay checkable.
"""

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass, field

from guide.errors import ChargewrightError
from guide.record.certificate import CertificateError, SignerCertificate, read_certificate
from guide.record.cms import (
    P256_ORDER,
    CmsError,
    CmsParts,
    build_cms,
    cms_length,
    reserved_bytes,
    signed_attributes,
    split_cms,
)
from guide.record.pdf_attachments import FormError, decode_attachments
from guide.record.pdf_base import refuse_unplain_base
from guide.record.pdf_form import FormParts, build_form, read_form
from guide.record.pdf_revisions import Revision, read_revisions
from guide.record.pdf_syntax import PdfSyntaxError
from guide.record.signature_report import Check, Finding, Signature, SignatureReport
from guide.record.signature_revision import (
    FIELDS_IN_ORDER,
    SignaturePlace,
    SignatureWords,
    build_signature,
    locate_signature,
    read_words,
)

__all__ = ["LEVEL", "Check", "Finding", "NotARecord", "Signature", "SignatureReport", "inspect"]

LEVEL = "PAdES B-B"
MAXIMUM_FILE_BYTES = 256 * 1024 * 1024

_LOWER_HEX = re.compile(rb"(?:[0-9a-f]{2})*")


class NotARecord(ChargewrightError):
    """The file is neither a PDF nor does it carry a signature: there is nothing to check."""


class _WrongError(ChargewrightError):
    """What one check found."""


@dataclass(slots=True)
class _Signed:
    """What the checks have learnt of one signature so far."""

    field: str
    revision: Revision
    place: SignaturePlace
    value: bytes = b""
    parts: CmsParts | None = None
    words: SignatureWords | None = None
    certificate: SignerCertificate | None = None


@dataclass(slots=True)
class _Examined:
    """What the checks have learnt of the file so far."""

    pdf: bytes
    revisions: tuple[Revision, ...] = ()
    signed: list[_Signed] = field(default_factory=list)
    form: FormParts | None = None


def _shape(file: _Examined) -> None:
    if len(file.pdf) > MAXIMUM_FILE_BYTES:
        raise _WrongError(f"the file is larger than the {MAXIMUM_FILE_BYTES} bytes a record may have")
    file.revisions = read_revisions(file.pdf)


def _order(file: _Examined) -> None:
    count = len(file.revisions)
    found = [locate_signature(file.pdf, revision) for revision in file.revisions]
    if not any(found):
        raise _WrongError(
            "the file carries no signature: it was never signed, saved anew, or the signature was removed"
        )
    if found[0] is not None or (count > 1 and found[1] is not None):
        raise _WrongError("a signature stands before the form is complete")
    if count > 2 and found[2] is None:
        raise _WrongError("a revision stands between the form and the technician's signature")
    if count > 3 and found[3] is None:
        size = len(file.pdf) - file.revisions[2].end
        raise _WrongError(f"a change of {size} bytes was added after the technician's signature")
    if count > 4:
        size = len(file.pdf) - file.revisions[3].end
        raise _WrongError(f"a change of {size} bytes was added after the customer's signature")
    file.signed = [
        _Signed(name, revision, place)
        for name, revision, place in zip(FIELDS_IN_ORDER, file.revisions[2:], found[2:], strict=False)
        if place is not None
    ]


def _coverage(file: _Examined) -> None:
    for each in file.signed:
        _, first, second, length = each.place.byte_range
        end = each.revision.end
        if first != each.place.value_at or not first < second <= end or second + length != end:
            raise _WrongError(f"the {each.field}'s signature does not cover all of its revision")
    last = file.signed[-1].place.byte_range
    if last[2] + last[3] != len(file.pdf):
        raise _WrongError("the last signature does not cover the entire file")


def _spelling(file: _Examined) -> None:
    for each in file.signed:
        _, first, second, _ = each.place.byte_range
        written = file.pdf[first:second]
        if not (
            written[:1] == b"<"
            and written[-1:] == b">"
            and _LOWER_HEX.fullmatch(written, 1, len(written) - 1)
        ):
            raise _WrongError(
                f"the {each.field}'s signature value is not plain lower-case hex between < and >"
            )
        reserved = bytes.fromhex(written[1:-1].decode("ascii"))
        length = cms_length(reserved)
        if any(reserved[length:]):
            raise _WrongError(f"something stands in the padding behind the {each.field}'s signature value")
        each.value = reserved[:length]
        each.parts = split_cms(each.value)
        if len(reserved) != reserved_bytes(each.parts.certificate_der):
            raise _WrongError(
                f"the room for the {each.field}'s signature value is not as large as the profile makes it"
            )


def _digest(file: _Examined) -> None:
    for each in file.signed:
        assert each.parts is not None
        _, first, second, _ = each.place.byte_range
        hashed = hashlib.sha256(file.pdf[:first])
        hashed.update(file.pdf[second : each.revision.end])
        if hashed.digest() != each.parts.message_digest:
            raise _WrongError(f"something in the file was changed after the {each.field} signed it")


def _rebuilt_value(file: _Examined) -> None:
    for each in file.signed:
        parts = each.parts
        assert parts is not None
        if build_cms(parts.certificate_der, parts.message_digest, parts.ecdsa_value) != each.value:
            raise _WrongError(
                f"the {each.field}'s signature value is not the one the profile builds from its parts"
            )


def _certificates(file: _Examined) -> None:
    for each in file.signed:
        assert each.parts is not None
        try:
            each.certificate = read_certificate(each.parts.certificate_der)
        except CertificateError as fault:
            raise _WrongError(f"the {each.field}'s certificate can't stand in a record: {fault}") from None


def _mathematics(file: _Examined) -> None:
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature, encode_dss_signature

    for each in file.signed:
        assert each.parts is not None
        assert each.certificate is not None
        value = each.parts.ecdsa_value
        signed = signed_attributes(each.parts.certificate_der, each.parts.message_digest)
        try:
            r, s = decode_dss_signature(value)
            canonical = (
                encode_dss_signature(r, s) == value and 0 < r < P256_ORDER and 0 < s <= P256_ORDER // 2
            )
            each.certificate.public_key.verify(value, signed, ec.ECDSA(hashes.SHA256()))
        except (InvalidSignature, ValueError):
            raise _WrongError(
                f"the {each.field}'s signature does not verify with the certificate's key"
            ) from None
        if not canonical:
            raise _WrongError(f"the {each.field}'s signature is not in its one canonical form")


def _rebuilt_signatures(file: _Examined) -> None:
    for index, each in enumerate(file.signed, start=2):
        assert each.parts is not None
        assert each.certificate is not None
        words = read_words(file.pdf, each.revision, each.field)
        before = file.pdf[: each.revision.start]
        room = reserved_bytes(each.parts.certificate_der)
        space = build_signature(before, file.revisions[:index], words, room)
        _, first, second, _ = each.place.byte_range
        same = (space.value_at, space.value_end, len(space.pdf)) == (first, second, each.revision.end)
        if not (
            same
            and file.pdf.startswith(space.pdf[:first])
            and file.pdf[second : each.revision.end] == space.pdf[second:]
        ):
            raise _WrongError(
                f"the revision with the {each.field}'s signature holds something else beside the signature"
            )
        if words.name != each.certificate.common_name:
            raise _WrongError(f"the {each.field}'s stamp says another name than the certificate")
        if not each.certificate.not_before <= words.when <= each.certificate.not_after:
            raise _WrongError(f"the {each.field}'s claimed time lies outside the certificate's validity")
        each.words = words


def _rebuilt_form(file: _Examined) -> None:
    base, form = file.revisions[:2]
    file.form = read_form(file.pdf, base, form)
    if build_form(file.pdf[: base.end], base, file.form) != file.pdf[: form.end]:
        raise _WrongError("the form holds something else beside the attachments and the two signature fields")


def _plain_base(file: _Examined) -> None:
    refuse_unplain_base(file.pdf, file.revisions[0])


def _attachments(file: _Examined) -> None:
    assert file.form is not None
    decode_attachments(file.form.attachments)


def _other_witness(file: _Examined) -> None:
    from guide.record.second_opinion import ExpectedSignature, second_opinion

    expected = [
        ExpectedSignature(each.field, each.certificate.der, each.words.when)
        for each in file.signed
        if each.certificate is not None and each.words is not None
    ]
    if complaint := second_opinion(file.pdf, expected):
        raise _WrongError(complaint)


_CHECKS: tuple[tuple[str, Callable[[_Examined], None]], ...] = (
    ("the file is a plain chain of PDF revisions with nothing left over", _shape),
    ("the revisions are pages, form, technician, and perhaps customer", _order),
    ("every signature covers its whole revision, the last the whole file", _coverage),
    ("every signature value is lower-case hex with nothing in its padding", _spelling),
    ("every signed byte is as it was when it was signed", _digest),
    ("every signature value is the one the profile builds", _rebuilt_value),
    ("every certificate is of the profile and consistent with itself", _certificates),
    ("every signature verifies with its certificate's key", _mathematics),
    ("every signature's revision is the one the profile builds", _rebuilt_signatures),
    ("the form is the one the profile builds", _rebuilt_form),
    ("the pages hold nothing that hides or acts", _plain_base),
    ("every attachment unpacks to what it states", _attachments),
    ("an independent PDF library agrees", _other_witness),
)


def inspect(pdf: bytes) -> SignatureReport:
    """Run the numbered checks on a file's bytes.

    Raises:
        NotARecord: when the file neither starts as a PDF nor holds a signature.
    """
    if not pdf.startswith(b"%PDF-") and b"/ByteRange" not in pdf:
        raise NotARecord("this is not a signed PDF record; give the record's PDF file")
    file = _Examined(pdf)
    checks: list[Check] = []
    findings: list[Finding] = []
    for number, (title, run) in enumerate(_CHECKS, start=1):
        if findings:
            checks.append(Check(number, title, "not reached"))
            continue
        try:
            run(file)
        except (_WrongError, PdfSyntaxError, FormError, CmsError) as fault:
            findings.append(Finding(number, str(fault)))
            checks.append(Check(number, title, "failed"))
        else:
            checks.append(Check(number, title, "passed"))
    if findings:
        return SignatureReport(tuple(checks), tuple(findings), (), None)
    return SignatureReport(tuple(checks), (), tuple(map(_as_signature, file.signed)), LEVEL)


def _as_signature(signed: _Signed) -> Signature:
    certificate, words = signed.certificate, signed.words
    assert certificate is not None
    assert words is not None
    return Signature(
        field=signed.field,
        certificate_der=certificate.der,
        fingerprint_sha256=certificate.fingerprint_sha256,
        common_name=certificate.common_name,
        practice_mark=certificate.practice_mark,
        self_issued=certificate.self_issued,
        issuer=certificate.issuer,
        claimed_time=words.when,
        reason=words.reason,
        location=words.location,
    )
