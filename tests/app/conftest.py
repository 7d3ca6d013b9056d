"""A browser and a bench for the tests of a module: starting either takes longer than most of the tests."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium import webdriver

from tests.app.benching import SAMPLES, Page, Served, serve, start_browser


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[webdriver.Chrome]:
    found = start_browser(tmp_path_factory.mktemp("profile"))
    yield found
    found.quit()


@pytest.fixture(scope="module")
def larkfield(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A bench on a folder of its own, for all tests of a module: each takes a design of its own."""
    folder = tmp_path_factory.mktemp("larkfield")
    for sample in SAMPLES.glob("*.toml"):
        shutil.copy(sample, folder)
    served = serve(folder)
    yield served
    served.close()


@pytest.fixture
def page(browser: webdriver.Chrome, larkfield: Served) -> Page:
    found = Page(browser, larkfield)
    found.complaints()  # those of the test before
    return found


@pytest.fixture
def served(tmp_path: Path) -> Iterator[list[Served]]:
    """Benches that a test starts for itself and puts in here are ended after it."""
    started: list[Served] = []
    yield started
    for each in started:
        each.close()
