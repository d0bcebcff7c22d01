"""`practice`: lessons, those who learn, what they showed, who signs it off, as a person calls them."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime
from pathlib import Path

import pytest

from guide.journal.port import SimulatedClock
from guide.record.verify import verify_journal
from guide.rig.learning.lesson import Help
from guide.rig.learning.shelf import load
from guide.rig.trainees import keeping
from guide.rig.trainees.model_run import at_bench
from guide.rig.trainees.roster import Roster
from tests.cli_call import assert_refused, call
from tests.rig.trainees.desk import FIRST_DAY, LESSON, OWN, PASSPHRASE, Desk, set_up, utc

SINCE = (datetime.now(UTC) - FIRST_DAY).days
"""Days since the first run: what was mastered yesterday is not due again yet."""
MASTERED = utc(SINCE - 1)[:10]


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with two trainees, a trainer, and a lesson one of them mastered."""
    folder = tmp_path_factory.mktemp("data")
    desk = set_up(folder / "practice")
    write_own(folder)
    job = desk.run(6)
    desk.score(job, 6, 60)
    desk.passes(7, 8, days=SINCE - 2)
    keeping.keep_debrief(
        desk.bench,
        desk.technician,
        job,
        ["hoses on", "air got in", "=1+1", "the gauge", "purge first"],
        utc=utc(),
    )
    desk.bench.close()
    return folder


def write_own(data: Path) -> Path:
    """The invented lesson as a trainer's own file."""
    path = data / "practice" / "lessons" / f"{LESSON.id}.yaml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(OWN)
    return path


def test_practice_without_a_terminal_tells_its_commands(tmp_path: Path) -> None:
    answer = call("practice", data=tmp_path)
    assert (answer.code, answer.err) == (0, "")
    assert "add-trainee" in answer.out
    assert list(tmp_path.iterdir()) == []


def test_trainees_are_made_known_each_with_a_passphrase_of_their_own(tmp_path: Path) -> None:
    none = call("practice", "trainees", data=tmp_path)
    assert (none.code, none.lines()) == (
        0, ["nobody learns here yet: chargewright practice add-trainee ID --name NAME"]
    )  # fmt: skip
    added = call(
        "practice", "add-trainee", "ada", "--name", "Ada Finch", data=tmp_path, passphrase=PASSPHRASE
    )
    assert (added.code, added.err) == (0, "")
    assert added.out.startswith("Ada Finch (ada) learns here now")
    teaching = call(
        "practice", "add-trainer", "tess", "--name", "Tess Rook", data=tmp_path, passphrase=PASSPHRASE
    )
    assert (teaching.code, teaching.err) == (0, "")

    listed = call("practice", "trainees", data=tmp_path)
    assert (
        listed.lines()[0]
        == "ada              Ada Finch: mastered 0, signed off 0, set and open 0, refresh due 0"
    )
    assert listed.lines()[1] == f"tess             Tess Rook: teaches, key {teaching.lines()[-1]}"
    told = call("practice", "trainees", "--json", data=tmp_path).json()
    assert [each["id"] for each in told["trainees"]] == ["ada"]
    assert told["trainers"][0]["key_sha256"] == teaching.lines()[-1]
    for name in ("practice/journal.db", "practice/trainees/ada/journal.db"):
        assert verify_journal(tmp_path / name).nature == "practice"


def test_what_can_be_no_trainee_is_refused_in_words(data: Path, tmp_path: Path) -> None:
    def add(trainee: str, name: str, passphrase: str | None = PASSPHRASE) -> None:
        assert_refused(
            call("practice", "add-trainee", trainee, "--name", name, data=data, passphrase=passphrase)
        )

    add("ada", "Ada Finch")
    add("../ada", "Up")
    add("Eve Smith", "Eve")
    add("eve", "")
    add("eve", "x" * 300)
    add("eve", "Eve", "short")
    add("eve", "Eve", None)
    add("nul", "Nul")
    assert "eve" not in call("practice", "trainees", data=data).out
    assert_refused(call("practice", "record", "--trainee", "eve", data=data), "not known here", "ada, ben")
    assert_refused(call("practice", "record", "--trainee", "ada", data=tmp_path), "nobody yet")


def test_a_record_names_the_event_of_every_lost_point_and_what_is_mastered(data: Path) -> None:
    answer = call("practice", "record", "--trainee", "ada", data=data)
    assert (answer.code, answer.err) == (0, "")
    assert answer.lines()[0] == "Ada Finch (ada)"
    assert (
        "  J-0001  2026-11-02  seed 6, help none: 60 of 100, not passed; 1 hint; debriefed" in answer.lines()
    )
    assert "      -40 order: purged too late (event 3, after 12 s)" in answer.lines()
    assert "connect-clean: mastered; refresh on " in answer.out

    told = call("practice", "record", "--trainee", "ada", "--json", data=data).json()
    (lesson,) = told["lessons"]
    assert (lesson["mastered_on"], lesson["passes"]) == (MASTERED, ["J-0002", "J-0003"])
    assert [each["points"] for each in lesson["attempts"]] == [60, 92, 92]
    assert lesson["attempts"][0]["losses"] == [
        {"item": "order", "points": 40, "event": 3, "words": "purged too late", "after_s": 12.5}
    ]
    assert told["debriefs"][0]["answers"][4] == "purge first"
    assert told["faults"] == []
    able = {each["skill"]: each for each in told["skills"]}
    assert (able["leak testing"]["mastered"], able["leak testing"]["shown"]) == ([LESSON.id], True)
    assert "  leak testing: mastered 1 of 1 lessons" in answer.lines()


