"""`practice run`, `replay` and `debrief`: the model run, an own run beside it, five questions after it."""

from __future__ import annotations

from pathlib import Path

import pytest
from pypdf import PdfReader

from guide.record.verify import verify_journal, verify_record
from tests.cli_call import Answer, assert_refused, call
from tests.rig.trainees.desk import PASSPHRASE

LESSON = "connect-tight"
ANSWERS = ["no air", "hoses purged", "=1+1", "the gauge", "the same"]


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with a trainee who has watched one lesson."""
    folder = tmp_path_factory.mktemp("data")
    call("practice", "add-trainee", "ada", "--name", "Ada Finch", data=folder, passphrase=PASSPHRASE)
    return folder


@pytest.fixture(scope="module")
def watched(data: Path) -> Answer:
    return call(
        "practice", "run", LESSON, "--unattended", "--seed", "3", "--trainee", "ada", data=data,
        passphrase=PASSPHRASE, timeout_s=180,
    )  # fmt: skip


def test_a_model_run_is_watched_kept_with_the_trainee_and_ends_with_its_record(
    data: Path, watched: Answer
) -> None:
    assert (watched.code, watched.err) == (0, "")
    assert watched.lines()[0].startswith("PRACTICE: ")
    assert "score 100 of 100, passed" in watched.lines()
    pdf = Path(watched.lines()[-1])
    assert pdf == data / "practice" / "trainees" / "ada" / "records" / "J-0001.pdf"
    assert (verify_record(pdf.read_bytes()).sound, verify_record(pdf.read_bytes()).nature) == (
        True,
        "practice",
    )
    pages = [page.extract_text() for page in PdfReader(pdf).pages]
    assert all("PRACTICE: no evidence of work on a real system" in page for page in pages)
    assert any("This job is the run of a lesson" in page and f"{LESSON}; 3; worked" in page for page in pages)
    assert verify_journal(data / "practice" / "trainees" / "ada" / "journal.db").sound

    told = call("practice", "record", "--trainee", "ada", "--json", data=data).json()["lessons"][0]
    assert (told["attempts"][0]["help"], told["attempts"][0]["seed"]) == ("worked", 3)
    assert (told["mastered_on"], told["passes"]) == (None, []), "to have watched shows nothing"
    assert "watched 1 time" in told["standing"]


def test_an_own_run_stands_beside_the_model_run_step_by_step(data: Path, watched: Answer) -> None:
    told = call("practice", "replay", "J-0001", "--trainee", "ada", "--json", data=data, timeout_s=180).json()
    assert (told["lesson"], told["seed"], told["points"]) == (LESSON, 3, 100)
    connect = next(each for each in told["steps"] if each["do"].startswith("CONNECT the hoses"))
    assert connect["model"] is not None
    assert connect["own"]["said"] == connect["model"]["said"]
    assert connect["losses"] == []
    spoken = call("practice", "replay", "J-0001", "--trainee", "ada", data=data, timeout_s=180)
    assert (spoken.code, spoken.err) == (0, "")
    assert spoken.lines()[1] == "score 100 of 100, passed"


def test_five_answers_are_kept_once_and_stand_beside_the_model_answers(data: Path, watched: Answer) -> None:
    def debrief(*more: str, passphrase: str | None = None) -> Answer:
        return call(
            "practice", "debrief", "J-0001", "--trainee", "ada", *more, data=data, passphrase=passphrase
        )

    assert_refused(debrief(), "no debrief yet", "--answer 5 times")
    assert_refused(debrief("--answer", "one"), "5 questions")
    given = [word for answer in ANSWERS for word in ("--answer", answer)]
    assert_refused(debrief(*given), "fd N")
    assert_refused(debrief(*given, passphrase="not this one"), "passphrase")
    kept = debrief(*given, passphrase=PASSPHRASE)
    assert (kept.code, kept.err) == (0, "")
    assert kept.lines()[1] == "  you:   no air"
    assert kept.lines()[2].startswith("  model: ")
    assert len(kept.lines()) == 15

    told = debrief("--json").json()
    assert [each["answer"] for each in told] == ANSWERS
    assert all(each["model"] for each in told)
    assert verify_journal(data / "practice" / "trainees" / "ada" / "journal.db").sound


def test_a_model_run_of_nobody_goes_to_a_fresh_folder(tmp_path: Path) -> None:
    answer = call("practice", "run", LESSON, "--unattended", data=tmp_path, timeout_s=180)
    assert (answer.code, answer.err) == (0, "")
    assert "score 100 of 100, passed" in answer.lines(), "the model run loses nothing"
    pdf = Path(answer.lines()[-1])
    assert pdf.is_relative_to(tmp_path / "practice" / "unattended")
    assert verify_record(pdf.read_bytes()).nature == "practice"


def test_what_can_not_be_run_or_told_is_refused_in_words(data: Path, watched: Answer) -> None:
    assert_refused(call("practice", "run", LESSON, data=data), "terminal", "--unattended")
    assert_refused(call("practice", "run", LESSON, "--seed", "1", data=data), "--unattended")
    assert_refused(call("practice", "run", "no-such", "--unattended", data=data), "no lesson")
    assert_refused(
        call("practice", "run", LESSON, "--unattended", "--trainee", "eve", data=data, passphrase=PASSPHRASE),
        "not known here",
    )
    assert_refused(call("practice", "replay", "J-0099", "--trainee", "ada", data=data), "J-0099")
    assert_refused(call("practice", "replay", "J-0001", "--trainee", "eve", data=data), "not known here")
    assert_refused(call("practice", "debrief", "../x", "--trainee", "ada", data=data), "not in")
