"""The `chargewright` command and the one place where errors become a line for the person."""

from __future__ import annotations

import contextlib
import os
import sys
import traceback
from collections.abc import Sequence
from types import TracebackType
from typing import NoReturn

import click

from guide import VERSION
from guide.cli.given import Common, data_option, passphrase_option, plain_option, why
from guide.errors import ChargewrightError
from guide.escape import for_terminal

UNUSABLE = 2
_INTERRUPTED = 130  # 128 + SIGINT, as shells report it
_PIPE_CLOSED = 141  # 128 + SIGPIPE
_LONGEST_LINE = 600


@click.group(invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(VERSION, prog_name="chargewright")
@plain_option
@passphrase_option
@data_option
@click.pass_context
def chargewright(context: click.Context) -> None:
    """Walks you through a refrigerant job and leaves a record that can be checked.

    Without a command it opens the terminal program.
    """
    context.ensure_object(Common)
    if context.invoked_subcommand is None:
        from guide.cli.work import open_program

        open_program(context.obj)


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and leave with its exit code; an error is one line on standard error."""
    from guide.cli import company, imports, look, practice, procedures, records, work

    for room in (look, procedures, records, work, practice, company, imports):
        for command in room.COMMANDS:
            chargewright.add_command(command)
    sys.excepthook = _one_line
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(AttributeError, OSError):
            stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr] # a test may put another stream there
    sys.exit(_code(arguments))


def _code(arguments: Sequence[str] | None) -> int:
    try:
        outcome = _outcome(sys.argv[1:] if arguments is None else list(arguments))
        sys.stdout.flush()
    except (click.Abort, KeyboardInterrupt):
        return _INTERRUPTED
    except click.ClickException as error:
        return _refuse(_usage(error))
    except ChargewrightError as error:
        return _refuse(str(error))
    except BrokenPipeError:
        _leave_pipe()
        return _PIPE_CLOSED
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        return _refuse(f"{where}{why(error)}; check disk, folder and rights")
    return outcome


def _outcome(arguments: list[str]) -> int:
    """The exit code of a command that ran; click's own `main` would print and leave by itself."""
    try:
        with chargewright.make_context("chargewright", arguments) as context:
            outcome = chargewright.invoke(context)
    except click.exceptions.Exit as leaving:
        return int(leaving.exit_code)
    return outcome if isinstance(outcome, int) else 0


def _usage(error: click.ClickException) -> str:
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "chargewright"
    said = error.format_message()
    if isinstance(error, click.exceptions.NoArgsIsHelpError):
        said = f"{path}: no command given"  # its message is the whole help
    return f"{said.rstrip('.')}; see {path} --help"


def _refuse(message: str) -> int:
    # a no-break or other odd space would be taken for a plain one: print it as one
    line = "".join(" " if character.isspace() else character for character in for_terminal(message))
    if len(line) > _LONGEST_LINE:
        line = line[: _LONGEST_LINE - 1] + "…"
    with contextlib.suppress(OSError, ValueError):
        click.echo(f"chargewright: {line}", err=True)
    return UNUSABLE


def _leave_pipe() -> None:
    """Nobody reads any more: let the interpreter's last flush go nowhere, quietly."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())


def _one_line(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
    """A fault of the program itself, in one line: where, and that it is ours."""
    frames = traceback.extract_tb(trace)
    where = f"{os.path.basename(frames[-1].filename)}:{frames[-1].lineno}" if frames else "?"  # noqa: PTH119 - a frame's name may be no path
    _refuse(
        f"a fault of this program ({kind.__name__} at {where}: {error}); nothing logged is lost; report it"
    )
    with contextlib.suppress(OSError, ValueError):
        sys.stdout.flush()
    os._exit(UNUSABLE)  # the interpreter would end with 1, which says that what was checked is not sound
