"""What the Nu HTML checker says of pages: one run of it over all of them."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterable
from pathlib import Path

import pytest

NU = (Path(__file__).resolve().parents[2]
      / ".ci" / "node" / "node_modules" / "vnu-jar" / "build" / "dist" / "vnu.jar")

GUESS = "This document appears to be written in"  # a guess: a catalogue's texts stay in the catalogue's language
NEWER = ("CSS: Unrecognized at-rule “@container”",  # CSS Containment Level 3 (W3C) is newer than the checker
         "CSS: “container-type”: Property “container-type” doesn't exist.")


def markup_faults(papers: Iterable[Path]) -> list[str]:
    """Every error and warning of the Nu HTML checker, with its page and line."""
    if not NU.exists() or shutil.which("java") is None:
        pytest.skip("the Nu HTML checker or java is not installed: see DEVELOPERS.md")
    done = subprocess.run(["java", "-Xss8m", "-jar", str(NU), "--format", "json", "--stdout", *map(str, papers)],
                          capture_output=True, text=True, check=False)
    found = json.loads(done.stdout)["messages"]
    return [f"{message['url'].rpartition('/')[2]} line {message.get('lastLine', 0)}: {message['message']}"
            for message in found if not message["message"].startswith((GUESS, *NEWER))]
