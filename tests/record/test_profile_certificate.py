"""What a signer's certificate must be."""

from collections.abc import Iterable
from datetime import timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, ed25519, rsa

from guide.record.certificate import CertificateError, issued_by, read_certificate
from tests.record.signed_files import NOW, customer, technician

Key = ec.EllipticCurvePrivateKey | ed25519.Ed25519PrivateKey | rsa.RSAPrivateKey


def certificate(key: Key, names: Iterable[tuple[x509.ObjectIdentifier, str]]) -> bytes:
    name = x509.Name([x509.NameAttribute(oid, text) for oid, text in names])
    return (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(NOW)
        .not_valid_after(NOW + timedelta(days=1))
        .sign(key, None if isinstance(key, ed25519.Ed25519PrivateKey) else hashes.SHA256())
        .public_bytes(serialization.Encoding.DER)
    )


NAMED = [(x509.NameOID.COMMON_NAME, "Mara Quill")]


def test_name_mark_and_fingerprint_come_out_of_the_certificate() -> None:
    read = read_certificate(technician().certificate_der)
    assert (read.common_name, read.practice_mark, read.self_issued) == ("Mara Quill", "PRACTICE", True)
    genuine = x509.load_der_x509_certificate(technician().certificate_der)
    assert read.fingerprint_sha256 == genuine.fingerprint(hashes.SHA256()).hex()
    assert read_certificate(customer().certificate_der).practice_mark is None


@pytest.mark.parametrize(
    "key",
    [
        ec.generate_private_key(ec.SECP384R1()),
        ed25519.Ed25519PrivateKey.generate(),
        rsa.generate_private_key(65_537, 2_048),
    ],
)
def test_another_kind_of_key_is_refused(key: Key) -> None:
    with pytest.raises(CertificateError, match="ECDSA on P-256"):
        read_certificate(certificate(key, NAMED))


def test_a_certificate_that_names_nobody_or_two_is_refused() -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    with pytest.raises(CertificateError, match="names nobody"):
        read_certificate(certificate(key, [(x509.NameOID.ORGANIZATION_NAME, "Shop")]))
    with pytest.raises(CertificateError, match="more than once"):
        read_certificate(certificate(key, [*NAMED, (x509.NameOID.COMMON_NAME, "Other")]))


def test_every_single_bit_of_a_self_made_certificate_is_refused_or_makes_it_issued_by_another() -> None:
    der = technician().certificate_der
    for bit in range(8 * len(der)):
        changed = bytearray(der)
        changed[bit // 8] ^= 1 << bit % 8
        try:
            read = read_certificate(bytes(changed))
        except CertificateError:
            continue
        assert not read.self_issued


def test_who_issued_what_is_decided_by_the_signature_and_damaged_ones_are_refused() -> None:
    assert issued_by(technician().certificate_der, technician().certificate_der)
    assert not issued_by(technician().certificate_der, customer().certificate_der)
    with pytest.raises(CertificateError, match="damaged"):
        issued_by(technician().certificate_der, b"")
