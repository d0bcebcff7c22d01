"""The signature value against an independent ASN.1 library, and its one spelling.

The outside source here is asn1crypto's CMS definitions (RFC 5652, RFC 5035), which share no code
with ours.
"""

import hashlib

import asn1crypto.tsp  # noqa: F401 - importing it teaches the library signing-certificate-v2
import pytest
from asn1crypto import cms as asn1_cms
from cryptography.hazmat.primitives.asymmetric import ec
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.record.cms import (
    LONGEST_ECDSA_BYTES,
    P256_ORDER,
    CmsError,
    build_cms,
    cms_length,
    read_element,
    reserved_bytes,
    signed_attributes,
    split_cms,
)
from guide.record.signature import ecdsa_value
from tests.record.signed_files import technician

DIGEST = hashlib.sha256(b"what is signed").digest()


def a_cms() -> bytes:
    der = technician().certificate_der
    return build_cms(der, DIGEST, ecdsa_value(technician().key, signed_attributes(der, DIGEST)))


def test_an_independent_library_reads_one_signer_one_certificate_and_three_attributes() -> None:
    info = asn1_cms.ContentInfo.load(a_cms(), strict=True)
    assert info["content_type"].native == "signed_data"
    content = info["content"]
    assert content["version"].native == "v1"
    assert [each["algorithm"].native for each in content["digest_algorithms"]] == ["sha256"]
    assert content["encap_content_info"]["content_type"].native == "data"
    assert content["encap_content_info"]["content"].native is None
    assert [each.chosen.dump() for each in content["certificates"]] == [technician().certificate_der]
    assert content["crls"].native is None
    (signer,) = content["signer_infos"]
    certificate = content["certificates"][0].chosen
    assert signer["sid"].chosen["issuer"] == certificate.issuer
    assert signer["sid"].chosen["serial_number"].native == certificate.serial_number
    assert signer["digest_algorithm"]["algorithm"].native == "sha256"
    assert signer["signature_algorithm"]["algorithm"].native == "sha256_ecdsa"
    assert signer["unsigned_attrs"].native is None
    attributes = {each["type"].native: each["values"] for each in signer["signed_attrs"]}
    assert set(attributes) == {"content_type", "message_digest", "signing_certificate_v2"}
    assert attributes["content_type"].native == ["data"]
    assert attributes["message_digest"].native == [DIGEST]
    (identified,) = attributes["signing_certificate_v2"][0]["certs"]
    assert identified["hash_algorithm"]["algorithm"].native == "sha256"
    assert identified["cert_hash"].native == hashlib.sha256(technician().certificate_der).digest()


def test_an_independent_library_spells_the_same_der() -> None:
    spelt = a_cms()
    info = asn1_cms.ContentInfo.load(spelt, strict=True)
    assert info.dump(force=True) == spelt
    signer = info["content"]["signer_infos"][0]
    attributes = signer["signed_attrs"].untag().dump(force=True)
    assert attributes == signed_attributes(technician().certificate_der, DIGEST)


def test_the_group_order_is_the_one_of_p256() -> None:
    # (n - 1)·G is -G: the same x as G itself. G's x from SEC 2, section 2.4.2 [from MEMORY].
    generator_x = 0x6B17D1F2E12C4247F8BCE6E563A440F277037D812DEB33A0F4A13945D898C296
    numbers = ec.derive_private_key(P256_ORDER - 1, ec.SECP256R1()).public_key().public_numbers()
    one = ec.derive_private_key(1, ec.SECP256R1()).public_key().public_numbers()
    assert numbers.x == one.x == generator_x
    assert numbers.y != one.y
    with pytest.raises(ValueError, match="Invalid EC key"):
        ec.derive_private_key(P256_ORDER, ec.SECP256R1())


def test_every_value_we_make_is_the_smaller_of_the_two_and_fits_the_room() -> None:
    from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature

    room = reserved_bytes(technician().certificate_der)
    for number in range(60):
        value = ecdsa_value(technician().key, b"%d" % number)
        assert decode_dss_signature(value)[1] <= P256_ORDER // 2
        assert len(value) <= LONGEST_ECDSA_BYTES
        assert len(build_cms(technician().certificate_der, DIGEST, value)) < room


def test_splitting_and_building_give_the_same_bytes() -> None:
    parts = split_cms(a_cms())
    assert parts.certificate_der == technician().certificate_der
    assert parts.message_digest == DIGEST
    again = build_cms(parts.certificate_der, parts.message_digest, parts.ecdsa_value)
    assert split_cms(again) == parts
    assert cms_length(again + bytes(40)) == len(again)


def test_every_single_bit_of_the_value_changes_a_part_or_no_longer_rebuilds() -> None:
    original = a_cms()
    parts = split_cms(original)
    for bit in range(8 * len(original)):
        changed = bytearray(original)
        changed[bit // 8] ^= 1 << bit % 8
        try:
            found = split_cms(bytes(changed))
            rebuilt = build_cms(found.certificate_der, found.message_digest, found.ecdsa_value)
        except CmsError:
            continue
        assert found != parts or rebuilt != bytes(changed)


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=120))
def test_foreign_bytes_are_refused_and_nothing_else_is_raised(noise: bytes) -> None:
    with pytest.raises(CmsError):
        split_cms(noise)


@pytest.mark.parametrize(
    "spelt",
    [
        b"",
        b"\x30",
        b"\x30\x80\x00\x00",
        b"\x30\x81\x01\x00",
        b"\x30\x82\x00\x80" + bytes(128),
        b"\x30\x85\x00",
        b"\x30\x02\x00",
    ],
)
def test_a_length_not_spelt_shortest_is_refused(spelt: bytes) -> None:
    with pytest.raises(CmsError):
        read_element(spelt, 0, len(spelt))
