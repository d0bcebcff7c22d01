"""`verify`, `export` and `procedures` as their contract says."""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from guide.job.commands import SignOff
from guide.job.focus import Front
from guide.job.order import read_order
from guide.rig.orders import demonstration_order
from guide.rig.rehearsal import prepare
from tests.cli_call import assert_refused, call


@dataclass(frozen=True, slots=True)
class Made:
    """One finished demonstration, and an export of it."""

    folder: Path
    pdf: Path
    certificate_sha256: str
    fingerprint: str
    checkpoint: Path
    exported: Path


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("made")
    rehearsal = prepare(demonstration_order(), folder)
    while rehearsal.step() is not None:
        pass
    assert rehearsal.work.focus().front is Front.CLOSED
    assert rehearsal.issued is not None
    note = folder / "note.txt"
    note.write_text(rehearsal.work.checkpoints[-1])
    rehearsal.close()
    exported = folder / "exported"
    answer = call("export", "J-0001", "--to", str(exported), "--data", str(folder))
    assert (answer.code, answer.err) == (0, "")
    return Made(
        folder, rehearsal.issued.pdf, rehearsal.technician.certificate_sha256, rehearsal.issued.fingerprint,
        note, exported,
    )  # fmt: skip


def altered(made: Made, tmp_path: Path) -> Path:
    data = bytearray(made.pdf.read_bytes())
    data[len(data) // 2] ^= 1
    path = tmp_path / "altered.pdf"
    path.write_bytes(data)
    return path


# -- verify ---------------------------------------------------------------------------------------


def test_a_demonstrations_record_is_practice(made: Made) -> None:
    answer = call("verify", str(made.pdf))

    assert (answer.code, answer.err) == (0, "")
    assert answer.lines()[0] == "PRACTICE"
    assert "self-attested only" in answer.out


def test_verify_answers_three_things_in_json(made: Made) -> None:
    got = call("verify", str(made.pdf), "--json").json()

    assert got["file"] == str(made.pdf)
    assert (got["intact"], got["sound"], got["signer_known"]) == (True, True, False)
    assert got["anchor"] == "self-attested only"


def test_one_altered_bit_is_exit_1(made: Made, tmp_path: Path) -> None:
    answer = call("verify", str(altered(made, tmp_path)))

    assert (answer.code, answer.err) == (1, "")
    assert answer.lines()[0].startswith("NOT INTACT")


def test_a_truncated_or_unsigned_pdf_is_not_sound(made: Made, tmp_path: Path) -> None:
    short, unsigned = tmp_path / "short.pdf", tmp_path / "unsigned.pdf"
    short.write_bytes(made.pdf.read_bytes()[:5000])
    unsigned.write_bytes(b"%PDF-1.7\n%%EOF\n")

    for path in (short, unsigned):
        answer = call("verify", str(path))
        assert (answer.code, answer.err) == (1, "")
        assert answer.lines()[0].startswith("NOT INTACT")


def test_a_named_signer_is_known_and_a_wrong_one_is_exit_1(made: Made) -> None:
    right = call("verify", str(made.pdf), "--signer", made.certificate_sha256, "--json")
    wrong = call("verify", str(made.pdf), "--signer", "0" * 64)

    assert (right.code, right.json()["signer_known"]) == (0, True)
    assert wrong.code == 1
    assert wrong.lines()[0].startswith("WRONG SIGNER")


def test_a_signer_that_must_be_known_and_is_not_is_exit_1(made: Made) -> None:
    assert call("verify", str(made.pdf), "--require-known-signer").code == 1
    named = ("--signer", made.certificate_sha256)
    assert call("verify", str(made.pdf), "--require-known-signer", *named).code == 0


def test_a_signer_once_kept_is_known_and_an_altered_record_keeps_nobody(made: Made, tmp_path: Path) -> None:
    data = ("--data", str(tmp_path))
    assert call("verify", str(altered(made, tmp_path)), "--keep-signer", "rig", *data).code == 1
    assert call("verify", str(made.pdf), "--require-known-signer", *data).code == 1

    assert call("verify", str(made.pdf), "--keep-signer", "rig", *data).code == 0
    assert call("verify", str(made.pdf), "--require-known-signer", *data).code == 0


def test_a_checkpoint_from_outside_anchors_and_a_wrong_one_is_exit_1(made: Made) -> None:
    by_note = call("verify", str(made.pdf), "--checkpoint", str(made.checkpoint), "--json")
    by_fingerprint = call("verify", str(made.pdf), "--checkpoint", made.fingerprint, "--json")
    wrong = call("verify", str(made.pdf), "--checkpoint", "AAAA-BBBB-CCCC-DDDD-EEEE")

    assert (by_note.code, by_note.json()["anchor"]) == (0, "anchored")
    assert (by_fingerprint.code, by_fingerprint.json()["anchor"]) == (0, "anchored")
    assert wrong.code == 1


def test_unusable_signers_and_checkpoints_are_exit_2(made: Made) -> None:
    assert_refused(call("verify", str(made.pdf), "--signer", "nobody"), "signer")
    binary = made.folder / "binary"
    binary.write_bytes(b"\xff\x00\xfe")
    assert_refused(call("verify", str(made.pdf), "--checkpoint", str(binary)), "checkpoint")


def test_a_journal_an_exported_log_and_a_folder_can_be_checked(made: Made) -> None:
    answer = call(
        "verify",
        str(made.folder / "journal.db"),
        str(made.exported / "log.ndjson"),
        str(made.exported),
        "--json",
    )

    kinds = [json.loads(line)["kind"] for line in answer.lines()]
    assert (answer.code, answer.err) == (0, "")
    assert kinds == ["journal", "log", "log", "record"]


def test_an_altered_log_is_exit_1(made: Made, tmp_path: Path) -> None:
    path = tmp_path / "log.ndjson"
    lines = (made.exported / "log.ndjson").read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:5] + lines[6:]))

    assert call("verify", str(path)).code == 1


