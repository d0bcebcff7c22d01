"""One trainee is forgotten altogether, the others not at all."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from guide.rig.trainees.forget import NotForgotten, forget
from guide.rig.trainees.roster import NoTrainee
from tests.rig.trainees.desk import PASSPHRASE, Desk, set_up


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = set_up(tmp_path / "practice")
    yield made
    made.bench.close()


def _bytes(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file() and not path.is_symlink()}


def test_the_whole_folder_of_one_trainee_goes_and_nothing_else(desk: Desk, tmp_path: Path) -> None:
    desk.run(7)
    desk.bench.close()
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "kept.txt").write_text("kept")
    ada = desk.roster.folder / "ada"
    (ada / "photos").symlink_to(outside, target_is_directory=True)
    (ada / "note").symlink_to(outside / "kept.txt")
    rest = {p: b for p, b in _bytes(tmp_path).items() if ada not in p.parents}

    gone = forget(desk.roster, "ada", typed_again="ada")
    assert not ada.exists()
    assert _bytes(tmp_path) == rest
    assert (gone.jobs, gone.folder) == (1, ada)
    assert gone.files > 4
    assert gone.size_bytes > 10_000
    assert "1 practice job," in gone.words()[0]
    assert str(ada) in gone.words()[1]
    assert [each.id for each in desk.roster.trainees()] == ["ben"]
    desk.roster.sign_in("ben", PASSPHRASE).bench.close()


def test_the_id_has_to_be_typed_again(desk: Desk) -> None:
    desk.bench.close()
    for typed in ("", "ben", "ADA"):
        with pytest.raises(NotForgotten, match="not the same"):
            forget(desk.roster, "ada", typed_again=typed)
    assert len(desk.roster.trainees()) == 2


def test_nobody_is_forgotten_while_they_work(desk: Desk) -> None:
    with pytest.raises(NotForgotten, match="works in"):
        forget(desk.roster, "ada", typed_again="ada")
    assert (desk.roster.folder / "ada" / "journal.db").exists()


def test_a_journal_that_can_not_be_read_can_be_forgotten(desk: Desk) -> None:
    desk.bench.close()
    (desk.roster.folder / "ada" / "journal.db").write_bytes(b"broken" * 1000)
    gone = forget(desk.roster, "ada", typed_again="ada")
    assert gone.jobs is None
    assert "can't be read" in gone.words()[0]


@pytest.mark.parametrize("name", ["nobody", "..", ".", "", "ada/../ben", "/etc", "A" * 300])
def test_what_is_no_trainee_can_not_be_forgotten(desk: Desk, name: str) -> None:
    with pytest.raises(NoTrainee):
        forget(desk.roster, name, typed_again=name)


def test_a_link_in_a_trainees_place_is_not_followed(desk: Desk, tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "kept.txt").write_text("kept")
    (desk.roster.folder / "eve").symlink_to(outside, target_is_directory=True)
    with pytest.raises(NoTrainee):
        forget(desk.roster, "eve", typed_again="eve")
    assert (outside / "kept.txt").read_text() == "kept"


def test_what_a_power_cut_left_of_a_deletion_goes_with_the_next(desk: Desk) -> None:
    desk.bench.close()
    left = desk.roster.folder / ".leaving-eve-1234"
    left.mkdir()
    (left / "journal.db").write_bytes(b"half")
    forget(desk.roster, "ada", typed_again="ada")
    assert not left.exists()
