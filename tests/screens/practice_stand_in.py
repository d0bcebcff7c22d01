"""A trainee's desk without a simulated unit behind it: a small job, and hands whose acts are written down."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Literal

from guide.bench.bench import Bench
from guide.bench.people import KnownPerson, Technician
from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job import payloads as p
from guide.job.assess import versions
from guide.job.focus import Front
from guide.job.state import JobState, begin, current_step
from guide.job.work import Work
from guide.journal.port import SimulatedClock
from guide.procedure.model import Step
from guide.refrigerant import saturation
from guide.rig.acts import Act, Handling
from guide.rig.by_hand import Move, Pause
from guide.rig.by_weight import View
from guide.rig.cycles import Corners, Cycles
from guide.rig.happenings import Happening, Kind
from guide.rig.hookup import Hookup, Hose
from guide.rig.retrace import Done
from guide.screens.practice_roles import Came
from guide.screens.practice_run import Run
from guide.screens.practice_shown import (
    BesideRow,
    Candidate,
    Card,
    Doable,
    LessonLine,
    Lost,
    OpenRun,
    Question,
    RubricLine,
    Scored,
    Stopped,
    Trainee,
)
from tests.screens.small_job import PASSPHRASE, START, small_order, small_procedure

SHA = "ab" * 32
Help = Literal["worked", "fill", "choose", "none"]

JOIN = Handling(Act.JOIN, "low")
HALF = Handling(Act.OPEN_HAND_VALVE, "low", 0.5)
LIVE = Handling(Act.OPEN_CIRCUIT)


class WrongSecret(ChargewrightError):
    """The passphrase of the stand-in is another one."""


class StandInClock(SimulatedClock):
    """A clock that only moves when told to, and remembers how fast it is to run."""

    factor = 1

    def run_at(self, factor: int) -> None:
        self.factor = factor


class StandInUnit:
    """Writes down what is done; `coming` happens at the next look, `answers` after an act."""

    def __init__(self) -> None:
        self.lost = ""
        self.done: list[tuple[Handling, float]] = []
        self.at_s: list[float] = []
        self.coming: tuple[Happening, ...] = ()
        self.answers: dict[Act, Came] = {
            Act.JOIN: Came(happened=(Happening(Kind.AIR_IN, 0.0, 0.0004, "low"),)),
            Act.OPEN_CIRCUIT: Came(happened=(Happening(Kind.WORKED_LIVE, 0.0),)),
            Act.START_PUMP: Came(fault="the pump is joined to nothing"),
        }
        self.closed = False
        self.again_with: list[tuple[Done, ...]] = []
        self.breaks_for_good = False

    def again(self, acts: Sequence[Done], t_s: float) -> None:
        self.again_with.append(tuple(acts))
        if not self.breaks_for_good:
            self.lost = ""

    def to(self, t_s: float) -> tuple[Happening, ...]:
        self.at_s.append(t_s)
        coming, self.coming = self.coming, ()
        return coming

    def do(self, handling: Handling, t_s: float) -> Came:
        self.done.append((handling, t_s))
        return self.answers.get(handling.act, Came())

    def reading(self, channel: str) -> float | None:
        return None

    def hookup(self) -> Hookup:
        hose = Hose()
        return Hookup(
            low=hose, high=hose, centre=hose, low_hand=0.0, high_hand=0.0, on_scale="", cylinder_open=0.0,
            for_liquid=False, pump_joined=False, pump_runs=False, machine_runs=False, regulator_Pa=0.0,
            runs=True, locked=False, opened=False, clamped=frozenset(), set_for="R-410A",
        )  # fmt: skip

    def doables(self) -> tuple[Doable, ...]:
        return (
            Doable("join the low hose to its port", (("", JOIN),)),
            Doable(
                "open the low hand valve",
                (("a crack", Handling(Act.OPEN_HAND_VALVE, "low", 0.1)), ("half", HALF)),
            ),
            Doable("start the vacuum pump", (("", Handling(Act.START_PUMP)),)),
            Doable("open a joint of the circuit", (("", LIVE),)),
        )

    def seen(self) -> tuple[str, ...]:
        return ("The unit runs. The low hose hangs free.",)

    def sight(self, step: Step, state: JobState) -> str:
        return "goggles lie on the bench, gloves beside them."

    def cycles(self) -> Cycles:
        return Cycles(
            "R-410A",
            now=Corners(0.86e6, 291.5, 352.0, 2.40e6, 309.5),
            right=Corners(0.95e6, 284.0, 343.0, 2.62e6, 308.0),
        )

    def close(self) -> None:
        self.closed = True


class StandInCoach:
    """Says the same of every step."""

    hint_costs = (1, 2, 4)
    conclusion = (
        "What was the matter with this unit?",
        ("undercharge", "low indoor airflow", "nothing wrong"),
    )

    def __init__(self, ends_after: str = "charge") -> None:
        self._ends_after = ends_after

    def hints(self, step: Step, state: JobState) -> tuple[str, str, str]:
        return (f"look at {step.id}", "eyes come first", "pick the goggles")

    def candidates(self, state: JobState) -> tuple[Candidate, ...]:
        step = current_step(state)
        assert step is not None
        return (Candidate("9.9", "OPEN the suction valve."), Candidate(step.id, step.do))

    def moves(self, step: Step, state: JobState, front: Front, view: View) -> tuple[Move, ...]:
        return (JOIN, Pause(30), HALF) if step.id == "1.2" else ()

    def stopped(self, happening: Happening) -> Stopped:
        return Stopped(
            "Stop. On a real unit this would have put your hands on line voltage: it kills.",
            "The circuit was opened with the power on.",
            "Switch off, lock and tag the disconnect first.",
        )

    def over(self, state: JobState) -> bool:
        return self._ends_after in state.ended_parts


CARD = Card(
    id="first",
    title="Read the vacuum",
    objectives=(
        "you can tell a vacuum that holds from one that leaks",
        "you can say what you wear before a valve is opened",
    ),
    about=("The unit: R-410A, fixed orifice, a roof in the yard.", "Counted are the parts Brief and Charge."),
    rubric=(
        RubricLine("safety", 20, "anything that would hurt somebody ends the run"),
        RubricLine("order", 30, "3 for a step left out, or said to be done and not done"),
        RubricLine("readings", 30, "2 for each value further off than its instrument may be"),
        RubricLine("hints", 20, "what the hints cost"),
    ),
    minimum=80,
    hint_costs=(1, 2, 4),
    helps=("fill", "choose", "none"),
    suggested="choose",
    seed=4711,
    assigned="Set by tom, to be passed until 2027-01-31.",
)


class StandInDesk:
    """One trainee, one lesson; what is logged goes into a real journal."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.clock = StandInClock(START, boot="simulated")
        self.unit = StandInUnit()
        self.coach = StandInCoach()
        self.who = ""
        self.answers: list[tuple[str, ...]] = []
        self.run: Run | None = None
        self.bench: Bench | None = None
        self._technician: Technician | None = None

    def trainees(self) -> tuple[Trainee, ...]:
        return (Trainee("kit", "Kit Learner"), Trainee("bo", "Bo Starter"))

    def enter(self, who: str, name: str, passphrase: str) -> None:
        if passphrase != PASSPHRASE:
            raise WrongSecret("wrong passphrase; it is the one you made your keys with")
        self.bench = Bench.open(self.folder, nature="practice", clock=self.clock, run="run-1")
        known = KnownPerson(who, name or "Kit Learner", "none, in training")
        self.bench.enrol(known, passphrase)
        self._technician = self.bench.sign_in(who, passphrase)
        self.who = known.name

    def lessons(self) -> tuple[LessonLine, ...]:
        return (
            LessonLine("first", "Read the vacuum", "not begun, set by tom until 2027-01-31"),
            LessonLine("second", "It isn't the charge", "mastered 2026-10-01, refresh due 2026-12-24"),
        )

    def open_runs(self) -> tuple[OpenRun, ...]:
        if self.run is not None and not self.run.over:
            return (OpenRun(self.run.work.state.job, "first", "Read the vacuum", self.run.help),)
        return ()

    def card(self, lesson: str) -> Card:
        return CARD

    def begin(self, lesson: str, help_level: str, seed: int) -> Run:
        assert self.bench is not None
        assert self._technician is not None
        order, procedure = small_order(nature="practice"), small_procedure()
        work = Work(
            self.bench.shelf, self.clock, begin("J-0001", order, procedure),
            person=self._technician.person, log_key=self._technician.log_key, run="run-1",
        )  # fmt: skip
        named = p.Lesson.model_validate({"id": lesson, "sha256": SHA, "seed": seed, "help": help_level})
        work.do(
            c.Open(
                p.Opened(
                    number=1, nature="practice", clock="simulated", program="test", run="run-1",
                    order=work.keep_document(order.text), order_sha256=order.sha256,
                    procedure=work.keep_document(procedure.source.decode()), procedure_id="small",
                    procedure_revision="4", procedure_sha256=procedure.sha256,
                    versions=versions(saturation.curve("R-410A")), person=self._technician.person,
                    lesson=named,
                )
            )
        )  # fmt: skip
        self.run = self._run(work)
        return self.run

    def _run(self, work: Work) -> Run:
        assert self.bench is not None
        assert self._technician is not None
        return Run(
            bench=self.bench, technician=self._technician, work=work, clock=self.clock, unit=self.unit,
            coach=self.coach, title="Read the vacuum",
        )  # fmt: skip

    def go_on(self, job: str) -> Run:
        assert self.run is not None
        self.run = self._run(self.run.work)
        return self.run

    def score(self, run: Run) -> Scored:
        lost = (
            Lost("order", 3, "event 12, after 4 min 10 s", "1.2 said to be done, and no hand did it"),
            Lost("hints", 1, "event 9, after 2 min", "a pointer at step 1.1"),
        )
        return Scored(
            96, 100, run.work.state.stopped is None, run.work.state.stopped is None, 80, lost,
            ("Passed once without help; a second run on another seed makes it mastered.",),
        )  # fmt: skip

    def questions(self, run: Run) -> tuple[Question, ...]:
        return (
            Question(
                "What was this run meant to come to?", ("a held vacuum", "a new charge"), "a held vacuum"
            ),
            Question("What happened?", (), "The vacuum held; 1.2 was entered before the hose was joined."),
            Question("Why?", (), "The step was answered from memory."),
            Question("What told you first?", ("the gauge", "the sound"), "the gauge"),
            Question("What will you do next time?", (), "Join, look, then enter."),
        )

    def keep_answers(self, run: Run, answers: tuple[str, ...]) -> None:
        self.answers.append(answers)

    def beside(self, run: Run) -> tuple[BesideRow, ...]:
        return (
            BesideRow(
                "1.1", "WEAR eye protection and gloves.", ("0:20 goggles and gloves",),
                ("0:31 goggles and gloves",),
            ),
            BesideRow(
                "1.2", "READ the vacuum in the hoses.", ("1:10 joined the low hose", "2:00 400 micron"),
                ("1:02 400 micron",), ("No hand joined the hose.",), ("-3 order: event 12",),
            ),
            BesideRow("1.3", "CHOOSE how air is kept out.", ("2:20 sealed",), ("1:40 sealed",)),
        )  # fmt: skip

    def leave(self) -> None:
        self.who = ""
        if self.bench is not None:
            self.bench.close()
            self.bench = None


class StandInTrainerDesk:
    """What a trainer does, written down."""

    def __init__(self) -> None:
        self.assigned: list[tuple[str, str, int | None, date | None, str]] = []

    def trainees(self) -> tuple[Trainee, ...]:
        return (Trainee("kit", "Kit Learner"), Trainee("bo", "Bo Starter"))

    def lessons(self, trainee: str) -> tuple[LessonLine, ...]:
        return (
            LessonLine("first", "Read the vacuum", "mastered 2026-10-01"),
            LessonLine("second", "It isn't the charge", "not begun"),
        )

    def record(self, trainee: str) -> tuple[str, ...]:
        return (
            "Kit Learner (kit)",
            "",
            "first: mastered 2026-10-01",
            "  J-0001  seed 4711, help none: 96 of 100",
        )

    def assign(self, trainee: str, lesson: str, seed: int | None, due: date | None, note: str) -> None:
        self.assigned.append((trainee, lesson, seed, due, note))

    def sign_off(self, trainee: str, lesson: str) -> str:
        if lesson != "first":
            raise WrongSecret(f"{lesson} is not signed off: no run of it shows that {trainee} can do it")
        return "Signed off: Read the vacuum, resting on J-0001."
