"""Reading one export, with every way in which that can fail sorted out."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rangeledger.pipelines.faults import fault_log, keep_fault
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import ReadingDefaults

if TYPE_CHECKING:
    from rangeledger.pipelines.reader.prepared_export import PreparedExport


@dataclass(frozen=True, slots=True)
class ReadResult:
    """What reading an export gave: shots, a refusal, or a reason to leave it for later."""

    export: PreparedExport | None = None
    refusal: ExportError | None = None
    left_because: str = ""
    seconds: float = 0.0


def read_one(home: Home, defaults: ReadingDefaults | None, offered: Offered) -> ReadResult:
    """Read, recognise and normalise one export; never raises for what is the export's fault.

    Parameters
    ----------
    home : Home
    defaults : ReadingDefaults or None
        What holds where the export leaves it open.
    offered : Offered

    Returns
    -------
    ReadResult
        A refusal sends the export to quarantine. `left_because` is for what may pass: the file
        vanished or the machine can't read it now.
    """
    began = time.perf_counter()
    export, refusal, left = _attempt(home, defaults or ReadingDefaults(), offered)
    return ReadResult(export, refusal, left, time.perf_counter() - began)


def _attempt(
    home: Home, defaults: ReadingDefaults, offered: Offered
) -> tuple[PreparedExport | None, ExportError | None, str]:
    from rangeledger.pipelines.reader.prepare import prepare_export  # where nobody else reads

    name = offered.file_name
    if offered.path.is_symlink():
        sentence = (
            f"{name} is a link, and what it leads to may change; drop the file itself, or name it: "
            "rangeledger ingest FILE."
        )
        return None, ExportError(sentence, FileReason.NOT_A_FILE.value), ""
    try:
        export = prepare_export(
            offered.path, mappings_dir=home.mappings, zone=defaults.zone,
            date_order=defaults.date_order, note=offered.note, file_name=name,
            wind_height=defaults.wind_height, site=defaults.site, monitors=defaults.monitors,
        )  # fmt: skip
    except ExportError as refusal:
        return None, refusal, ""
    except PermissionError:
        sentence = f"{name} may not be read. Give read permission, then drop it again."
        return None, ExportError(sentence, FileReason.UNREADABLE.value), ""
    except OSError as error:
        return None, None, f"The machine can't read it at the moment ({error.strerror})."
    except Exception as error:  # noqa: BLE001  one export's fault must not hold up the others
        keep_fault(home, error, f"preparing {name}")
        sentence = (
            "The program met a fault of its own while reading this export; nothing of it was "
            f"loaded. Report it with the last entry of {fault_log(home)}."
        )
        return None, ExportError(sentence, FileReason.FAULT.value), ""
    return export, None, ""
