"""`chargewright practice`: lessons on the simulated system, those who learn on it, and what they showed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from guide.cli.at_lessons import lesson_of, open_at_lesson, own_lessons, roster_of
from guide.cli.given import Common, data_option, json_option
from guide.cli.lint_said import say
from guide.cli.runs import RUN_COMMANDS
from guide.cli.trainees import TRAINEE_COMMANDS
from guide.cli.work import on_a_terminal
from guide.escape import for_terminal
from guide.rig.trainees.present import today

if TYPE_CHECKING:
    from guide.rig.learning.lesson_reader import Ready


@click.group(invoke_without_command=True)
@data_option
@click.pass_context
def practice(context: click.Context) -> None:
    """Lessons on a simulated system: nothing here can be spoiled, and nothing here is evidence.

    Without a command it opens the terminal program at practice.
    """
    if context.invoked_subcommand is not None:
        return
    if not on_a_terminal():
        click.echo(context.get_help())
        return
    open_at_lesson(context.obj, None)


@practice.command()
@click.option("--trainee", metavar="ID", help="With where this trainee stands with each.")
@json_option
@data_option
@click.pass_obj
def lessons(common: Common, *, trainee: str | None, as_json: bool) -> None:
    """The lessons there are: the shipped ones and those in the folder 'lessons' of practice."""
    from guide.rig.learning.lesson_reader import LessonError, read_lesson
    from guide.rig.learning.shelf import passed_over, paths
    from guide.rig.trainees.keeping import read_record
    from guide.rig.trainees.words import standing

    record = read_record(roster_of(common), trainee) if trainee is not None else None
    own = own_lessons(common)
    found: list[dict[str, object]] = []
    for name, path in paths(own).items():
        about: dict[str, object] = {"id": name, "own": path.parent == own, "file": str(path)}
        try:
            lesson = read_lesson(path).lesson
        except LessonError as error:
            about |= {"title": None, "fault": str(error)}
        else:
            about |= {
                "title": lesson.title, "sha256": lesson.sha256, "skills": list(lesson.skills),
                "help": [str(each) for each in lesson.helps], "minimum": lesson.minimum, "fault": None,
            }  # fmt: skip
        if record is not None:
            about["standing"] = standing(record.lesson(name), today())
        found.append(about)
    if as_json:
        click.echo(json.dumps(found))
        return
    for each in found:
        said = each["title"] or f"can't be worked: {each['fault']}"
        mark = "  (own)" if each["own"] else ""
        click.echo(for_terminal(f"{each['id']:<32} {said}{mark}"))
        if "standing" in each:
            click.echo(for_terminal(f"{'':<32} {each['standing']}"))
    for name in passed_over(own):
        click.echo(for_terminal(f"{own / name}.yaml is not used: {name} is a shipped lesson; rename it"))
    click.echo(
        for_terminal(f"lessons of your own go to {own}, their orders to 'orders' in it; check with lint")
    )


@practice.command()
@click.argument("lesson")
@json_option
@data_option
@click.pass_obj
def show(common: Common, *, lesson: str, as_json: bool) -> None:
    """What LESSON teaches, what counts and what loses points, what hints cost, before anybody starts."""
    from guide.rig.learning.hint_costs import HINT_COSTS
    from guide.rig.learning.rubric import lines

    ready = lesson_of(common, lesson)
    known = ready.lesson
    if as_json:
        click.echo(
            json.dumps(
                {
                    "id": known.id, "title": known.title, "sha256": known.sha256, "summary": known.summary,
                    "objectives": [
                        {"text": each.text, "steps": list(each.steps), "skill": each.skill}
                        for each in known.objectives
                    ],
                    "order": ready.order.number, "procedure": ready.procedure.id,
                    "help": [str(each) for each in known.helps], "minimum": known.minimum,
                    "rubric": [
                        {"item": str(each.item), "points": each.points, "loses": each.loses}
                        for each in lines(known)
                    ],
                    "hint_costs": list(HINT_COSTS), "time_limit_s": known.time_limit_s,
                    "conclusions": list(known.conclusion.choices) if known.conclusion else [],
                }
            )
        )  # fmt: skip
        return
    for line in _card(ready):
        click.echo(for_terminal(line))


def _card(ready: Ready) -> list[str]:
    from guide.rig.learning.hint_costs import HINT_COSTS
    from guide.rig.learning.rubric import lines

    known = ready.lesson
    said = [f"{known.title}  ({known.id})", known.summary, "", "Afterwards:"]
    said += [f"  {each.text}  (steps {', '.join(each.steps)})" for each in known.objectives]
    said += ["", f"Unit: {ready.order.place}; procedure {ready.procedure.id}, {ready.procedure.title}"]
    if known.parts is not None:
        said.append(f"Counts: part {known.parts.first} to part {known.parts.last}")
    said += ["", f"100 points, {known.minimum} and nothing lost for safety to pass:"]
    said += [f"  {each.points:>3}  {each.item}: {each.loses}" for each in lines(known)]
    pointer, rule, answer = HINT_COSTS
    said += [
        "",
        f"Hints at each step: where to look {pointer}, the rule {rule}, the answer {answer} points",
        f"Help: {', '.join(str(each) for each in known.helps)} (worked: played for you; fill: hands done for "
        "you; choose: you pick the next step; none)",
        "Mastered: two passed runs without help, each on a seed that was not run before",
    ]
    return said


@practice.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
@json_option
@data_option
@click.pass_obj
def lint(common: Common, *, files: tuple[str, ...], as_json: bool) -> int:
    """Names every fault of each lesson FILE (or lesson's id): file, line, rule. Exit 1 when there is one."""
    from guide.rig.learning.lesson_reader import lint as faults_of
    from guide.rig.learning.shelf import paths

    known = paths(own_lessons(common)) if any(not _is_path(name) for name in files) else {}
    # each is opened before the first is judged, so that a missing one is told alone
    faults = [
        fault for found in [faults_of(known.get(name, Path(name))) for name in files] for fault in found
    ]
    return say(faults, as_json=as_json)


def _is_path(name: str) -> bool:
    return "/" in name or "\\" in name or name.endswith((".yaml", ".yml"))


for _command in (*RUN_COMMANDS, *TRAINEE_COMMANDS):
    practice.add_command(_command)

COMMANDS = (practice,)
