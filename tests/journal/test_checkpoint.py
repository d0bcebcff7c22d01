"""Vectors: FOUND, c2sp.org/signed-note and c2sp.org/tlog-checkpoint (github.com/C2SP/C2SP at
5ba5ee830903), and the examples of the sumdb/note package (github.com/golang/mod at fe2ec04f7c3c,
example_test.go and note_test.go)."""

from __future__ import annotations

from base64 import b64decode
from hashlib import sha256

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.journal.checkpoint import (
    MAX_SIGNATURES,
    BadCheckpoint,
    Checkpoint,
    UnknownSigner,
    Verifier,
    fingerprint,
    open_note,
    open_text,
    read_unverified,
    same_fingerprint,
    sign,
    sign_text,
)
from guide.journal.keys import LogKey
from tests.journal.making import log_key, verifier

TEXT = "If you think cryptography is the answer to your problem,\nthen you don't know what your problem is.\n"
PETER_KEY = "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW"
PETER_LINE = (
    "— PeterNeumann x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FFYC2pZSN"
    "XgKvqfqdngotpRZb6KE6RyyBwJnAM=\n"
)
ENOCH_KEY = "EnochRoot+af0cfe78+ATtqJ7zOtqQtYqOo0CpvDXNlMhV3HeJDpjrASKGLWdop"
ENOCH_LINE = (
    "— EnochRoot rwz+eBzmZa0SO3NbfRGzPCpDckykFXSdeX+MNtCOXm2/5n2tiOHp+vAF1aGrQ5ovTG01"
    "oOTGwnWLox33WWd1RvMc+QQ=\n"
)
HEAD = Checkpoint("chargewright/log/" + "0" * 32, 12, sha256(b"root").digest())


def test_the_published_message_opens_with_the_published_key() -> None:
    key = Verifier.from_vkey("example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k")
    note = (
        "This is an example message.\n\n— example.com/foo "
        "Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=\n"
    )
    assert open_text(note, [key]) == ("This is an example message.\n", (key,))


def test_the_published_private_key_gives_the_published_signature() -> None:
    seed = b64decode("AYEKFALVFGyNhPJEMzD1QIDr+Y7hfZx09iUvxdXHKDFz")
    private = Ed25519PrivateKey.from_private_bytes(seed[1:])
    signer = LogKey("PeterNeumann", private.public_key().public_bytes_raw(), private)
    assert signer.verifier.vkey == PETER_KEY
    assert sign_text(TEXT, signer) == f"{TEXT}\n{PETER_LINE}"


def test_signatures_of_several_known_keys_are_all_reported() -> None:
    peter, enoch = Verifier.from_vkey(PETER_KEY), Verifier.from_vkey(ENOCH_KEY)
    note = f"{TEXT}\n{PETER_LINE}{ENOCH_LINE}"
    assert open_text(note, [enoch, peter]) == (TEXT, (peter, enoch))
    assert open_text(note, [enoch]) == (TEXT, (enoch,))


def test_the_published_checkpoint_is_read() -> None:
    note = (
        "example.com/behind-the-sofa\n20852163\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n\n"
        "— example.com/behind-the-sofa "
        "Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4URYN7u5/Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8=\n"
    )
    head = read_unverified(note)
    assert (head.origin, head.size) == ("example.com/behind-the-sofa", 20852163)
    assert note.startswith(head.text)


@pytest.mark.parametrize(
    "note",
    [
        TEXT,
        f"{TEXT}\n",
        f"{TEXT}\n{PETER_LINE[:-1]}",
        f"\x01{TEXT}\n{PETER_LINE}",
        f"{TEXT}\n— Bad Name x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FFYC2pZSNXgKvqfqdng\n",
        f"{TEXT}\n{PETER_LINE}Unexpected line.\n",
        f"{TEXT}\n{PETER_LINE * (MAX_SIGNATURES + 1)}",
        f"{TEXT}\ud800\n{PETER_LINE}",
        "x" * 2_000_000,
    ],
)
def test_published_and_other_malformed_notes_are_refused(note: str) -> None:
    with pytest.raises(BadCheckpoint):
        open_text(note, [Verifier.from_vkey(PETER_KEY)])


