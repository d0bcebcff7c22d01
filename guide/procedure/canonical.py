"""A tree of mappings, lists and text as YAML of one form, so that one procedure has one hash.

Every value stands in double quotes, and so is text to any YAML reader; only the flags of the procedure
file stand bare, since they are flags to any reader too.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Final

from guide.procedure.strict_yaml import Node

_PLAIN_KEY: Final = re.compile(r"[A-Za-z][A-Za-z0-9_-]*")
_NO_TEXT_UNQUOTED: Final = frozenset({"y", "n", "yes", "no", "on", "off", "true", "false", "null"})
"""Words that a reader of YAML 1.1 takes for something other than text."""


def canonical(root: Node, *, flags: frozenset[str] = frozenset()) -> bytes:
    """The tree as block YAML in UTF-8, two spaces a level, in the order of its keys.

    The strict reader gives back the same tree. Values of the keys in `flags` that say `true` or `false`
    stand without quotes.
    """
    lines = _lines(root, "", flags) if isinstance(root, dict | list) and root else [_flow(root)]
    return ("\n".join(lines) + "\n").encode()


def _lines(node: dict[str, Node] | list[Node], indent: str, flags: frozenset[str]) -> Iterator[str]:
    if isinstance(node, dict):
        for key, value in node.items():
            yield from _entry(f"{indent}{_key(key)}:", value, indent + "  ", flags, bare=key in flags)
    else:
        for value in node:
            if isinstance(value, dict | list) and value:
                inner = _lines(value, indent + "  ", flags)
                yield f"{indent}- {next(inner)[len(indent) + 2 :]}"
                yield from inner
            else:
                yield f"{indent}- {_flow(value)}"


def _entry(start: str, value: Node, indent: str, flags: frozenset[str], *, bare: bool) -> Iterator[str]:
    if isinstance(value, dict | list) and value:
        yield start
        yield from _lines(value, indent, flags)
    elif bare and value in ("true", "false"):
        yield f"{start} {value}"
    else:
        yield f"{start} {_flow(value)}"


def _flow(node: Node) -> str:
    """Text in quotes, or an empty mapping or list."""
    return json.dumps(node, ensure_ascii=False)


def _key(key: str) -> str:
    if _PLAIN_KEY.fullmatch(key) and key.lower() not in _NO_TEXT_UNQUOTED:
        return key
    return json.dumps(key, ensure_ascii=False)
