"""Commands of `chargewright practice` on runs of lessons: run, replay, debrief."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Final

import click

from guide.cli.asked import secret, short
from guide.cli.at_lessons import lesson_of, open_at_lesson, roster_of
from guide.cli.given import Common, Unusable, data_option, json_option, passphrase, passphrase_option
from guide.cli.records import answer_lines, state_in
from guide.cli.trainees import (
    text_in,
    trainee_option,
)
from guide.cli.work import on_a_terminal
from guide.escape import for_terminal
from guide.job.seed import HIGHEST_SEED
from guide.rig.trainees.present import now_utc

if TYPE_CHECKING:
    from guide.rig.learning.debrief import Asked
    from guide.rig.learning.lesson import Score
    from guide.rig.learning.lesson_reader import Ready
    from guide.rig.learning.replay import Row, Side
    from guide.rig.learning.run import Run
    from guide.rig.trainees.model_run import ModelRun

QUESTIONS: Final = 5


@click.command()
@click.argument("lesson")
@click.option("--unattended", is_flag=True, help="Let the careful technician play it: the model run.")
@click.option("--seed", metavar="N", type=click.IntRange(0, HIGHEST_SEED), help="Of the model run (else 1).")
@click.option("--trainee", metavar="ID", help="Keep the model run with this trainee, as one watched.")
@passphrase_option
@data_option
@click.pass_obj
def run(common: Common, *, lesson: str, unattended: bool, seed: int | None, trainee: str | None) -> None:
    """Work LESSON in the terminal; with --unattended its model run is played, step by step."""
    ready = lesson_of(common, lesson)
    if not unattended:
        if seed is not None or trainee is not None:
            raise Unusable(
                "--seed, --trainee: the program asks for both; leave them out, or add --unattended"
            )
        if not on_a_terminal():
            raise Unusable(f"{lesson}: needs a terminal to be worked in; --unattended plays the model run")
        open_at_lesson(common, ready.lesson.id)
        return
    click.echo("PRACTICE: a simulated system, invented readings; nothing here is evidence.")
    if trainee is None:
        _model_run(common, ready, 1 if seed is None else seed)
    else:
        _watched(common, ready, 1 if seed is None else seed, trainee)


def _model_run(common: Common, ready: Ready, seed: int) -> None:
    """The model run, in a folder of its own."""
    from guide.rig.rehearsal import fresh_folder
    from guide.rig.trainees.model_run import in_folder

    now = datetime.now().astimezone()
    folder = fresh_folder(common.places().practice / "unattended", now)
    click.echo(for_terminal(f"{ready.lesson.title}; seed {seed}; everything goes to {folder}"))
    model = in_folder(ready, seed, folder, now=now, passphrase=passphrase(common))
    try:
        _play(model)
    finally:
        model.rehearsal.close()
    _hand_over(model)


def _watched(common: Common, ready: Ready, seed: int, trainee: str) -> None:
    """The model run on a trainee's bench, scored as one that was watched."""
    from guide.journal.port import SimulatedClock
    from guide.rig.learning.lesson import Help
    from guide.rig.trainees import keeping
    from guide.rig.trainees.model_run import at_bench

    roster = roster_of(common)
    roster.folder_of(trainee)
    words = secret(common, f"Passphrase of {trainee}")
    at_work = roster.sign_in(trainee, words, clock=SimulatedClock(datetime.now().astimezone()))
    try:
        click.echo(for_terminal(f"{ready.lesson.title}; seed {seed}; kept with {trainee}"))
        model = at_bench(ready, seed, at_work.bench, at_work.technician, words, level=Help.WORKED)
        _play(model)
        if model.score is not None and model.story is not None:
            entry = keeping.scored(
                model.work.state.job, ready.lesson, seed=seed, help_level=Help.WORKED, score=model.score,
                conclusion=model.story.conclusion, hints=0, utc=now_utc(),
            )  # fmt: skip
            keeping.keep_score(at_work.bench, at_work.technician, entry)
    finally:
        at_work.bench.close()
    _hand_over(model)


