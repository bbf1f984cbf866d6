"""A browser that opens the checking page from the disk: without it these skip, in CI they fail."""

import shutil
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.resources import templates
from tests.browser.looking import Checking, Elsewhere
from tests.conftest import needed
from tests.packing import packed
from tests.tampering import owner_of

PAGE = templates() / "check" / "check.html"


@pytest.fixture(scope="session")
def browser() -> Iterator[Elsewhere]:
    """Debian's Chromium, driven by Playwright, which brings none of its own here."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    needed(found is not None, "the browser Chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        needed(present=False, what="the package playwright")
        raise
    with ThreadPoolExecutor(1) as thread:
        driver = thread.submit(sync_playwright().start).result()
        launch = partial(driver.chromium.launch, executable_path=found, args=["--no-sandbox"])
        started = Elsewhere(thread.submit(launch).result(), thread)
        yield started
        started.close()
        thread.submit(driver.stop).result()


@pytest.fixture
def page(browser: Elsewhere) -> Iterator[Elsewhere]:
    """The checking page, opened from the disk; whatever it says to the console is a fault of it."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    opened = context.new_page()
    said: list[str] = []
    opened.on("console", lambda message: said.append(message.text))
    opened.on("pageerror", lambda error: said.append(str(error)))
    opened.goto(PAGE.as_uri())
    yield opened
    context.close()
    assert said == []


@pytest.fixture
def checking(page: Elsewhere) -> Checking:
    """The page as somebody uses it."""
    return Checking(page)


@pytest.fixture(scope="session")
def pack(dossier: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A pack of the small case and its dossier."""
    return packed(dossier.parent / "case", tmp_path_factory.mktemp("pack") / "pack.zip").path


@pytest.fixture(scope="session")
def excerpt(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An excerpt about its one incident, from which a campground's bill is withheld."""
    folder = tmp_path_factory.mktemp("cut")
    case = Path(shutil.copytree(built, folder / "case"))
    body = {"when": "2025-09-01", "amount": "31.50", "currency": "USD", "what": "campground"}
    at = datetime(2025, 9, 1, 12, tzinfo=UTC)
    Record.open(case).write([Draft("cost", body, "owner")], owner_of(case), clock=lambda: at)
    return packed(case, folder / "excerpt.zip", incident="i1").path
