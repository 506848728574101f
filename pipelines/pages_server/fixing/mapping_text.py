"""Mappings as the fixing page edits them: a proposal taken apart, and put together from choices."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from rangeledger.pipelines.pages_server.uploads.dropping import toml_value

_SECTION = re.compile(r'\[columns\."((?:[^"\\]|\\.)*)"')
_LINE_TO_FILL = re.compile(r"[a-z]+ = ")
COLUMN_FIELDS = ("column", "unit", "positive", "measured")


@dataclass
class ColumnChoice:
    """One column of the export as the page shows it.

    Parameters
    ----------
    heading : str
        As it stands in the export.
    column, unit, positive, measured : str
        What is said of it; empty where nothing is.
    question : str
        What the reader is not sure of.
    cells : list of str
        Its first cells.
    possible : list of str
        Canonical names that the reader holds possible, the likeliest first.
    """

    heading: str
    column: str = ""
    unit: str = ""
    positive: str = ""
    measured: str = ""
    question: str = ""
    cells: list[str] = field(default_factory=list)
    possible: list[str] = field(default_factory=list)


def parse_mapping(text: str) -> tuple[list[str], list[ColumnChoice], dict[str, Any]]:
    """Headings, columns and the other tables of a mapping.

    Parameters
    ----------
    text : str
        A mapping as the reader proposes it; doubts stand in comments above their columns.

    Returns
    -------
    headings : list of str
        Under [match].
    columns : list of ColumnChoice
        In the order of the file.
    others : dict
        [constants] and [numbers].
    """
    found = tomllib.loads(text)
    questions = _questions(text)
    columns = []
    for heading, entry in found.get("columns", {}).items():
        if not isinstance(entry, dict):
            continue
        column, unit, positive, measured = (str(entry.get(key) or "") for key in COLUMN_FIELDS)
        question = questions.get(heading, "")
        columns.append(ColumnChoice(heading, column, unit, positive, measured, question))
    others = {name: found[name] for name in ("constants", "numbers") if found.get(name)}
    match = found.get("match", {})
    return [str(one) for one in match.get("headings", [])], columns, others


def _questions(text: str) -> dict[str, str]:
    """Heading -> the comments that belong to its section."""
    found: dict[str, list[str]] = {}
    heading = None
    for line in text.splitlines():
        if section := _SECTION.match(line.strip()):
            heading = tomllib.loads(f'x = "{section[1]}"')["x"]
        elif line.startswith("["):
            heading = None
        elif line.startswith("#") and heading is not None:
            comment = line.lstrip("# ").removeprefix("CHECK:").strip()
            if not _LINE_TO_FILL.match(comment):  # the page has a list in its place
                found.setdefault(heading, []).append(comment)
    return {heading: " ".join(comments) for heading, comments in found.items()}


def format_mapping(
    headings: Sequence[str], columns: Sequence[ColumnChoice], others: Mapping[str, Any]
) -> str:
    """A mapping as TOML.

    Parameters
    ----------
    headings : sequence of str
        Headings of the exports that it is for.
    columns : sequence of ColumnChoice
        What each column is.
    others : mapping
        [constants] and [numbers].

    Returns
    -------
    str
    """
    quoted = ", ".join(toml_value(heading) for heading in headings)
    lines = ["# Chosen on the pages.", "[match]", f"headings = [{quoted}]"]
    for choice in columns:
        lines += ["", f"[columns.{toml_value(choice.heading)}]"]
        lines.append(f"column = {toml_value(choice.column)}")
        for key in ("unit", "positive", "measured"):
            if choice.column and getattr(choice, key):
                lines.append(f"{key} = {toml_value(getattr(choice, key))}")
    for name, table in others.items():
        lines += ["", f"[{name}]"]
        lines += [f"{toml_value(key)} = {toml_value(value)}" for key, value in table.items()]
    return "\n".join(lines) + "\n"