def _play(model: ModelRun) -> None:
    while (words := model.step()) is not None:
        click.echo(for_terminal(f"{model.rehearsal.local_time()}  {words}"))
        sys.stdout.flush()


def _hand_over(model: ModelRun) -> None:
    """What it came to; the checker's answer; as the very last line where the record is."""
    issued = model.rehearsal.issued
    if issued is None or model.score is None:
        raise Unusable("the model run did not come to its end; no record was made")
    for line in _score_lines(model.score):
        click.echo(for_terminal(line))
    pdf = issued.pdf.absolute()
    for line in answer_lines(pdf):
        click.echo(for_terminal(line))
    click.echo(f"customer's copy {issued.customer_copy.absolute()}")
    click.echo(f"fingerprint {issued.fingerprint}")
    click.echo(str(pdf))


def _score_lines(score: Score) -> list[str]:
    verdict = "passed" if score.passed else "not passed" if score.safety else "not passed, NOT SAFE"
    lines = [f"score {score.points} of {score.of}, {verdict}"]
    lines += [f"  -{each.points} {each.item}: {each.words} (event {each.seq})" for each in score.losses]
    return lines


@click.command()
@click.argument("job")
@trainee_option
@json_option
@data_option
@click.pass_obj
def replay(common: Common, *, job: str, trainee: str, as_json: bool) -> None:
    """A trainee's run JOB beside the model run on the same seed, step by step, with the points lost."""
    from guide.rig.learning.replay import rows
    from guide.rig.trainees.model_run import model_told

    ready, story, score = _retold(common, job, trainee)
    model = model_told(ready, story.drawn.seed, now=datetime.now().astimezone())
    found = rows(story.state.procedure, story.told, model, score.losses)
    if as_json:
        click.echo(
            json.dumps(
                {
                    "job": job, "lesson": ready.lesson.id, "seed": story.drawn.seed,
                    "points": score.points, "of": score.of, "safety": score.safety, "passed": score.passed,
                    "steps": [_row_json(each) for each in found],
                }
            )
        )  # fmt: skip
        return
    click.echo(for_terminal(f"{job}: {ready.lesson.title}, seed {story.drawn.seed}, help {story.help}"))
    for line in _score_lines(score)[:1]:
        click.echo(line)
    for row in found:
        for line in _row_lines(row):
            click.echo(for_terminal(line))


def _retold(common: Common, job: str, trainee: str) -> tuple[Ready, Run, Score]:
    """A run that is over, gone through again, with its score.

    Raises:
        Unusable: there is no such run, or it is not over.
        CantRetrace: the lesson's file has changed since.
    """
    from guide.job import payloads as p
    from guide.job.state import begin
    from guide.journal.store import Journal
    from guide.rig.learning.run import over
    from guide.rig.learning.score import score
    from guide.rig.retelling import retell

    folder = roster_of(common).folder_of(trainee)
    with Journal.open(folder / "journal.db", read_only=True) as journal:
        state = state_in(journal, job)
        opened = state.opened
        if not isinstance(opened, p.Opened) or opened.lesson is None:
            raise Unusable(
                f"{job}: is no run of a lesson; {trainee}'s runs: practice record --trainee {trainee}"
            )
        ready = lesson_of(common, opened.lesson.id)
        if not over(ready.lesson, state):
            raise Unusable(f"{job}: is not over yet; go on with it in the program")
        story = retell(ready, begin(job, state.order, state.procedure), journal.events(job))
    return ready, story, score(story)


def _row_lines(row: Row) -> list[str]:
    lines = [f"{row.step:<6}{row.do}" if row.step else "before the first step"]
    for name, side in (("model", row.model), ("you", row.own)):
        lines.append(f"      {name:<6}{_side(side) if side is not None else 'not done'}")
    lines += [f"      differs: {each}" for each in row.differences]
    lines += [f"      -{each.points} {each.item}: {each.words} (event {each.seq})" for each in row.losses]
    return lines


def _side(side: Side) -> str:
    from guide.job.elapsed import in_words as time
    from guide.rig.spoken import spoken as hands

    said = [f"after {time(side.begun_s)}, took {time(side.took_s)}"]
    said += [hands(each) for each in side.hands]
    said += [f"{value.channel.replace('_', ' ')} {value.typed}" for value in side.values]
    return "; ".join([*said, *side.said])


