"""The customer's page to a file or to the system's printer."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from typing import Final

import click

from guide.cli.given import Unusable, why
from guide.escape import for_terminal
from guide.journal.files import write_new

_PROGRAMS: Final = ("lp", "lpr")
_LONGEST_S: Final = 30.0


def find_printer() -> str:
    """The program that takes pages for the printer.

    Raises:
        Unusable: there is none on this machine.
    """
    for name in _PROGRAMS:
        found = shutil.which(name)
        if found is not None:
            return found
    raise Unusable(
        "--print: neither lp nor lpr is on this machine; use --customer-copy FILE and print that elsewhere"
    )


def send_to_printer(program: str, page: bytes, *, err: bool) -> None:
    """Hand a PDF to the printer's queue; `err` says it on standard error.

    Raises:
        Unusable: the queue did not take it.
    """
    try:
        done = subprocess.run(  # noqa: S603 - a fixed program without arguments
            [program], input=page, capture_output=True, timeout=_LONGEST_S, check=False
        )
    except subprocess.TimeoutExpired:
        raise Unusable(
            f"--print: {program} did not answer in {_LONGEST_S:.0f} s; see to the printer"
        ) from None
    except OSError as error:
        raise Unusable(f"--print: {program} can't be run ({why(error)})") from error
    said = for_terminal((done.stderr or done.stdout).decode(errors="replace").strip())[:200]
    if done.returncode != 0:
        raise Unusable(
            f"--print: {program} did not take the page ({said or done.returncode}); see to the printer"
        )
    click.echo(said or "handed to the printer", err=err)


def write_page(name: str, page: bytes) -> Path:
    """A page in a new file.

    Raises:
        Unusable: the file exists or can't be written.
    """
    path = Path(name).expanduser().absolute()
    try:
        write_new(path, page, mode=0o644)
    except OSError as error:
        raise Unusable(f"--customer-copy {name}: can't be written ({why(error)}); name a new file") from error
    except ValueError as error:
        raise Unusable(f"--customer-copy {name[:60]!r}: is no path; name a new file") from error
    return path
