"""The attachments of a dossier as files in a folder, as a reader of PDFs saves them."""

import shutil
import subprocess
from pathlib import Path

from evidence.dossier.attachments import extract
from evidence.errors import EvidenceError


def saved(pdf: Path, folder: Path) -> Path:
    """Save them: by Poppler where it is here, else by the program's own reading."""
    folder.mkdir(exist_ok=True)
    if shutil.which("pdfdetach"):
        command = ["pdfdetach", "-saveall", "-o", folder, pdf]
        subprocess.run(command, check=False, capture_output=True)
        return folder
    try:
        found = extract(pdf.read_bytes())
    except EvidenceError:
        found = {}
    for name, data in found.items():
        (folder / name).write_bytes(data)
    return folder