def _row_json(row: Row) -> dict[str, object]:
    return {
        "step": row.step, "do": row.do, "model": _side_json(row.model), "own": _side_json(row.own),
        "differences": list(row.differences),
        "losses": [
            {"item": each.item, "points": each.points, "event": each.seq, "words": each.words}
            for each in row.losses
        ],
    }  # fmt: skip


def _side_json(side: Side | None) -> dict[str, object] | None:
    if side is None:
        return None
    return {
        "begun_s": side.begun_s, "ended_s": side.ended_s, "events": list(side.seqs),
        "hands": [{"act": each.act, "at": each.at, "amount": each.amount} for each in side.hands],
        "values": [
            {"channel": each.channel, "typed": each.typed, "si": each.si} for each in side.values
        ],
        "said": list(side.said),
    }  # fmt: skip


@click.command()
@click.argument("job")
@trainee_option
@click.option("--answer", "answers", metavar="TEXT", multiple=True, help="Five times: the answers, in order.")
@json_option
@passphrase_option
@data_option
@click.pass_obj
def debrief(common: Common, *, job: str, trainee: str, answers: tuple[str, ...], as_json: bool) -> None:
    """The five questions after the run JOB: asked once and kept; then shown beside the model answers."""
    from guide.rig.learning.debrief import questions

    if answers and len(answers) != QUESTIONS:
        raise Unusable(f"--answer: {len(answers)} given; a debrief has {QUESTIONS} questions")
    _, story, score = _retold(common, job, trainee)
    asked = questions(story, score)
    kept = _kept(common, job, trainee)
    if answers or kept is None:
        for each in answers:
            short(each, "--answer")
        given = answers or _ask(asked, f"{job} has no debrief yet")
        _keep(common, job, trainee, given)
        kept = tuple(given)
    if as_json:
        click.echo(
            json.dumps(
                [
                    {"ask": one.ask, "choices": list(one.choices), "answer": answer, "model": one.model}
                    for one, answer in zip(asked, kept, strict=True)
                ]
            )
        )
        return
    for one, answer in zip(asked, kept, strict=True):
        click.echo(for_terminal(one.ask))
        click.echo(for_terminal(f"  you:   {answer}"))
        click.echo(for_terminal(f"  model: {one.model}"))


def _ask(asked: Sequence[Asked], otherwise: str) -> tuple[str, ...]:
    if not on_a_terminal():
        raise Unusable(f"{otherwise}; answer it in a terminal, or give --answer {QUESTIONS} times")
    given = []
    for one in asked:
        click.echo(for_terminal(one.ask))
        for number, choice in enumerate(one.choices, start=1):
            click.echo(for_terminal(f"  {number}  {choice}"))
        typed = str(click.prompt("answer")).strip()
        picked = int(typed) - 1 if typed.isdecimal() and len(typed) < 3 else -1
        given.append(one.choices[picked] if 0 <= picked < len(one.choices) else typed)
    return tuple(given)


def _kept(common: Common, job: str, trainee: str) -> tuple[str, ...] | None:
    """The answers that were kept before; None where there are none."""
    from guide.journal.store import Journal
    from guide.rig.trainees.keeping import record_in

    roster = roster_of(common)
    with Journal.open(roster.folder_of(trainee) / "journal.db", read_only=True) as journal:
        found = record_in(journal, roster, trainee).debriefs.get(job)
        text = text_in(journal)
        return None if found is None else tuple(text(each) for each in found.answers)


def _keep(common: Common, job: str, trainee: str, answers: Sequence[str]) -> None:
    from guide.rig.trainees import keeping

    at_work = roster_of(common).sign_in(trainee, secret(common, f"Passphrase of {trainee}"))
    try:
        keeping.keep_debrief(at_work.bench, at_work.technician, job, answers, utc=now_utc())
    finally:
        at_work.bench.close()


RUN_COMMANDS = (run, replay, debrief)
