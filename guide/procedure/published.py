"""A file's pydantic model as the JSON Schema that is published beside such files."""

from __future__ import annotations

from typing import Any, Final

_DIALECT: Final = {"$schema": "https://json-schema.org/draft/2020-12/schema"}


def published(schema: dict[str, Any]) -> dict[str, Any]:
    """A model's schema as it is published: with its dialect, optional keys as keys that may be absent."""
    return {**_DIALECT, **_without_null(schema)}


def _without_null(node: Any) -> Any:
    # a file never says null
    if isinstance(node, list):
        return [_without_null(item) for item in node]
    if not isinstance(node, dict):
        return node
    kept = {
        key: _without_null(value) for key, value in node.items() if not (key == "default" and value is None)
    }
    choices = [choice for choice in kept.get("anyOf", ()) if choice != {"type": "null"}]
    if len(choices) == 1:
        del kept["anyOf"]
        return {**choices[0], **kept}
    return kept
