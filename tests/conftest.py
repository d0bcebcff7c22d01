"""What every test run tells at its end: which checks did not run, and why."""

from __future__ import annotations

import os
import shutil

import pytest

OUTSIDE_TOOLS = {
    "pdfsig": "the signature as a second program sees it (poppler-utils)",
    "pdftotext": "the record's words as a second program reads them (poppler-utils)",
    "tmux": "the program worked through a real terminal (tmux)",
}
"""Programs some checks need, and what they check."""


def missing_tools() -> list[str]:
    """One line for every outside program that is not on this machine."""
    return [
        f"{tool} is missing: {what}" for tool, what in OUTSIDE_TOOLS.items() if shutil.which(tool) is None
    ]


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "needs(tool): runs only where that outside program is installed")


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
