"""Take the README's pictures from the real screens of the demo.

    python demo_fixtures/take_pictures.py

It loads the demo into a folder that it throws away, serves it on this machine, goes the
README's way with Chromium and writes demo_fixtures/pictures/*.png. It needs Chromium and
`pdftoppm` on the PATH, and the packages of the tests.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

ROOT: Final = Path(__file__).resolve().parent.parent
PICTURES: Final = ROOT / "demo_fixtures" / "pictures"
TABLET: Final = {"width": 1024, "height": 768}
PHONE: Final = {"width": 360, "height": 740}
PATIENCE: Final = 120.0  # seconds until the server answers


def keep(name: str, picture: bytes) -> None:
    """Write a picture in few colours: a page of a form has few."""
    with Image.open(BytesIO(picture)) as full:
        small = full.convert("RGB").quantize(64, dither=Image.Dither.NONE)
    small.save(PICTURES / f"{name}.png", optimize=True)


@contextmanager
def served_demo(data: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """The demo's address and its passwords by user name, while it is served."""
    log = data / "demo.txt"
    with log.open("w") as out:
        server = subprocess.Popen(
            [sys.executable, "-u", "manage.py", "demo", "--port", "8765"],
            cwd=ROOT,
            env=os.environ | {"WORKSHEET_DATA": str(data)},
            stdout=out,
            stderr=subprocess.STDOUT,
        )
    try:
        yield wait_for(log)
    finally:
        server.terminate()
        server.wait(30)


def wait_for(log: Path) -> tuple[str, dict[str, str]]:
    """What the demo printed, once it answers. Raises `RuntimeError` if it does not."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        said = log.read_text("utf-8")
        found = re.search(r"http://[\d.:]+/", said)
        if found:
            with suppress(OSError), urllib.request.urlopen(found[0], timeout=5):
                words = re.findall(r"^(\w+) +((?:\w{4}-?){4}) ", said, re.MULTILINE)
                return found[0], dict(words)
        time.sleep(0.5)
    raise RuntimeError(f"The demo does not answer:\n{log.read_text('utf-8')}")


def signed_in(
    browser: Browser, address: str, person: str, password: str, **size: Any
) -> Page:
    page = browser.new_context(base_url=address, **size).new_page()
    page.set_default_timeout(PATIENCE * 1000)
    page.goto("/")
    page.locator("#id_username").fill(person)
    page.locator("#id_password").fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="Incidents").wait_for()
    return page


def walk(browser: Browser, address: str, words: dict[str, str]) -> None:
    """The first steps of the README's ten minutes."""
    sheet = signed_in(
        browser, address, "commander", words["commander"], viewport=TABLET
    )
    sheet.get_by_role("link", name=re.compile("pool supply store")).first.click()
    sheet.locator(".verdict").first.wait_for()
    keep("sheet", sheet.screenshot())
    phone = signed_in(
        browser,
        address,
        "technician",
        words["technician"],
        viewport=PHONE,
        has_touch=True,
    )
    phone.get_by_role("link", name=re.compile("pool supply store")).first.click()
    phone.get_by_role("link", name="Log a reading").first.click()
    phone.get_by_role("link", name="Gas meter").click()
    for name, figure in (
        ("lel_percent", "12"),
        ("oxygen_percent", "20.9"),
        ("co_ppm", "0"),
        ("h2s_ppm", "0"),
    ):
        phone.locator(f"#id_{name}").fill(figure)
    phone.evaluate("scrollTo(0, 260)")
    keep("log", phone.screenshot())
    phone.locator("#save").click()
    phone.locator("#answer .verdict.withdraw").wait_for()
    keep("answer", phone.screenshot())
    sheet.locator(".verdict.withdraw").first.wait_for()
    keep("sheet_withdraw", sheet.screenshot())


def look_back(browser: Browser, address: str, words: dict[str, str]) -> None:
    """The timeline of the demo, and one reading of a drill on a phone."""
    lead = signed_in(browser, address, "training", words["training"], viewport=TABLET)
    lead.get_by_role("link", name=re.compile("pool supply store")).first.click()
    lead.get_by_role("link", name="Look back").first.click()
    lead.locator("figure.chart svg").first.scroll_into_view_if_needed()
    lead.locator("figure.chart svg").first.evaluate("node => node.scrollIntoView()")
    keep("look_back", lead.screenshot())
    lead.goto("/drills/")
    lead.get_by_role("link", name="Acid in the etching shop").click()
    lead.get_by_role("link", name="Begin this drill").click()
    lead.get_by_label("Robin Vale").select_option("technician")
    lead.get_by_role("button", name="Begin the drill").click()
    crew = signed_in(
        browser,
        address,
        "technician",
        words["technician"],
        viewport=PHONE,
        has_touch=True,
    )
    lead.locator("#drill-next").click()
    crew.goto("/")
    crew.get_by_role("link", name="Acid in the etching shop").click()
    crew.locator(".inject.waits").first.wait_for()
    crew.evaluate("scrollTo(0, 300)")
    keep("drill", crew.screenshot())


def first_page(data: Path) -> None:
    """The first page of the demo's report."""
    report = data / "report.pdf"
    subprocess.run(
        [sys.executable, "manage.py", "demo", "--report", str(report)],
        cwd=ROOT,
        env=os.environ | {"WORKSHEET_DATA": str(data)},
        stdout=subprocess.DEVNULL,
        check=True,
    )
    subprocess.run(
        ["pdftoppm", "-png", "-r", "80", "-f", "1", "-l", "1", report, data / "page"],
        check=True,
    )
    keep("report", next(data.glob("page*.png")).read_bytes())


def main() -> None:
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        data = Path(folder)
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        with served_demo(data) as (address, words):
            walk(browser, address, words)
            look_back(browser, address, words)
        browser.close()
        first_page(data)


if __name__ == "__main__":
    main()