def test_a_record_goes_out_as_a_table_never_over_another_file(data: Path, tmp_path: Path) -> None:
    file = tmp_path / "ada.csv"
    made = call("practice", "record", "--trainee", "ada", "--csv", str(file), data=data)
    assert (made.code, made.lines()[-1]) == (0, str(file))
    rows = list(csv.DictReader(io.StringIO(file.read_text())))
    assert [(row["job"], row["lost points"], row["lost by event"]) for row in rows] == [
        ("J-0001", "40", "3"), ("J-0002", "8", "3"), ("J-0003", "8", "3"),
    ]  # fmt: skip
    assert {row["lesson mastered"] for row in rows} == {MASTERED}
    assert_refused(call("practice", "record", "--trainee", "ada", "--csv", str(file), data=data), "exists")
    assert_refused(call("practice", "record", "--trainee", "ada", "--csv", "", data=data), "empty")
    streamed = call("practice", "record", "--trainee", "ada", "--csv", "-", data=data)
    assert streamed.out.encode() == file.read_bytes()
    assert_refused(
        call("practice", "record", "--trainee", "ada", "--csv", "-", "--json", data=data), "standard output"
    )


def test_a_lesson_is_set_with_a_seed_and_a_day(tmp_path: Path) -> None:
    set_up(tmp_path / "practice").bench.close()
    write_own(tmp_path)
    made = call(
        "practice", "assign", LESSON.id, "--trainee", "ben", "--seed", "12", "--due", "2026-12-01",
        "--by", "tess", "--note", "mind the purge", data=tmp_path,
    )  # fmt: skip
    assert (made.code, made.out) == (0, "connect-clean is set for ben on seed 12 until 2026-12-01\n")
    told = call("practice", "record", "--trainee", "ben", data=tmp_path)
    assert "by tess, seed 12, until 2026-12-01: mind the purge; open" in told.out
    listed = call("practice", "lessons", "--trainee", "ben", data=tmp_path)
    assert "not begun, set by tess until 2026-12-01" in listed.out

    def refused(*arguments: str) -> None:
        assert_refused(call("practice", "assign", *arguments, data=tmp_path))

    refused(LESSON.id, "--trainee", "ben", "--due", "tomorrow")
    refused(LESSON.id, "--trainee", "ben", "--seed", "-1")
    refused(LESSON.id, "--trainee", "ben", "--seed", "99999999999")
    refused("no-such-lesson", "--trainee", "ben")
    refused(LESSON.id, "--trainee", "nobody")
    refused(LESSON.id, "--trainee", "ben", "--note", "")


def _worked(data: Path, lesson: str, *seeds: int) -> None:
    """Runs of a shipped lesson on ada's bench, worked to their end and scored."""
    ready, roster = load(lesson), Roster(data / "practice")
    for seed in seeds:
        clock = SimulatedClock(datetime.now(UTC))
        at_work = roster.sign_in("ada", PASSPHRASE, clock=clock)
        model = at_bench(ready, seed, at_work.bench, at_work.technician, PASSPHRASE, level=Help.NONE)
        while model.score is None and model.step() is not None:
            pass
        assert model.score is not None
        entry = keeping.scored(
            model.work.state.job, ready.lesson, seed=seed, help_level="none", score=model.score,
            conclusion=None, hints=0, utc=utc(SINCE - 1),
        )  # fmt: skip
        keeping.keep_score(at_work.bench, at_work.technician, entry)
        at_work.bench.close()


def _sign(lesson: str, trainee: str, trainer: str) -> tuple[str, ...]:
    return ("practice", "sign-off", lesson, "--trainee", trainee, "--trainer", trainer)


def test_a_trainer_signs_off_what_was_mastered_and_nothing_else(tmp_path: Path) -> None:
    set_up(tmp_path / "practice").bench.close()
    _worked(tmp_path, "connect-tight", 5, 6)

    done = call(*_sign("connect-tight", "ada", "tess"), data=tmp_path, passphrase=PASSPHRASE)
    assert (done.code, done.err) == (0, "")
    assert done.lines()[0] == "connect-tight is signed off for ada by Tess Rook, on J-0001, J-0002"
    told = call("practice", "record", "--trainee", "ada", "--json", data=tmp_path).json()["lessons"][0]
    assert told["signed_off"][0]["valid"] is True
    assert f"key {told['signed_off'][0]['key_sha256']}" == done.lines()[1]
    assert told["signed_off"][0]["skills"] == list(load("connect-tight").lesson.skills)
    assert "signed off by tess" in call("practice", "record", "--trainee", "ada", data=tmp_path).out
    assert verify_journal(tmp_path / "practice" / "trainees" / "ada" / "journal.db").sound


