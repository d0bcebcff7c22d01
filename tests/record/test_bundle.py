"""What rides in a record is read strictly: any bytes at all give an answer, never a fault of ours."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from guide.journal.canonical import canonical, strict_loads
from guide.journal.event import BadEvent, Event
from guide.record.bundle import MANIFEST, NAMES, BadBundle, Bundle, read_bundle, write_bundle
from guide.record.known_signers import FILE_NAME, BadSignerFile, keep_signer, read_known_signers
from guide.record.verify import verify_log, verify_record
from guide.record.witness import BadWitness, judge_anchor, read_signer
from tests.record.build import Bench1, bundle_of, whole_job
from tests.record.forging import forged, rewritten, with_manifest


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Bench1, Bundle]]:
    desk, work, _ = whole_job(tmp_path_factory.mktemp("bench"))
    yield desk, bundle_of(desk, work)
    desk.bench.close()


SHARED = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@SHARED
@given(data=st.data())
def test_a_bundle_with_any_bytes_changed_is_refused_or_reads_the_same(
    made: tuple[Bench1, Bundle], data: st.DataObject
) -> None:
    files = write_bundle(made[1])
    name = data.draw(st.sampled_from(NAMES))
    old = files[name]
    at = data.draw(st.integers(0, len(old) - 1))
    new = old[:at] + data.draw(st.binary(max_size=4)) + old[at + data.draw(st.integers(0, 4)) :]
    changed = {**files, name: new}
    try:
        read = read_bundle(changed if name == MANIFEST else with_manifest(changed))
    except BadBundle:
        return
    assert write_bundle(read).keys() == files.keys()


@settings(SHARED, max_examples=25)
@given(data=st.data())
def test_a_signed_record_with_any_attachment_changed_gets_an_answer(
    made: tuple[Bench1, Bundle], data: st.DataObject
) -> None:
    desk, bundle = made
    files = write_bundle(bundle)
    name = data.draw(st.sampled_from([each for each in NAMES if each != MANIFEST]))
    lines = files[name].split(b"\n")
    at = data.draw(st.integers(0, len(lines) - 1))
    place = data.draw(st.integers(0, max(0, len(lines[at]) - 1)))
    letter = data.draw(st.sampled_from(list(b'0123456789abcdefZ"}{,:- ')))
    lines[at] = lines[at][:place] + bytes([letter]) + lines[at][place + 1 :]
    changed = b"\n".join(lines)
    report = verify_record(forged(desk, bundle, with_manifest({**files, name: changed})))
    assert report.intact == (changed == files[name])


LEAVES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(2**53) + 1, 2**53 - 1),
    st.sampled_from(["", "0", "-1", "1e9", "NaN", "a" * 64, "psig", "1.1", "sign", "in", "N-14", "9" * 29]),
    st.text(max_size=20),
    st.just([]),
    st.just({}),
)


@settings(SHARED, max_examples=30)
@given(data=st.data())
def test_a_log_made_anew_with_any_body_changed_gets_an_answer(
    made: tuple[Bench1, Bundle], data: st.DataObject
) -> None:
    desk, bundle = made

    def edit(events: list[Event]) -> list[Event]:
        at = data.draw(st.integers(0, len(events) - 1))
        body: Any = strict_loads(canonical(events[at].body))
        holder, key = body, data.draw(st.sampled_from(sorted(body)))
        while isinstance(holder[key], dict | list) and holder[key] and data.draw(st.booleans()):
            holder = holder[key]
            keys = sorted(holder) if isinstance(holder, dict) else range(len(holder))
            key = data.draw(st.sampled_from(keys))
        holder[key] = data.draw(LEAVES)
        events[at] = replace(events[at], body=body)
        return events

    try:
        new = rewritten(desk, bundle, edit)
    except BadEvent:
        return
    report = verify_record(forged(desk, bundle, write_bundle(new)))
    assert report.checks[0].outcome == "passed"
    assert report.intact == (new.events == bundle.events)


@SHARED
@given(st.binary(max_size=400))
def test_any_bytes_at_all_get_an_answer_as_a_log(data: bytes) -> None:
    assert not verify_log(data).intact


def test_a_text_that_is_not_utf8_or_a_proof_out_of_range_is_refused(made: tuple[Bench1, Bundle]) -> None:
    files = write_bundle(made[1])
    for name, data in (
        ("checkpoints.txt", b"\xff"),
        ("proofs.json", b'{"consistency":[],"inclusion":[[1,99999]],"nodes":[],"size":3}'),
        ("proofs.json", b'{"consistency":[],"inclusion":[[1,-1]],"nodes":[],"size":3}'),
        ("log.ndjson", b"{}"),
        ("blobs.ndjson", b'{"ref":"x","salt":"AA==","text":""}\n'),
    ):
        with pytest.raises(BadBundle, match=name.partition(".")[0]):
            read_bundle(with_manifest({**files, name: data}))


def test_a_checkpoint_of_another_log_does_not_fit(made: tuple[Bench1, Bundle], tmp_path: Path) -> None:
    other, work, _ = whole_job(tmp_path)
    theirs = bundle_of(other, work).checkpoints[-1]
    other.bench.close()
    answer = judge_anchor(made[1].checkpoints, [theirs], [], made[1].events[-1].seq)
    assert answer.wrong is not None
    assert "another log" in answer.wrong
    assert judge_anchor(made[1].checkpoints, ["not a fingerprint"], [], 3).wrong is not None


def test_a_checkpoint_inside_the_job_anchors_it_up_to_there(made: tuple[Bench1, Bundle]) -> None:
    bundle = made[1]
    answer = judge_anchor(bundle.checkpoints, [bundle.checkpoints[0]], [], bundle.events[-1].seq)
    assert (answer.state, answer.wrong) == ("partly anchored", None)


def test_a_signer_is_a_fingerprint_or_a_certificate() -> None:
    for given_signer in ("", "12", b"\x00\x01", "-----BEGIN CERTIFICATE-----\nxx\n-----END CERTIFICATE-----"):
        with pytest.raises(BadWitness, match="neither"):
            read_signer(given_signer)


def test_known_signers_are_kept_in_one_file(tmp_path: Path) -> None:
    assert read_known_signers(tmp_path) == {}
    keep_signer(tmp_path, "a" * 64, "Mara Quill")
    keep_signer(tmp_path, "b" * 64, "Otto Fenn")
    assert read_known_signers(tmp_path) == {"a" * 64: "Mara Quill", "b" * 64: "Otto Fenn"}
    assert [path.name for path in tmp_path.iterdir()] == [FILE_NAME]
    with pytest.raises(BadSignerFile):
        keep_signer(tmp_path, "short", "x")


@pytest.mark.parametrize(
    "data", [b"", b"[]", b'{"a": 1}', b"\xff", b'{"' + b"c" * 64 + b'": 7}', b"[" * 5000]
)
def test_a_damaged_file_of_signers_is_said(tmp_path: Path, data: bytes) -> None:
    (tmp_path / FILE_NAME).write_bytes(data)
    with pytest.raises(BadSignerFile, match=FILE_NAME):
        read_known_signers(tmp_path)
