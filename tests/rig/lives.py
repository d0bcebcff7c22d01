"""Works one job while being killed, with SIGKILL, at every place where something is committed.

`python -m tests.rig.lives FOLDER` forks one life after the other. Each life opens the folder anew, takes
the job up where the journal has it, and reports before and after every commit through a pipe; it waits
there until this process lets it go on, or kills it. The last line is a JSON account of what was
acknowledged. Used by `test_killed.py`.
"""

from __future__ import annotations

import functools
import itertools
import json
import os
import secrets
import signal
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from guide.bench import bench as bench_module
from guide.bench.bench import Bench
from guide.bench.people import KnownPerson, Technician
from guide.job.commands import SignOff
from guide.job.focus import Front
from guide.job.order import read_order
from guide.journal.port import SimulatedClock
from guide.journal.store import Journal
from guide.procedure import library
from guide.procedure.reader import read_procedure
from guide.rig.orders import demonstration_order
from guide.rig.player import Player
from guide.rig.rehearsal import plant_for

PERSON = KnownPerson("killed", "Killed Often", "none, simulated", "none")
START = datetime(2026, 11, 25, 9, tzinfo=UTC)
PASSPHRASE = "nine lives are not enough"


def practice_order() -> bytes:
    """The demonstration's order as a practice order: its keys lie on the disk and survive a kill."""
    return demonstration_order().text.replace("nature: demonstration", "nature: practice").encode()


def prepare(folder: Path) -> Technician:
    """Make the person known and unlock their key once: unlocking is slow, and slow on purpose.

    The text of the procedure is read into its parts once, too: the lives are forked with what was read.
    """
    reading: Any = functools.cache(read_procedure)
    vars(bench_module)["read_procedure"] = reading
    procedure = library.load(demonstration_order().procedure)
    reading(procedure.source, "the job's procedure")
    bench = Bench.open(folder, nature="practice", clock=SimulatedClock(START))
    bench.enrol(PERSON, PASSPHRASE)
    technician = bench.sign_in(PERSON.id, PASSPHRASE)
    bench.close()
    return technician


def live(folder: Path, technician: Technician, say: int, hear: int) -> None:
    """One life: take the job up and work it to its signature, stopping at every commit."""

    def pause(word: str, *what: object) -> None:
        os.write(say, (json.dumps([word, *what]) + "\n").encode())
        if os.read(hear, 1) != b".":
            os._exit(3)

    last = _last_utc(folder)
    clock = SimulatedClock(last, boot=f"life-{secrets.token_hex(6)}")
    bench = Bench.open(folder, nature="practice", clock=clock)

    def pausing(commit: Any, name: str) -> Any:
        def hooked(*args: Any, **named: Any) -> Any:
            kinds = [kind for kind, _ in args[1]] if name == "append" else [name]
            pause("before", kinds)
            done = commit(*args, **named)
            acknowledged = [[e.seq, e.leaf_hash] for e in done] if name == "append" else []
            pause("after", kinds, acknowledged)
            return done

        return hooked

    shelf: Any = bench.shelf
    shelf.append = pausing(shelf.append, "append")
    shelf.checkpoint = pausing(shelf.checkpoint, "checkpoint")
    order = read_order(practice_order(), "the order")
    jobs = bench.journal.jobs()
    work = bench.take_up(jobs[0].job, technician) if jobs else bench.new_job(order, technician)
    player = Player(work, plant_for(order), clock)
    while player.step() is not None:
        pass
    if work.focus().front is Front.SIGN:
        work.do(SignOff(work.keep(PERSON.name), technician.certificate_sha256))
    bench.close()
    os.write(say, b'["finished"]\n')


def _last_utc(folder: Path) -> datetime:
    path = folder / "journal.db"
    moment = START
    if path.exists():
        with Journal.open(path, read_only=True) as journal:
            for event in journal.events():
                moment = max(moment, datetime.fromisoformat(event.stamp.utc))
    return moment


def main(folder: Path) -> None:
    """Kill life after life, until one comes to the end."""
    technician = prepare(folder)
    acknowledged: dict[int, str] = {}
    lives = 0
    for when in itertools.cycle(_places()):
        lives += 1
        if one_life(folder, technician, when, acknowledged):
            break
        assert lives < 2000, "the job does not come to an end"
    print(json.dumps({"lives": lives, "acknowledged": acknowledged}))


def _places() -> Iterator[tuple[str, bool]]:
    """Where the next lives end: before, in or after a commit; now and then at the taking up itself."""
    for _ in range(6):
        yield from (("before", False), ("after", False))
    yield from (("in", False), ("before", True), ("in", True), ("after", True))


def one_life(
    folder: Path, technician: Technician, when: tuple[str, bool], acknowledged: dict[int, str]
) -> bool:
    """Let one life run up to its end; whether the job was finished by it."""
    said, say = os.pipe()
    hear, tell = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(said)
        os.close(tell)
        try:
            live(folder, technician, say, hear)
        finally:
            os._exit(0)
    os.close(say)
    os.close(hear)
    finished = False
    with os.fdopen(said) as lines:
        for line in lines:
            word, *what = json.loads(line)
            if word == "finished":
                finished = True
                break
            if word == "after":
                acknowledged.update({int(seq): leaf for seq, leaf in what[1]})
            place, at_resumption = when
            taking_up = what[0] == ["resumed"]
            if taking_up == at_resumption and (word == place or (place == "in" and word == "before")):
                if place == "in":
                    os.write(tell, b".")
                os.kill(child, signal.SIGKILL)
                break
            os.write(tell, b".")
    os.close(tell)
    os.waitpid(child, 0)
    return finished


if __name__ == "__main__":
    main(Path(sys.argv[1]))