def test_what_was_only_written_down_is_not_signed_off(data: Path) -> None:
    refused = call(*_sign(LESSON.id, "ada", "tess"), data=data, passphrase=PASSPHRASE)
    assert_refused(refused, "the log of J-0002 comes to", "92 were written down")


def test_a_sign_off_needs_mastery_a_trainer_and_their_passphrase(data: Path) -> None:
    own = LESSON.id
    assert_refused(call(*_sign(own, "ben", "tess"), data=data, passphrase=PASSPHRASE), "0 of 2")
    assert_refused(call(*_sign(own, "ada", "nobody"), data=data, passphrase=PASSPHRASE), "add-trainer")
    assert_refused(call(*_sign(own, "ada", "tess"), data=data, passphrase="not this one"), "passphrase")
    assert_refused(call(*_sign(own, "ada", "tess"), data=data), "fd N")


def test_a_trainee_is_forgotten_only_with_the_id_again(tmp_path: Path) -> None:
    desk: Desk = set_up(tmp_path / "practice")
    desk.bench.close()
    assert_refused(
        call("practice", "forget", "--trainee", "ada", data=tmp_path), "nothing deleted", "--yes-delete"
    )
    assert_refused(
        call("practice", "forget", "--trainee", "ada", "--yes-delete", "ben", data=tmp_path), "ada stays"
    )
    assert_refused(call("practice", "forget", "--trainee", "..", "--yes-delete", "..", data=tmp_path))
    gone = call("practice", "forget", "--trainee", "ada", "--yes-delete", "ada", data=tmp_path)
    assert (gone.code, gone.err) == (0, "")
    assert str(tmp_path / "practice" / "trainees" / "ada") in gone.out
    assert not (tmp_path / "practice" / "trainees" / "ada").exists()
    listed = call("practice", "trainees", data=tmp_path)
    assert "ada" not in listed.out
    assert listed.out.startswith("ben")


def test_the_lessons_are_the_shipped_ones_and_the_trainers_own(data: Path) -> None:
    listed = call("practice", "lessons", "--json", data=data)
    assert (listed.code, listed.err) == (0, "")
    found = {each["id"]: each for each in listed.json()}
    assert found[LESSON.id]["own"] is True
    assert all(each["fault"] is None for each in found.values())
    assert sum(not each["own"] for each in found.values()) >= 10
    assert f"{LESSON.id:<32} Connect clean  (own)" in call("practice", "lessons", data=data).lines()


def test_a_lesson_of_ones_own_that_is_not_finished_is_listed_with_its_fault(tmp_path: Path) -> None:
    write_own(tmp_path).write_text("format: lesson/1\nid: \x1b[31m\n")
    listed = call("practice", "lessons", data=tmp_path)
    assert listed.code == 0
    assert f"{LESSON.id:<32} can't be worked: " in listed.out
    assert "\x1b" not in listed.out
    assert_refused(call("practice", "show", LESSON.id, data=tmp_path), f"{LESSON.id}.yaml:")


def test_a_lesson_shows_what_counts_before_anybody_starts(data: Path) -> None:
    shown = call("practice", "show", LESSON.id, data=data)
    assert (shown.code, shown.err) == (0, "")
    assert "you can purge a hose" in shown.out
    assert "   40  order: " in shown.out.replace("   40", "   40")
    assert "where to look 1, the rule 2, the answer 4 points" in shown.out
    told = call("practice", "show", LESSON.id, "--json", data=data).json()
    assert sum(each["points"] for each in told["rubric"]) == 100
    assert told["help"] == ["worked", "fill", "choose", "none"]
    assert_refused(call("practice", "show", "no-such", data=data), "there is no lesson", LESSON.id)
    assert_refused(call("practice", "show", "../../etc/passwd", data=data), "there is no lesson")


def test_a_lesson_file_is_checked_with_file_line_and_rule(data: Path, tmp_path: Path) -> None:
    good = data / "practice" / "lessons" / f"{LESSON.id}.yaml"
    assert call("practice", "lint", str(good), data=data).out == "no faults\n"
    assert call("practice", "lint", LESSON.id, data=data).out == "no faults\n"
    bad = tmp_path / good.name
    bad.write_text(good.read_text().replace("order: 40", "order: 41").replace("start: 0.9", "start: nine"))
    answer = call("practice", "lint", str(bad), data=data)
    assert answer.code == 1
    assert f"{bad}:" in answer.out
    assert answer.out.rstrip().endswith("]")
    told = call("practice", "lint", str(bad), "--json", data=data)
    assert (told.code, {each["rule"] for each in told.json()} >= {"range"}) == (1, True)
    assert_refused(call("practice", "lint", str(tmp_path / "absent.yaml"), data=data), "absent.yaml")