@pytest.mark.parametrize(
    "vkey",
    [
        "",
        "PeterNeumann",
        "PeterNeumann+c74f20a4+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW",
        "PeterNeumann+cc469956+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TWBADKEY==",
        "PeterNeumann+173116ae+ZRpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW",
        "+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW",
    ],
)
def test_malformed_verifier_keys_are_refused(vkey: str) -> None:
    with pytest.raises(BadCheckpoint):
        Verifier.from_vkey(vkey)


def test_a_checkpoint_signed_is_opened_by_its_key() -> None:
    opened = open_note(sign(HEAD, log_key()), [verifier()])
    assert opened.checkpoint == HEAD
    assert opened.signers == (verifier(),)


def test_a_checkpoint_signed_by_a_stranger_is_told_from_a_forged_one() -> None:
    note = sign(HEAD, log_key())
    with pytest.raises(UnknownSigner):
        open_note(note, [verifier(seed=2)])
    with pytest.raises(BadCheckpoint, match="does not hold"):
        open_note(note.replace("\n12\n", "\n13\n"), [verifier()])


def test_lines_of_unknown_keys_are_ignored() -> None:
    note = sign(HEAD, log_key()) + sign(HEAD, log_key("somebody/else", 3)).rpartition("\n\n")[2]
    assert open_note(note, [verifier()]).signers == (verifier(),)


def test_two_keys_of_one_name_and_id_are_refused() -> None:
    one = verifier()

    class Twin(Verifier):
        @property
        def key_id(self) -> bytes:
            return one.key_id

    with pytest.raises(BadCheckpoint, match="share"):
        open_note(sign(HEAD, log_key()), [one, Twin(one.name, b"\x05" * 32)])


@pytest.mark.parametrize(
    "text",
    [
        "",
        "a\n1\n",
        "a\n01\n" + "A" * 43 + "=\n",
        "a\n-1\n" + "A" * 43 + "=\n",
        "a\n1\n" + "A" * 43 + "=\nmore\n",
        "\n1\n" + "A" * 43 + "=\n",
        "a\n1\nAAAA\n",
        "a\n1\n" + "A" * 42 + "B=\n",
        "a\n１\n" + "A" * 43 + "=\n",
    ],
)
def test_malformed_checkpoint_texts_are_refused(text: str) -> None:
    with pytest.raises(BadCheckpoint):
        Checkpoint.from_text(text)


@given(st.text(max_size=80))
@settings(max_examples=200, deadline=None)
def test_arbitrary_text_is_refused_and_never_crashes(text: str) -> None:
    with pytest.raises(BadCheckpoint):
        open_note(text, [verifier()])


@given(st.integers(0, 200), st.integers(1, 127))
@settings(max_examples=150, deadline=None)
def test_a_note_with_any_letter_changed_is_refused(at: int, flip: int) -> None:
    note = sign(HEAD, log_key())
    at %= len(note)
    forged = note[:at] + chr(ord(note[at]) ^ flip) + note[at + 1 :]
    with pytest.raises(BadCheckpoint):
        open_note(forged, [verifier()])


def test_the_fingerprint_is_short_plain_and_covers_the_head_not_the_signer() -> None:
    printed = fingerprint(sign(HEAD, log_key()))
    assert printed == fingerprint(sign(HEAD, log_key("somebody/else", 3)))
    groups = printed.split("-")
    assert [len(group) for group in groups] == [4] * 5
    assert not set(printed) & set("ILOU")
    for other in (
        Checkpoint(HEAD.origin, 13, HEAD.root_hash),
        Checkpoint(HEAD.origin + "1", 12, HEAD.root_hash),
        Checkpoint(HEAD.origin, 12, sha256(b"other").digest()),
    ):
        assert fingerprint(sign(other, log_key())) != printed


def test_a_fingerprint_typed_by_hand_is_recognised() -> None:
    printed = "10AB-CDEF-GH1J-KMN0-PQRS"
    assert same_fingerprint("ioab cdef ghlj kmno pqrs", printed)
    assert not same_fingerprint("10AB-CDEF-GH1J-KMN0-PQRT", printed)


def test_a_text_that_cannot_be_a_note_is_not_signed() -> None:
    for text in ("no newline", "tab\there\n"):
        with pytest.raises(BadCheckpoint):
            sign_text(text, log_key())
    with pytest.raises(BadCheckpoint, match="name"):
        sign(HEAD, log_key("two words"))
