from __future__ import annotations

from hashlib import sha256

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.journal.blob import MAX_CHARACTERS, MAX_DOCUMENT_CHARACTERS, BadBlob, Blob


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=50), st.binary(min_size=32, max_size=32))
@settings(max_examples=50, deadline=None)
def test_the_reference_covers_salt_and_text(text: str, salt: bytes) -> None:
    blob = Blob.of(text, salt)
    assert blob.ref == sha256(b"chargewright blob v1\n" + salt + text.encode()).hexdigest()
    assert Blob.of(text + "x", salt).ref != blob.ref


def test_the_same_text_twice_has_two_references() -> None:
    assert Blob.of("Jo").ref != Blob.of("Jo").ref


@pytest.mark.parametrize(
    ("salt", "text"),
    [(b"short", "x"), (bytes(32), "x" * (MAX_DOCUMENT_CHARACTERS + 1)), (bytes(32), "\ud800")],
    ids=["short salt", "long text", "half a pair"],
)
def test_what_cannot_be_kept_is_refused(salt: bytes, text: str) -> None:
    with pytest.raises(BadBlob):
        Blob(salt, text)


def test_a_note_is_shorter_than_a_document_may_be() -> None:
    long = "x" * (MAX_CHARACTERS + 1)
    assert Blob.of_document(long).text == long
    with pytest.raises(BadBlob, match="split it"):
        Blob.of(long)
