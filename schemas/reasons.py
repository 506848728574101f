"""Reason codes for rows and files that are not accepted, each with its plain sentence."""

from __future__ import annotations

from enum import StrEnum


class RowReason(StrEnum):
    """Why a row was not accepted as a shot (`rejected_rows.reason_code`)."""

    OUT_OF_RANGE = "out-of-range"
    TOTAL_SHORT_OF_CARRY = "total-short-of-carry"
    BALL_TOO_FAST = "ball-too-fast"
    FLIGHT_IMPOSSIBLE = "flight-impossible"
    NOT_A_NUMBER = "not-a-number"
    BAD_TIME = "bad-time"
    NO_CLUB = "no-club"
    NO_MEASUREMENT = "no-measurement"
    DUPLICATE_ROW = "duplicate-row"
    RAGGED_ROW = "ragged-row"
    NOT_A_SHOT = "not-a-shot"
    EXPECTATION_FAILED = "expectation-failed"


# Codes that reasons had up to version 0.1, as they stand in lakes of that time.
FORMER_ROW_REASONS = {"smash-too-high": RowReason.BALL_TOO_FAST.value}


class LineKind(StrEnum):
    """What a line that is neither a shot nor a rejected row was taken for (`other_lines`)."""

    HEADING = "heading"
    UNITS = "units"
    SECTION = "section"
    NOTE = "note"
    SUMMARY = "summary"
    REPEATED = "repeated"
    COMMENT = "comment"
    COMMENTED_OUT = "commented-out"
    BLANK = "blank"
    SEPARATOR = "separator"
    TURNED = "turned"


class FileReason(StrEnum):
    """Why a whole export went to quarantine (`ingest_log.reason` starts with it)."""

    EMPTY = "empty"
    UNREADABLE = "unreadable"
    NOT_TEXT = "not-text"
    NOT_A_FILE = "not-a-file"
    TOO_LARGE = "too-large"
    NOT_AN_EXPORT = "not-an-export"
    NO_SHOTS = "no-shots"
    AVERAGES_ONLY = "averages-only"
    UNCLEAR_COLUMNS = "unclear-columns"
    UNCLEAR_UNITS = "unclear-units"
    UNCLEAR_TIMES = "unclear-times"
    BAD_NOTE = "bad-note"
    BAD_MAPPING = "bad-mapping"
    ALL_REJECTED = "all-rejected"
    FAULT = "fault"


class State(StrEnum):
    """What became of an export that was offered (`ingest_log.state`)."""

    LOADED = "loaded"
    LOADED_WITH_REJECTS = "loaded-with-rejects"
    DUPLICATE = "duplicate"
    QUARANTINED = "quarantined"
