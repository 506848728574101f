"""Which refused exports are settled by what was loaded later under their name."""

from __future__ import annotations

import pytest
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.refusals import open_refusals
from rangeledger.pipelines.running import ledger
from rangeledger.schemas.reasons import State
from rangeledger.warehouse import publishing
from rangeledger.warehouse.home import Home

from tests.exports_text import HEADING, seven_irons

# No heading, so that it is refused; the numbers are those of the shots.
REFUSED = seven_irons().removeprefix(HEADING + "\n")


def offer(home: Home, name: str, text: str) -> State:
    """Load one export and publish."""
    path = home.inbox / name
    path.write_text(text)
    (outcome,) = ledger.load_plainly(home, [Offered(path, name)])
    publishing.publish(home)
    return outcome.state


@pytest.mark.parametrize(
    ("later", "settled"),
    [
        (seven_irons(), True),
        (seven_irons().replace(",", ";"), True),
        (seven_irons(day="2026-05-09"), False),
    ],
)
def test_only_an_export_with_its_shots_settles_a_refusal(
    home: Home, later: str, settled: bool
) -> None:
    assert offer(home, "session.csv", REFUSED) is State.QUARANTINED
    assert open_refusals(home) == [home.quarantine / "session.csv"]
    assert offer(home, "session.csv", later) is State.LOADED
    assert open_refusals(home) == ([] if settled else [home.quarantine / "session.csv"])


def test_a_deleted_refusal_is_asked_for_no_more(home: Home) -> None:
    offer(home, "session.csv", REFUSED)
    (home.quarantine / "session.csv").unlink()
    assert open_refusals(home) == []
