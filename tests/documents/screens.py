"""What is wrong with an HTML paper on a screen: accessibility, what does not fit, what it says or asks for by itself.

Every check gives sentences; an empty list is a good paper. They hold for any self-contained page.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import pytest

from tests.documents.browser import address

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Route

AXE = Path(__file__).resolve().parents[2] / ".ci" / "node" / "node_modules" / "axe-core" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]  # WCAG 2.2, levels A and AA
SETTLE = "document.fonts.ready.then(() => document.querySelectorAll('*').length)"


@dataclass(frozen=True, slots=True)
class Screen:
    """A window in CSS pixels; `zoom` as a browser zooms: a smaller window in the same room."""

    width: int
    height: int
    scheme: Literal["light", "dark"] = "light"
    zoom: int = 1

    def __str__(self) -> str:
        zoomed = f"-zoom-{self.zoom}00" if self.zoom > 1 else ""
        return f"{self.width}x{self.height}-{self.scheme}{zoomed}"


PHONE, DESK, DARK_DESK = Screen(360, 800), Screen(1280, 900), Screen(1280, 900, "dark")
SCREENS = (PHONE, Screen(360, 800, "dark"), DESK, DARK_DESK)
ZOOMED = Screen(1280, 900, zoom=2)

# The lines of text that a reader sees, with the box of each; what stands before an element by its style counts too.
# A box of one pixel is text for those who listen; it is left out. What is drawn to scale keeps its size and moves in
# a region of its own: WCAG 2.2, 1.4.10 excepts what needs two dimensions to be understood.
SEEN = """() => {
  const known = new WeakMap(), seen = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_ELEMENT | NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode;
    const e = node.nodeType == 3 ? node.parentElement : node;
    const about = known.get(e) || learn(e);
    if (!about.visible || about.hidden) continue;
    if (node == e) {
      if (/^"./.test(about.before)) seen.push(line(e, about.before.slice(1, -1), [], []));
    } else if (node.data.trim()) {
      const range = document.createRange();
      range.selectNodeContents(node);
      const rects = [...range.getClientRects()].map(r => [r.left, r.top, r.right, r.bottom]);
      seen.push(line(e, node.data, rects, about.frames));
    }
  }
  return JSON.stringify(seen);  // one text: a value with ten thousand parts takes seconds to hand over
  function learn(e) {  // what holds for an element and all inside it, asked for once
    const up = e.parentElement && e != document.body ? known.get(e.parentElement) || learn(e.parentElement) : null;
    const style = getComputedStyle(e);
    const about = {
      visible: style.visibility == 'visible' && e.getClientRects().length > 0,
      hidden: e.offsetWidth == 1 && e.offsetHeight == 1 || e.matches('style, script') || !!up && up.hidden,
      before: getComputedStyle(e, '::before').content,
      frames: [...(clips(e, style) ? [box(e)] : []), ...(up ? up.frames : [])],
      across: e.matches('.across') || !!up && up.across,
      moves: e.matches('.to-scale[tabindex]') && style.overflowX == 'auto' || !!up && up.moves,
    };
    known.set(e, about);
    return about;
  }
  function line(e, text, rects, frames) {
    const about = known.get(e);
    return {text, rects, frames, of: name(e), across: about.across, moves: about.moves};
  }
  function clips(e, style) {
    return e.tagName == 'TD' || e.tagName == 'TH' || ['hidden', 'clip'].includes(style.overflowX)
      || ['hidden', 'clip'].includes(style.overflowY);
  }
  function box(e) { const r = e.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom]; }
  function name(e) { return e.tagName.toLowerCase() + (e.className ? '.' + e.className : ''); }
}"""


def screen_faults(
    browser: Browser, paper: Path, screens: Sequence[Screen] = SCREENS, rules: Sequence[Screen] = SCREENS
) -> list[str]:
    """Everything wrong with the paper on each screen, and what it says to the console or asks the network for.

    `rules`: on which of them the accessibility rules too, which take most of the time.
    """
    if not AXE.exists():
        pytest.skip("axe-core is not installed: see DEVELOPERS.md")
    found = []
    with _opened(browser, paper, screens[0]) as opened:
        opened.page.evaluate(AXE.read_text(encoding="utf-8"))
        for screen in screens:
            opened.page.set_viewport_size({"width": screen.width, "height": screen.height})
            opened.page.emulate_media(color_scheme=screen.scheme)
            opened.page.evaluate(SETTLE)
            faults = (*(_rules_broken(opened.page) if screen in rules else ()), *cut_text(opened.page),
                      *sideways(opened.page))
            found += [f"{screen}: {fault}" for fault in faults]
        return [*found, *opened.said]


def _rules_broken(page: Page) -> list[str]:
    found = page.evaluate(f"axe.run({{runOnly: {TAGS}}}).then(done => done.violations)")
    return [f"{rule['id']}: {rule['help']}: {node['target']} {node['html'][:120]}"
            for rule in found for node in rule["nodes"]]


def zoom_faults(browser: Browser, paper: Path) -> list[str]:
    """What is lost at 200 %, as a browser zooms and as text alone grows. WCAG 2.2, 1.4.4 and 1.4.10."""
    with _opened(browser, paper, DESK) as plain:
        whole = words_seen(plain.page)
        plain.page.evaluate("document.documentElement.style.fontSize = '200%'")
        found = [f"text at 200 %: {fault}" for fault in _losses(plain.page, whole)]
    with _opened(browser, paper, ZOOMED) as zoomed:
        return [*found, *(f"page at 200 %: {fault}" for fault in _losses(zoomed.page, whole))]


def _losses(page: Page, whole: set[str]) -> list[str]:
    return [*(f"'{word}' is gone" for word in sorted(whole - words_seen(page))), *cut_text(page), *sideways(page)]


def sideways(page: Page) -> list[str]:
    """Whether the page scrolls sideways."""
    width, room = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    return [f"the page is {width} px wide where {room} are"] if width > room else []


def lines_seen(page: Page) -> list[dict[str, Any]]:
    """The lines of text that a reader sees, with the box of each."""
    seen: list[dict[str, Any]] = json.loads(page.evaluate(SEEN))
    return seen


def words_seen(page: Page) -> set[str]:
    """Every word that a reader sees."""
    return {word for line in lines_seen(page) for word in line["text"].split()}


def cut_text(page: Page, across: bool | None = None) -> list[str]:
    """Texts that reach out of the window, of their cell, or of a box that cuts them off.

    `across`: of the sheets that lie across their paper alone, or of all others; None: of the whole page.
    """
    width = page.evaluate("document.documentElement.clientWidth")
    found = []
    for line in lines_seen(page):
        if line["moves"] or across not in (None, line["across"]):
            continue
        for rect in line["rects"]:
            if rect[0] < -1 or rect[2] > width + 1:
                found.append(f"'{line['text'].strip()}' ({line['of']}) reaches out of the window")
            elif any(_outside(rect, frame) for frame in line["frames"]):
                found.append(f"'{line['text'].strip()}' ({line['of']}) reaches out of its box")
    return list(dict.fromkeys(found))


def _outside(rect: list[float], frame: list[float]) -> bool:
    """Whether a line of text leaves its frame: by more than a pixel sideways, or by half its height."""
    half = (rect[3] - rect[1]) / 2
    return (rect[0] < frame[0] - 1 or rect[2] > frame[2] + 1
            or rect[1] < frame[1] - half or rect[3] > frame[3] + half)


class _opened:
    """The paper in a window that reaches nothing else; `said` is what it said or asked for."""

    def __init__(self, browser: Browser, paper: Path, screen: Screen) -> None:
        self._own = address(paper)
        self.said: list[str] = []
        self._context = browser.new_context(
            viewport={"width": screen.width // screen.zoom, "height": screen.height // screen.zoom},
            device_scale_factor=screen.zoom, color_scheme=screen.scheme, offline=True)
        self._context.route("**/*", self._answer)
        self.page = self._context.new_page()
        self.page.on("console", lambda message: self.said.append(f"the console says: {message.text}"))
        self.page.on("pageerror", lambda error: self.said.append(f"the page fails: {error}"))
        self.page.on("dialog", lambda dialog: self.said.append(f"the page asks: {dialog.message}"))

    def __enter__(self) -> _opened:
        self.page.goto(self._own)
        self.page.evaluate(SETTLE)
        return self

    def __exit__(self, *_: object) -> None:
        self._context.close()

    def _answer(self, route: Route) -> None:
        if route.request.url == self._own:
            route.continue_()
            return
        self.said.append(f"asks for {route.request.url}")
        route.abort()

