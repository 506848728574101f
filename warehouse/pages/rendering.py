"""Templates to text: one environment, everything escaped."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from rangeledger.schemas.cautions import CLEAR_PEOPLE, HOW_MUCH


@lru_cache(maxsize=1)
def _environment() -> Environment:
    return Environment(
        loader=ChoiceLoader(
            [
                PackageLoader("rangeledger.warehouse.pages"),
                # Styles that the pages link to, for the files that must stand alone.
                PackageLoader("rangeledger.warehouse.pages", "static"),
            ]
        ),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def rendered(template: str, values: dict[str, Any]) -> str:
    """A page as text.

    Parameters
    ----------
    template : str
        Name of a template.
    values : dict
        What it shows; every text is escaped, only our own drawings are not.

    Returns
    -------
    str
        HTML that needs nothing from elsewhere.
    """
    cautions = {"clear_people": CLEAR_PEOPLE, "how_much": HOW_MUCH}
    return _environment().get_template(template).render(cautions | values)
