"""`backup`, `restore`, `people`, `import`, `records` and the customer's copy, as a person calls them."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.cli_call import assert_refused, call
from tests.record.build import PASSPHRASE, play, set_up, whole_job

NEW = "nine brown otters"


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with one finished job."""
    folder = tmp_path_factory.mktemp("data")
    desk, _, _ = whole_job(folder, nature="real")
    desk.bench.close()
    return folder


def test_a_backup_is_made_signed_restored_and_verified(data: Path, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    made = call("backup", "--to", str(stick), "--as", "mara", data=data, passphrase=PASSPHRASE)
    assert (made.code, made.err) == (0, "")
    assert "Keep its fingerprint elsewhere" in made.out
    assert_refused(call("backup", "--to", str(stick), data=data), "exists already")

    back = call("restore", "--from", str(stick), data=tmp_path / "new")
    assert (back.code, back.err) == (0, "")
    assert "Whatever was logged after that is not here" in back.out
    assert call("verify", str(tmp_path / "new" / "journal.db")).code == 0
    listed = call("people", "list", data=tmp_path / "new")
    assert listed.out.startswith("mara  Mara Quill  608 Universal, number U-1  ")
    assert_refused(call("restore", "--from", str(stick), data=tmp_path / "new"), "not empty")
    assert_refused(call("restore", "--from", str(tmp_path / "absent"), data=tmp_path / "x"), "absent")
    assert_refused(call("backup", "--to", str(tmp_path / "y"), data=tmp_path / "none"), "no journal")


def test_people_are_added_and_get_new_keys(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    added = call(
        "people", "add", "sam", "--name", "Sam Roe", "--certification", "EPA 608 Type II",
        data=folder, passphrase=PASSPHRASE,
    )  # fmt: skip
    assert (added.code, added.err) == (0, "")
    before = call("people", "list", data=folder).out
    changed = call("people", "new-key", "sam", data=folder, passphrase=NEW)
    assert (changed.code, changed.err) == (0, "")
    after = call("people", "list", data=folder).out
    assert after.split()[-1] == changed.lines()[-1] != before.split()[-1]
    assert_refused(call("people", "new-key", "nobody", data=folder, passphrase=NEW), "nobody")
    assert_refused(
        call("people", "add", "kim", "--name", "K", "--certification", "none", data=folder), "fd N"
    )


def test_an_export_is_read_elsewhere_and_its_answers_stay_visible(data: Path, tmp_path: Path) -> None:
    out, there = tmp_path / "out", tmp_path / "office"
    assert call("export", "J-0001", "--to", str(out), data=data).code == 0
    kept = call("import", str(out), data=there)
    assert (kept.code, kept.err) == (0, "")
    name = kept.out.split()[0]
    assert name.startswith("J-0001-")
    assert not (there / "journal.db").exists(), "an imported record begins no log"

    assert call("records", "list", data=there).out.startswith(f"{name}  closed 2026-11-25T")
    assert call("records", "list", "--json", data=there).json()["job"] == "J-0001"
    shown = call("records", "show", name, data=there)
    assert shown.code == 0
    assert shown.lines()[0] == "intact; signer not known to you: anyone could have made this"
    assert "anchor: self-attested only" in shown.out
    assert "Whole trail" in shown.out
    assert_refused(call("import", str(out), data=there), "is here already")
    assert_refused(call("records", "show", "J-0001", data=there), "records list")


def test_a_record_that_was_touched_is_not_kept_nor_shown(data: Path, tmp_path: Path) -> None:
    pdf = tmp_path / "record.pdf"
    content = bytearray((data / "records" / "J-0001.pdf").read_bytes())
    content[len(content) // 2] ^= 1
    pdf.write_bytes(content)
    assert_refused(call("import", str(pdf), data=tmp_path / "there"), "NOT INTACT")
    assert not (tmp_path / "there" / "imported").exists()

    name = call("import", str(data / "records" / "J-0001.pdf"), data=tmp_path / "there").out.split()[0]
    (tmp_path / "there" / "imported" / name / "record.pdf").write_bytes(content)
    shown = call("records", "show", name, data=tmp_path / "there")
    assert shown.code == 1
    assert "Whole trail" not in shown.out


@pytest.mark.parametrize("source", ["", "absent.pdf", ".", "/dev/null"])
def test_what_is_no_record_is_not_imported(tmp_path: Path, source: str) -> None:
    assert_refused(call("import", source, data=tmp_path))


def test_the_customers_copy_goes_to_a_file_never_over_another(data: Path, tmp_path: Path) -> None:
    page = tmp_path / "page.pdf"
    made = call("export", "J-0001", "--customer-copy", str(page), data=data)
    assert (made.code, made.out) == (0, f"{page}\n")
    assert page.read_bytes() == (data / "records" / "J-0001-customer.pdf").read_bytes()
    assert_refused(call("export", "J-0001", "--customer-copy", str(page), data=data), "exists")
    assert_refused(call("export", "J-0001", data=data), "--to", "--print")
    assert_refused(
        call("export", "J-0001", "--customer-copy", "-", "--to", str(tmp_path / "o"), data=data), "leave --to"
    )


def test_the_customers_page_is_handed_to_the_printers_queue(
    data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = tmp_path / "lp"
    program.write_text(f"#!/bin/sh\n/bin/cat > {tmp_path}/printed\necho request 1\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    printed = call("export", "J-0001", "--print", data=data)
    assert (printed.code, printed.out) == (0, "request 1\n")
    assert (tmp_path / "printed").read_bytes() == (data / "records" / "J-0001-customer.pdf").read_bytes()

    program.write_text("#!/bin/sh\necho 'no default destination' >&2\nexit 1\n")
    assert_refused(call("export", "J-0001", "--print", data=data), "no default destination")
    program.unlink()
    assert_refused(call("export", "J-0001", "--print", data=data), "neither lp nor lpr")


def test_a_record_signed_with_keys_since_replaced_is_known_here(tmp_path: Path) -> None:
    desk = set_up(tmp_path, nature="real")
    from tests.record.build import ORDER

    work = desk.new(ORDER.replace("nature: practice", "nature: real"))
    play(desk, work)
    issued = desk.sign_off(work)
    desk.bench.replace_keys("mara", NEW)
    desk.bench.close()
    answer = call("verify", str(issued.pdf), data=tmp_path)
    assert "Mara Quill (keys replaced since)" in answer.out
    assert answer.lines()[0].startswith("intact; ")


def test_a_pipe_is_no_record(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert_refused(call("import", str(tmp_path / "pipe"), data=tmp_path))
