"""A whole job's record as two programs of somebody else see it (poppler-utils)."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from tests.record.build import whole_job


@pytest.mark.needs("pdfsig")
def test_another_program_finds_a_whole_jobs_signature_valid_over_the_total_document(tmp_path: Path) -> None:
    _, _, issued = whole_job(tmp_path)
    said = subprocess.run(["pdfsig", str(issued.pdf)], capture_output=True, text=True, check=False).stdout

    assert said.count("Signature Validation: Signature is Valid.") == 1
    assert "Total document signed" in said
    assert "Not total document signed" not in said


@pytest.mark.needs("pdftotext")
def test_another_program_reads_departures_first_and_the_practice_word_on_every_page(tmp_path: Path) -> None:
    _, _, issued = whole_job(tmp_path)
    command = ["pdftotext", "-layout", str(issued.pdf), "-"]
    pages = (
        subprocess.run(command, capture_output=True, text=True, check=True).stdout.rstrip("\f").split("\f")
    )

    assert len(pages) > 2
    assert all("PRACTICE" in page for page in pages)
    assert pages[0].index("What departed from the plan") < pages[0].index("Who, where, when")
    assert issued.fingerprint in pages[0]
