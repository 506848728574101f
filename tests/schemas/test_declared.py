from __future__ import annotations

from typing import Annotated, Literal

import pytest
from pydantic import Field
from rangeledger.schemas.declared import Declared, DeclaredError, checked_toml


class Bag(Declared):
    weight_kg: Annotated[float, Field(gt=0.0, le=30.0)]
    colour: Literal["red", "green"] = "red"


class Form(Declared):
    bags: dict[str, Bag] = Field(default_factory=dict)
    count: int = 0


def test_a_good_file_gives_its_values() -> None:
    form = checked_toml('count = 2\n[bags."Ada B"]\nweight_kg = 9\n', Form)
    assert form == Form(bags={"Ada B": Bag(weight_kg=9.0)}, count=2)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("count =", "not valid TOML"),
        ("\ncount = = 3", "line 2: not valid TOML"),
        ("count = true", "line 1: count = True can't be used; write a whole number"),
        ('[bags."Ada B"]\ncolour = "red"', 'line 1: .bags."Ada B". weight_kg is missing.'),
        ("[bags.A]\nweight_kg = 40", "line 2: .bags.A. weight_kg = 40 .* at most 30"),
        ("[bags.A]\nweight_kg = 0", "more than 0"),
        ("[bags.A]\nweight_kg = 9\nweigth = 9", "line 3: .* did you mean weight_kg"),
        ("[bags.A]\nweight_kg = 9\nhue = 9", "known keys are weight_kg, colour"),
        ('[bags.A]\nweight_kg = 9\ncolour = "blue"', "line 3: .* one of 'red' or 'green'"),
    ],
)
def test_each_fault_names_its_line_key_and_what_is_allowed(text: str, said: str) -> None:
    with pytest.raises(DeclaredError, match=said):
        checked_toml(text, Form)


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(DeclaredError) as told:
        checked_toml('other = 1\ncount = "x"\n', Form)
    assert "line 1: the key 'other' is not known" in str(told.value)
    assert "line 2: count = 'x' can't be used; write a whole number" in str(told.value)