def test_of_several_files_each_is_answered_and_the_worst_counts(made: Made, tmp_path: Path) -> None:
    bad = altered(made, tmp_path)
    both = call("verify", str(made.pdf), str(bad))
    missing = call("verify", str(tmp_path / "none.pdf"), str(made.pdf))

    assert both.code == 1
    assert sum("about " in line for line in both.lines()) == 2
    assert missing.lines()[0] == "PRACTICE"
    assert_refused(missing, "no such file")


# -- export ---------------------------------------------------------------------------------------


def test_an_export_holds_log_record_and_tables(made: Made) -> None:
    lines = (made.exported / "log.ndjson").read_bytes().splitlines()
    tables = sorted((made.exported / "tables").glob("*.csv"))

    assert {json.loads(line)["job"] for line in lines} == {"J-0001"}
    assert (made.exported / "record.pdf").read_bytes() == made.pdf.read_bytes()
    assert tables
    for table in tables:
        with table.open(newline="") as file:
            assert len({len(row) for row in csv.reader(file)}) == 1


def test_nothing_is_exported_over(made: Made) -> None:
    again = call("export", "J-0001", "--to", str(made.exported), "--data", str(made.folder))

    assert_refused(again, "exists already")


def test_a_job_that_is_not_there_is_refused_with_those_that_are(made: Made, tmp_path: Path) -> None:
    answer = call("export", "J-0099", "--to", str(tmp_path / "to"), "--data", str(made.folder))

    assert_refused(answer, "J-0099", "J-0001")
    assert not (tmp_path / "to").exists()
    assert_refused(call("export", "J-0001", "--to", str(tmp_path / "to"), data=tmp_path), "no journal")


PASSPHRASE = "a pass phrase of some length"


@pytest.fixture
def unrecorded(tmp_path: Path) -> Path:
    """A practice job that was closed, but whose record was never made: the program stopped in between."""
    folder = tmp_path / "unrecorded"
    order = read_order(
        demonstration_order().text.replace("nature: demonstration", "nature: practice").encode(), "o"
    )
    start = datetime(2026, 3, 2, 9, tzinfo=UTC)
    rehearsal = prepare(order, folder, start=start, passphrase=PASSPHRASE)
    while rehearsal.player.step() is not None:
        pass
    work, technician = rehearsal.work, rehearsal.technician
    work.do(SignOff(work.keep(technician.known.name), technician.certificate_sha256))
    rehearsal.close()
    return folder


