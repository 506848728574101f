"""Print the sample exports of the invented academy again, byte for byte.

    python -m rangeledger.sample_exports.make_sample_exports [FOLDER]

writes them beside this module, or into FOLDER. Nothing but the tables of `players.py`,
`scenario.py` and `layouts.py` and the seed of `swings.py` decides what is written.
"""

from __future__ import annotations

import sys
from pathlib import Path

from rangeledger.sample_exports import sample_folder
from rangeledger.sample_exports.layouts import LAYOUTS
from rangeledger.sample_exports.printing import print_export
from rangeledger.sample_exports.refused_texts import REFUSED
from rangeledger.sample_exports.scenario import EXPORTS


def note_text(note: dict[str, object]) -> str:
    """A note file: canonical column names and what they were that day.

    Parameters
    ----------
    note : dict of str to object
        Canonical column to text or number.

    Returns
    -------
    str
        The note as TOML, one line a column.
    """
    return "".join(
        f'{name} = "{value}"\n' if isinstance(value, str) else f"{name} = {value}\n"
        for name, value in note.items()
    )


def all_files() -> dict[str, bytes]:
    """Every file of the samples by its path below the folder.

    Returns
    -------
    dict of str to bytes
        Path with forward slashes to content.
    """
    files: dict[str, bytes] = {}
    for export in EXPORTS:
        files[export.file_name] = print_export(export, LAYOUTS[export.layout]).content
        if export.note:
            name = export.file_name.removesuffix(".csv") + ".toml"
            files[name] = note_text(export.note).encode()
    files |= {f"refused/{name}": text.encode() for name, text in REFUSED.items()}
    return files


def main(folder: Path) -> None:
    """Write all files below a folder.

    Parameters
    ----------
    folder : pathlib.Path
        Where the files go; made if missing.
    """
    for name, content in all_files().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    print(f"{len(EXPORTS)} exports and {len(REFUSED)} files to refuse in {folder}")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else sample_folder())
