"""A changed record is refused at once, before any slow library is loaded."""

import random
import subprocess
import sys
from pathlib import Path
from time import perf_counter

from guide.record.pdf_form import Attachment, prepare
from guide.record.profile import inspect
from tests.record.signed_files import NOW, certified, certified_by, pages, technician

ASK = """
import sys
from pathlib import Path
from guide.record.profile import inspect
report = inspect(Path(sys.argv[1]).read_bytes())
print(report.intact, "pyhanko" in sys.modules, "reportlab" in sys.modules, "asn1crypto" in sys.modules)
"""


def ask(record: bytes, folder: Path) -> list[str]:
    file = folder / "record.pdf"
    file.write_bytes(record)
    command = [sys.executable, "-c", ASK, str(file)]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()


def test_no_pdf_library_is_loaded_to_find_a_changed_bit(tmp_path: Path) -> None:
    changed = bytearray(certified())
    changed[700] ^= 1
    assert ask(bytes(changed), tmp_path) == ["False", "False", "False", "False"]
    assert ask(certified(), tmp_path) == ["True", "True", "False", "True"]


def test_a_changed_bit_in_a_large_record_is_found_in_milliseconds() -> None:
    noise = random.Random(3).randbytes(290_000)
    form = prepare(pages("line", count=60), [Attachment("log.bin", "application/x-log", noise)], now=NOW)
    record = certified_by(technician(), form)
    assert len(record) > 300_000
    changed = bytearray(record)
    changed[len(record) // 2] ^= 1
    times = []
    for _ in range(5):
        start = perf_counter()
        assert not inspect(bytes(changed)).intact
        times.append(perf_counter() - start)
    # About 1 ms on the machine it was written on; the bound leaves room for a busy one.
    assert min(times) < 0.05
    assert inspect(record).intact
