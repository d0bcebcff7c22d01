"""Small PDFs and keys to sign them with, made for one test run."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from io import BytesIO

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from reportlab.pdfgen.canvas import Canvas

from guide.record.pdf_form import Attachment, prepare
from guide.record.signature import certify, countersign

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


@dataclass(frozen=True)
class Person:
    name: str
    key: ec.EllipticCurvePrivateKey
    certificate_der: bytes


def person(name: str, *, unit: str | None = None, issuer: Person | None = None) -> Person:
    key = ec.generate_private_key(ec.SECP256R1())
    attributes = [x509.NameAttribute(x509.NameOID.COMMON_NAME, name)]
    if unit is not None:
        attributes.append(x509.NameAttribute(x509.NameOID.ORGANIZATIONAL_UNIT_NAME, unit))
    subject = x509.Name(attributes)
    issuing = (
        x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, issuer.name)])
        if issuer is not None
        else subject
    )
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=True,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )
    certificate = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuing)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(NOW - timedelta(days=1))
        .not_valid_after(NOW + timedelta(days=365))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .sign(key if issuer is None else issuer.key, hashes.SHA256())
    )
    return Person(name, key, certificate.public_bytes(serialization.Encoding.DER))


def pages(*lines: str, count: int = 1) -> bytes:
    out = BytesIO()
    canvas = Canvas(out, invariant=1)
    for number in range(count):
        canvas.drawString(72, 700, f"page {number + 1}")
        for row, line in enumerate(lines):
            canvas.drawString(72, 680 - 14 * row, line)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


LOG = Attachment("log.ndjson", "application/x-ndjson", b'{"seq":0}\n' * 20, "Event log", "Source")
TABLE = Attachment("cylinders.csv", "text/csv", b"cylinder,kg\nN-14,3.20\n", "Cylinders")


@cache
def technician() -> Person:
    return person("Mara Quill", unit="PRACTICE")


@cache
def customer() -> Person:
    return person("Otto Fenn")


@cache
def prepared() -> bytes:
    return prepare(pages("charged 0.17 kg"), [LOG, TABLE], now=NOW)


def certified_by(someone: Person, form: bytes) -> bytes:
    return certify(
        form,
        private_key=someone.key,
        certificate_der=someone.certificate_der,
        name=someone.name,
        reason="I did this work",
        location="Harbour School, roof",
        when=NOW,
    )


def countersigned_by(someone: Person, record: bytes) -> bytes:
    return countersign(
        record,
        private_key=someone.key,
        certificate_der=someone.certificate_der,
        name=someone.name,
        reason="I received this record",
        when=NOW + timedelta(minutes=5),
    )


@cache
def certified() -> bytes:
    return certified_by(technician(), prepared())


@cache
def countersigned() -> bytes:
    return countersigned_by(customer(), certified())
