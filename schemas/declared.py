"""Small files that a user writes, checked against a declared form.

The form is a pydantic model; what is wrong is told in plain sentences that name the line, the key
and what is allowed, whatever kind of file it is.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

Form = TypeVar("Form", bound=BaseModel)
_NEAR = 0.6  # likeness from which another key is taken for a slip of the finger
_PLAIN = re.compile(r"[^\W\d]\w*(?: \d+)?")  # a name, or a list and a place in it
_KINDS = {
    "string_type": "text in quotes",
    "float_type": "a number without quotes",
    "int_type": "a whole number without quotes",
    "bool_type": "true or false",
    "list_type": "a list in square brackets",
    "tuple_type": "a list in square brackets",
}


class Declared(BaseModel):
    """Base of forms: no key beyond those declared, no silent conversion, nothing changed later."""

    model_config = ConfigDict(
        extra="forbid", strict=True, frozen=True, arbitrary_types_allowed=True
    )


class DeclaredError(ValueError):
    """What is wrong in a file, in sentences without the file's name."""


def checked_toml(text: str, form: type[Form]) -> Form:
    """Contents of a TOML file in a declared form.

    Parameters
    ----------
    text : str
        The file.
    form : type
        A model, usually derived from `Declared`.

    Returns
    -------
    Form
        The checked values.

    Raises
    ------
    DeclaredError
        Naming the line, the key and what is allowed.
    """
    return checked(parsed_toml(text), form, text)


def parsed_toml(text: str) -> dict[str, Any]:
    """Contents of a TOML file.

    Raises
    ------
    DeclaredError
        Naming the line that is no TOML.
    """
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        found = re.search(r"line (\d+)", str(error))
        line = found[1] if found else max(1, len(text.splitlines()))
        raise DeclaredError(
            f'line {line}: not valid TOML ({error}); write lines such as name = "words" or '
            "number = 18.5."
        ) from None


def checked(raw: Mapping[str, Any], form: type[Form], text: str = "") -> Form:
    """Values in a declared form; `text` is the file, for the numbers of lines.

    Raises
    ------
    DeclaredError
        One sentence for each thing that is wrong.
    """
    try:
        return form.model_validate(raw)
    except ValidationError as error:
        messages = dict.fromkeys(_sentence(found, form, text) for found in error.errors())
        raise DeclaredError(" ".join(messages)) from None


def _sentence(found: Any, form: type[BaseModel], text: str) -> str:
    path = _path(found["loc"])
    place = f"line {line_of(text, path)}: " if text else ""
    if found["type"] == "extra_forbidden":
        return f"{place}the key {path[-1]!r} is not known; {_allowed(form, path)}."
    if found["type"] == "missing":
        field = form.model_fields.get(path[0]) if len(path) == 1 else None
        cure = f"; {field.description}" if field and field.description else ""
        return f"{place}{_key(path)} is missing{cure}."
    cause = found.get("ctx", {}).get("error")
    expected = str(cause) if cause else _expected(found, path)
    if isinstance(found["input"], Mapping):
        return f"{place}{_key(path)}: {expected}."
    return f"{place}{_key(path)} = {found['input']!r} can't be used; {expected}."


def _path(parts: tuple[str | int, ...]) -> list[str]:
    """A key's tables and name; a place in a list is counted from 1: `water 2`."""
    path: list[str] = []
    for part in parts:
        if isinstance(part, int) and path:
            path[-1] += f" {part + 1}"
        elif str(part) != "[key]":
            path.append(str(part))
    return path


def _expected(found: Any, path: list[str]) -> str:
    if found["type"] in ("dict_type", "model_type") and re.search(r" \d+$", path[0]):
        return "write a table in braces: { key = value, ... }"
    if found["type"] in ("dict_type", "model_type"):
        return f"write {_key([*path, ''])[:-1]} on its own line and its entries below"
    context = found.get("ctx", {})
    if found["type"] == "literal_error":
        return f"use one of {context['expected']}"
    limits = [f"{word} {context[key]:g}" for key, word in (
        ("ge", "at least"), ("gt", "more than"), ("le", "at most"), ("lt", "less than"))
        if key in context]  # fmt: skip
    if limits:
        return f"write a number of {' and '.join(limits)}"
    return f"write {_KINDS.get(found['type'], found['msg'])}"


def _key(path: list[str]) -> str:
    """A key with its tables, as one would look for it: `[hands] "Ada Brook"`."""
    tables = ".".join(part if _PLAIN.fullmatch(part) else f'"{part}"' for part in path[:-1])
    return f"[{tables}] {path[-1]}" if tables else path[-1]


def _allowed(form: type[BaseModel], path: list[str]) -> str:
    """What may stand in the place of a key that is not known."""
    for part in path[:-1]:
        field = form.model_fields.get(part.split(" ")[0]) or form.model_fields.get("root")
        inner = _parts(field.annotation) if field else []
        form = next((a for a in inner if isinstance(a, type) and issubclass(a, BaseModel)), form)
    names = [field.alias or name for name, field in form.model_fields.items()]
    near = difflib.get_close_matches(path[-1].casefold(), names, n=2, cutoff=_NEAR)
    return f"did you mean {' or '.join(near)}" if near else f"known keys are {', '.join(names)}"


def _parts(annotation: Any) -> list[Any]:
    inside = getattr(annotation, "__args__", ())
    return [annotation, *(part for one in inside for part in _parts(one))]


def line_of(text: str, path: list[str]) -> int:
    """Line of the last part of a key's path that can be found, from 1; else the first."""
    lines = text.splitlines()
    if path and (counted := re.fullmatch(r"(\w+) (\d+)", path[0])):
        table = re.compile(rf"^\s*\[\[?\s*{counted[1]}\s*\]")
        heads = [number for number, line in enumerate(lines) if table.match(line)]
        begins = heads[int(counted[2]) - 1] if len(heads) >= int(counted[2]) else 0
        inside = line_of("\n".join(lines[begins + 1 :]), path[1:]) if path[1:] else 0
        return begins + 1 + inside
    for part in reversed(path):
        key = re.compile(rf"^\s*(?:\[.*)?[\"']?{re.escape(part)}[\"']?\s*(?:=|\.|\])")
        for number, line in enumerate(lines, 1):
            if key.match(line):
                return number
    return 1
