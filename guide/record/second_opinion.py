"""What an independent PDF library says of the same signatures.

The profile's own checks come first and do not rest on this; this is one more witness, written by
others. It sees only files that have passed them. The library's synchronous calls start an event
loop of their own, so they run in a thread: that works inside and outside a running loop.
"""

import logging
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO


@dataclass(frozen=True, slots=True)
class ExpectedSignature:
    """One signature that must be found: its field, its certificate, its claimed time."""

    field: str
    certificate_der: bytes
    claimed_time: datetime


def second_opinion(pdf: bytes, expected: Sequence[ExpectedSignature]) -> str | None:
    """None when the library agrees with every signature and finds no other, else what it says.

    Validity is judged at the claimed time: a record does not become altered because a
    certificate has run out since.
    """
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(_ask, pdf, tuple(expected)).result()


def _ask(pdf: bytes, expected: Sequence[ExpectedSignature]) -> str | None:
    from pyhanko.pdf_utils.misc import PdfError
    from pyhanko_certvalidator.errors import (
        CRLValidationError,
        OCSPValidationError,
        PathError,
        ValidationError,
    )

    # Without a handler of its own the library's notes would reach the person's terminal.
    for name in ("pyhanko", "pyhanko_certvalidator"):
        logging.getLogger(name).addHandler(logging.NullHandler())
    library_faults = (
        PdfError,
        PathError,
        ValidationError,
        CRLValidationError,
        OCSPValidationError,
        ValueError,
        LookupError,
        TypeError,
        AttributeError,
        NotImplementedError,
        RecursionError,
        OSError,
    )
    try:
        return _validate(pdf, expected)
    except library_faults as fault:
        return f"the PDF library can't read the signatures ({type(fault).__name__})"


def _validate(pdf: bytes, expected: Sequence[ExpectedSignature]) -> str | None:
    from asn1crypto.x509 import Certificate
    from pyhanko.pdf_utils.reader import PdfFileReader
    from pyhanko.sign.fields import MDPPerm
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko.sign.validation.settings import KeyUsageConstraints
    from pyhanko.sign.validation.status import SignatureCoverageLevel
    from pyhanko_certvalidator import ValidationContext

    signatures = PdfFileReader(BytesIO(pdf), strict=True).embedded_signatures
    fields = [each.field_name for each in signatures]
    if fields != [each.field for each in expected]:
        return f"the PDF library finds signatures in the fields {fields}"
    if signatures[0].docmdp_level is not MDPPerm.FILL_FORMS:
        return "the PDF library does not see a certification with form filling allowed"
    for index, (signature, wanted) in enumerate(zip(signatures, expected, strict=True)):
        context = ValidationContext(
            trust_roots=[Certificate.load(wanted.certificate_der)],
            allow_fetching=False,
            moment=wanted.claimed_time,
        )
        usage = KeyUsageConstraints(
            key_usage={"digital_signature", "non_repudiation"}, match_all_key_usages=False
        )
        status = validate_pdf_signature(signature, context, key_usage_settings=usage)
        if not status.bottom_line:
            return f"the PDF library rejects the signature in the field {wanted.field} ({status.summary()})"
        last = index == len(expected) - 1
        covered = SignatureCoverageLevel.ENTIRE_FILE if last else SignatureCoverageLevel.ENTIRE_REVISION
        if status.coverage is not covered:
            return f"the PDF library sees the signature in the field {wanted.field} cover too little"
    return None
