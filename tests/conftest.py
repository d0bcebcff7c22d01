"""What holds for every test run: how it is spread over processors, and what it tells at its end."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from guide.journal import certificate

TESTS = Path(__file__).parent
QUICK_ROUNDS = 1000

# how long one example takes says how busy the machine is, and nothing of what is tested
settings.register_profile("whatever it takes", deadline=None)
settings.load_profile("whatever it takes")

OUTSIDE_TOOLS = {
    "pdfsig": "the signature as a second program sees it (poppler-utils)",
    "pdftotext": "the record's words as a second program reads them (poppler-utils)",
    "tmux": "the program worked through a real terminal (tmux)",
}
"""Programs some checks need, and what they check."""


LONGEST_FIRST = (
    "screens/test_practice.py", "rig/test_careful.py", "rig/test_killed.py", "rig/test_link.py",
    "test_cli_work.py", "screens/test_job_page.py", "plain/test_at_a_terminal.py", "test_cli_practice.py",
    "rig/plant/test_balance.py", "screens/test_practice_trainer.py", "test_cli_runs.py",
    "screens/test_pages.py", "record/test_bundle.py", "test_cli_records.py", "record/test_long_record.py",
    "rig/test_opening_run.py", "rig/test_every_procedure.py", "record/test_records.py",
    "screens/test_any_keys.py", "record/test_attacks.py", "test_cli_company.py",
    "record/test_signature_bits.py", "procedure/test_assembly.py", "record/test_hostile.py",
    "plain/test_hearing.py", "journal/test_durability.py", "record/test_flows.py", "screens/test_pictures.py",
)  # fmt: skip
"""Files that take long: begun first, so that no processor is left alone with one at the end."""


def missing_tools() -> list[str]:
    """One line for every outside program that is not on this machine."""
    return [
        f"{tool} is missing: {what}" for tool, what in OUTSIDE_TOOLS.items() if shutil.which(tool) is None
    ]


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "needs(tool): runs only where that outside program is installed")


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """The whole suite is spread over all processors; what is named is sooner done in one process."""
    if config.args != config.getini("testpaths"):
        return 0
    # one more than there are: the tests at terminals and of the screens wait half their time
    return len(os.sched_getaffinity(0)) + 1 if hasattr(os, "sched_getaffinity") else (os.cpu_count() or 1)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    ranks = {TESTS / file: rank for rank, file in enumerate(LONGEST_FIRST)}
    items.sort(key=lambda item: ranks.get(item.path, len(ranks)))


@pytest.fixture(scope="session", autouse=True)
def shipped_rounds() -> Iterator[int]:
    """How slow guessing a passphrase is made; the keys of the tests are made quickly all the same."""
    shipped = certificate.KDF_ROUNDS
    certificate.KDF_ROUNDS = QUICK_ROUNDS
    yield shipped
    certificate.KDF_ROUNDS = shipped


def pytest_runtest_setup(item: pytest.Item) -> None:
    for mark in item.iter_markers("needs"):
        tool = mark.args[0]
        if shutil.which(tool) is None:
            if os.environ.get("CHARGEWRIGHT_REQUIRE_ALL"):
                pytest.fail(f"{tool} is missing and every check is required here", pytrace=False)
            pytest.skip(f"{tool} is missing: {OUTSIDE_TOOLS[tool]}")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for line in missing_tools():
        terminalreporter.write_line(f"DID NOT RUN: {line}")
