"""The command line: one thin function a command, each importing what it needs when it is called."""

from guide.cli.run import main

__all__ = ["main"]
