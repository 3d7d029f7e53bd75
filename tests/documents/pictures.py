"""Pictures of every HTML paper of a build, to look at: `python -m tests.documents.pictures out/ pictures/`.

Each paper at 360 and 1280 px, light, and at 1280 px dark; its A4 and Letter prints as PDF and a picture a page.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tests.documents.browser import address, chromium, open_browser
from tests.documents.printed import SIZES, print_paper
from tests.documents.screens import DESK, PHONE, Screen

if TYPE_CHECKING:
    from playwright.sync_api import Browser

SHOWN = (PHONE, DESK, Screen(1280, 900, "dark"))
DOTS_PER_INCH = 80


def main(words: Sequence[str] | None = None) -> int:
    """Write the pictures and say how many."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("out", type=Path, help="the folder of a build, or one that holds several")
    parser.add_argument("pictures", type=Path, help="where to put the pictures")
    chosen = parser.parse_args(words)
    papers = sorted(chosen.out.rglob("*.html"))
    if not papers or chromium() is None:
        print("Chromium is not installed." if papers else f"There is no HTML paper in {chosen.out}.", file=sys.stderr)
        return 1
    with open_browser() as browser:
        for paper in papers:
            name = "-".join(paper.relative_to(chosen.out).with_suffix("").parts)
            picture(browser, paper, chosen.pictures / name)
    print(f"Wrote {sum(1 for _ in chosen.pictures.rglob('*.png'))} pictures of {len(papers)} papers.")
    return 0


def picture(browser: Browser, paper: Path, folder: Path) -> None:
    """All pictures of one paper."""
    folder.mkdir(parents=True, exist_ok=True)
    for screen in SHOWN:
        page = browser.new_page(viewport={"width": screen.width, "height": screen.height}, color_scheme=screen.scheme)
        page.goto(address(paper))
        page.screenshot(path=folder / f"{screen.width}-{screen.scheme}.png", full_page=True)
        page.close()
    for size in SIZES:
        print_paper(browser, paper, size, folder / f"{size}.pdf")
        subprocess.run(["pdftoppm", "-r", str(DOTS_PER_INCH), "-png", str(folder / f"{size}.pdf"), str(folder / size)],
                       check=True)


if __name__ == "__main__":
    raise SystemExit(main())
