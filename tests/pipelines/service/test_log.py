from __future__ import annotations

import json

import pytest
from rangeledger.pipelines.service import log as service_log
from rangeledger.warehouse.home import Home


def test_the_log_is_turned_over_and_stays_bounded(
    home: Home, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(service_log, "_FILE_BYTES", 2000)
    logger = service_log.open_log(home, "service")
    for number in range(1000):
        logger.info("line %d of a long day", number)
    service_log.close_log(logger)
    sizes = [path.stat().st_size for path in home.logs.glob("service.log*")]
    assert len(sizes) == 6
    assert max(sizes) <= 2000
    assert "line 999 of a long day" in service_log.log_path(home, "service").read_text()
    assert "line 999" in capsys.readouterr().err


def test_a_log_that_can_not_be_written_does_not_stop_anything(
    home: Home, capsys: pytest.CaptureFixture[str]
) -> None:
    logger = service_log.open_log(home, "service", quiet=True)
    service_log.log_path(home, "service").mkdir()
    logger.info("lost")
    service_log.close_log(logger)
    assert capsys.readouterr().err == ""


def test_lines_can_be_json_for_a_collector(home: Home) -> None:
    log = service_log.open_log(home, "collected", quiet=True, form=service_log.LogFormat.JSON)
    log.warning("quarantined %s: %s", 'a "b".csv', "line\nbreak")
    service_log.close_log(log)
    (line,) = service_log.log_path(home, "collected").read_text().splitlines()
    told = json.loads(line)
    assert told.pop("at").endswith("Z")
    assert told == {
        "level": "warning", "service": "collected",
        "message": 'quarantined a "b".csv: line\nbreak',
    }  # fmt: skip
