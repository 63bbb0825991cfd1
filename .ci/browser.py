"""Looks at the pages of a folder in Chromium; ends with 1 where anything is amiss.

python browser.py FOLDER [PICTURES]     what LOOKED_AT names in it; takes the pictures of docs
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pictured
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, sync_playwright

QUIET = [
    "--no-sandbox",  # as root, which Chromium refuses otherwise
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
WIDTHS = {"telephone": 390, "desk": 1280}
PAPERS = ("A4", "Letter")
OF_COUNTER = ("index", "station", "month", "c-rb-014", "c-rb-019")
PICTURES = ("wall.svg", "history.svg", "fleet.svg", "station.svg", "plan.svg")
NOW = tuple(f"now/{page}" for page, _ in pictured.OF_NOW.values())
OF_PAGES = (*(f"pages/{n}.html" for n in OF_COUNTER), *NOW)
LOOKED_AT = ("whole.html", "short.html", *PICTURES, *OF_PAGES)


def watched(browser: Browser, width: int, scheme: str) -> tuple[Page, list[str]]:
    """A page of that width, and what it says and asks for."""
    context = browser.new_context(
        viewport={"width": width, "height": 900}, color_scheme=scheme, offline=True
    )
    page, heard = context.new_page(), []
    page.on("console", lambda m: heard.append(f"console: {m.text}"))
    page.on("pageerror", lambda e: heard.append(f"error: {e}"))
    page.on("requestfailed", lambda r: heard.append(f"failed: {r.url}"))
    page.on(
        "request",
        lambda r: r.url.startswith(("file:", "data:")) or heard.append(f"request: {r.url}"),
    )
    return page, heard


def amiss(browser: Browser, file: Path, width: int, scheme: str) -> Iterator[str]:
    """What is wrong with a page at a width."""
    page, heard = watched(browser, width, scheme)
    page.goto(file.as_uri())
    yield from heard
    if file.suffix == ".svg":
        yield from drawn_amiss(page)
        return
    wide = page.evaluate("document.documentElement.scrollWidth")
    if wide > width:
        yield f"{wide} px wide on {width}"
    if file.name in WHOLE:
        yield from page.evaluate(CUT)
    for picture in page.locator("svg.figure").all():
        box = picture.bounding_box()
        if box is None or box["width"] < 250 or box["x"] + box["width"] > width:
            yield f"a picture does not fit: {box}"
    for found in Axe().run(page).response["violations"]:
        yield f"axe: {found['id']}: {found['nodes'][0]['html'][:120]}"
    page.keyboard.press("Tab")
    first = page.evaluate("document.activeElement.className")
    if first != "past":
        yield f"the first stop of the keyboard is {first!r}"


def drawn_amiss(page: Page) -> Iterator[str]:
    """What is wrong with a picture on its own: it has a title and a description, and none of its
    words lies outside it."""
    for part in ("title", "desc"):
        if not page.evaluate("p => document.querySelector(p)?.textContent.trim() ?? ''", part):
            yield f"it has no {part}"
    yield from page.evaluate(OUTSIDE)


WHOLE = ("index.html", "month.html")
"""Pages all of whose tables are in sight on a telephone: of a pressure that is cut at the edge of
the screen what is left reads as another."""

CUT = """() => [...document.querySelectorAll('.across')]
  .filter(each => each.offsetParent && each.scrollWidth > each.clientWidth)
  .map(each => `a table is cut: ${each.getAttribute('aria-label')}`)"""

OUTSIDE = """() => {
  const all = document.documentElement.getBoundingClientRect();
  return [...document.querySelectorAll('text')].filter(each => {
    const at = each.getBoundingClientRect();
    return at.width && (at.left < all.left - 1 || at.right > all.right + 1 ||
      at.top < all.top - 1 || at.bottom > all.bottom + 1);
  }).map(each => `outside the picture: ${each.textContent}`);
}"""


def sheets(browser: Browser, file: Path, paper: str) -> int:
    """How many sheets a page takes."""
    page, _ = watched(browser, 1280, "dark")
    page.goto(file.as_uri())
    data = page.pdf(format=paper, prefer_css_page_size=False)
    return data.count(b"/Type /Page\n") or data.count(b"/Type /Page") - data.count(b"/Type /Pages")


def take(browser: Browser, folder: Path, pictures: Path) -> None:
    """Take the pictures of the documentation, and write down of what they were taken."""
    taken = []
    for name, (page_, width) in pictured.OF_NOW.items():
        page, _ = watched(browser, width, "light")
        file = folder / "now" / page_
        page.goto(file.as_uri())
        page.screenshot(path=pictures / f"{name}.png")
        taken.append(f"{name} {pictured.digest(file.read_text('utf-8'))}\n")
    (pictures / pictured.TAKEN_OF).write_text("".join(taken), "utf-8")


def main(folder: Path, pictures: Path | None = None) -> int:
    """Look at everything, say what was looked at, and count what is amiss."""
    bad = looked = 0
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=QUIET)
        if pictures:
            take(browser, folder, pictures)
        for name in LOOKED_AT:
            for what, width in WIDTHS.items():
                for scheme in ("light", "dark"):
                    looked += 1
                    for line in amiss(browser, folder / name, width, scheme):
                        bad += 1
                        print(f"{name} at {what}, {scheme}: {line}")
        for paper in PAPERS:
            looked += 1
            count = sheets(browser, folder / "short.html", paper)
            if count != 1:
                bad += 1
                print(f"short.html takes {count} sheets of {paper}")
        browser.close()
    print(f"browser: {looked} looks, {bad} things amiss")
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main(*map(Path, sys.argv[1:])))