def test_a_missing_record_is_said_and_made_with_the_passphrase(unrecorded: Path, tmp_path: Path) -> None:
    without = call("export", "J-0001", "--to", str(tmp_path / "a"), "--data", str(unrecorded))
    wrong = call(
        "export",
        "J-0001",
        "--to",
        str(tmp_path / "b"),
        "--data",
        str(unrecorded),
        passphrase="not this one at all",
    )
    right = call(
        "export", "J-0001", "--to", str(tmp_path / "c"), "--data", str(unrecorded), passphrase=PASSPHRASE
    )

    assert without.code == 0
    assert "no record" in without.lines()[-1]
    assert_refused(wrong, "passphrase")
    assert (right.code, right.err) == (0, "")
    assert call("verify", str(tmp_path / "c" / "record.pdf")).lines()[0] == "PRACTICE"


def test_a_passphrase_descriptor_without_a_passphrase_is_refused(unrecorded: Path, tmp_path: Path) -> None:
    arguments = ("export", "J-0001", "--to", str(tmp_path / "a"), "--data", str(unrecorded))

    assert_refused(call(*arguments, passphrase=""), "--passphrase-fd")
    assert_refused(call("--passphrase-fd", "77", *arguments), "--passphrase-fd 77")
    assert_refused(call(*arguments, passphrase="x" * 3000), "--passphrase-fd")
    assert not (tmp_path / "a").exists()


# -- procedures -----------------------------------------------------------------------------------


def test_the_library_is_listed() -> None:
    answer = call("procedures", "list")
    listed = call("procedures", "list", "--json").json()

    assert answer.code == 0
    assert "charge-fixed-orifice" in answer.out
    assert {"id", "title", "revision", "status", "sha256", "steps"} == set(listed[0])


def test_a_procedure_is_shown_with_each_hazard_before_its_step() -> None:
    lines = call("procedures", "show", "charge-fixed-orifice").lines()

    hazard = next(number for number, line in enumerate(lines) if "WARNING" in line)
    assert lines[hazard + 1].strip()[0].isdigit()


def test_a_procedure_is_printed_with_blanks() -> None:
    answer = call("procedures", "print", "charge-fixed-orifice")

    assert answer.code == 0
    assert "____" in answer.out
    assert max(len(line) for line in answer.lines()) <= 80


def test_lint_is_quiet_about_a_good_file_and_names_file_line_and_rule_of_a_bad_one(tmp_path: Path) -> None:
    from guide.procedure.library import path_of

    good = path_of("charge-fixed-orifice")
    bad = tmp_path / "bad.yaml"
    bad.write_text(good.read_text().replace("metering, is: [fixed orifice]", "wheather, is: [fine]", 1))

    assert call("procedures", "lint", str(good)).code == 0
    answer = call("procedures", "lint", str(bad))
    faults = call("procedures", "lint", str(bad), "--json").json()
    assert (answer.code, answer.err) == (1, "")
    assert f"{bad}:" in answer.out
    assert {"file", "line", "column", "rule", "message", "blocks"} == set(faults[0])
    assert faults[0]["line"] > 1
    assert f"[{faults[0]['rule']}]" in answer.out


def test_two_revisions_are_compared_one_line_a_change(tmp_path: Path) -> None:
    from guide.procedure.library import path_of

    newer = tmp_path / "newer.yaml"
    text = path_of("charge-fixed-orifice").read_text()
    newer.write_text(text.replace('revision: "3"', 'revision: "4"').replace("who else is", "who is"))

    same = call("procedures", "diff", "charge-fixed-orifice", "charge-fixed-orifice")
    answer = call("procedures", "diff", "charge-fixed-orifice", str(newer))
    read = call("procedures", "diff", "charge-fixed-orifice", str(newer), "--json").json()

    assert (same.code, same.out) == (0, "no difference\n")
    assert (answer.code, answer.err, len(answer.lines())) == (0, "", 2)
    assert [(one["kind"], one["where"]) for one in read] == [("changed", "revision"), ("changed", "1.4")]
    assert all(one["what"] in line for one, line in zip(read, answer.lines(), strict=True))


def test_what_can_t_be_compared_is_refused(tmp_path: Path) -> None:
    broken = tmp_path / "broken.yaml"
    broken.write_text("format: procedure/1\n")

    for one in (str(broken), str(tmp_path / "absent.yaml"), "no-such"):
        answer = call("procedures", "diff", "charge-fixed-orifice", one)
        assert (answer.code, answer.out) == (2, "")
        assert len(answer.err.splitlines()) == 1
