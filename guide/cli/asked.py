"""What a command asks a person: a passphrase that nobody sees, a short text."""

from __future__ import annotations

import click

from guide.cli.given import Common, Unusable, passphrase


def secret(common: Common, words: str, *, new: bool = False) -> str:
    """The passphrase from the descriptor named, else from a prompt that does not show it.

    Raises:
        Unusable: there is neither.
    """
    from guide.cli.work import on_a_terminal

    given = passphrase(common)
    if given is not None:
        return given
    if not on_a_terminal():
        raise Unusable("a passphrase is needed: run this in a terminal, or give --passphrase-fd N")
    return str(click.prompt(words, hide_input=True, confirmation_prompt=new))


def short(text: str, option: str) -> None:
    """Let a text of 1 to 200 characters through.

    Raises:
        Unusable: it is empty or longer.
    """
    if not 0 < len(text.strip()) <= 200:
        raise Unusable(f"{option}: 1 to 200 characters")
