"""Whatever is put on the command line: exit 2, one printable line, never a traceback."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.cli_call import assert_refused, call

ESCAPES = "\x1b[31mred\x1b[0m\x07"
LINES = "first\nsecond\rthird"
BIDI = "abc\u202ecba\u200b"
LONG = "9" * 20_000
SURROGATE = os.fsencode("caf\udce9")

NO_FILE: list[list[str | bytes]] = [
    ["sat", "R-410A", "--temperature", "1e999999999F"],
    ["sat", "R-410A", "--temperature", "nanF"],
    ["sat", "R-410A", "--temperature", "infF"],
    ["sat", "R-410A", "--temperature", LONG + "F"],
    ["sat", "R-410A", "--temperature", "-9e9F"],
    ["sat", "R-410A", "--temperature", "４０F"],
    ["sat", "R-410A", "--temperature", ESCAPES],
    ["sat", "R-410A", "--temperature", LINES],
    ["sat", "R-410A", "--temperature", ""],
    ["sat", "R-410A", "--temperature"],
    ["sat", "R-410A", "--pressure", "1e9psig"],
    ["sat", "R-410A", "--pressure", "-100psig"],
    ["sat", "R-410A", "--temperature", "40F", "--altitude", "-1e9m"],
    ["sat", "R-410A", "--temperature", "40F", "--site-pressure", "0Paa"],
    ["sat", ESCAPES, "--temperature", "40F"],
    ["sat", LINES, "--temperature", "40F"],
    ["sat", BIDI, "--temperature", "40F"],
    ["sat", LONG, "--temperature", "40F"],
    ["sat", SURROGATE, "--temperature", "40F"],
    ["sat", "", "--temperature", "40F"],
    ["sat", "../../etc/passwd", "--temperature", "40F"],
    ["sat", "R-410A", "R-22", "--temperature", "40F"],
    ["target", "--indoor-wb", "1e9F", "--outdoor-db", "1e999F"],
    ["target", "--indoor-wb", ESCAPES, "--outdoor-db", "95F"],
    ["target", "--indoor-wb", "67F", "--outdoor-db", "95F", "--method", ESCAPES],
    ["look", "R-410A", "--suction-pressure", LONG],
    ["look", "R-410A", "--suction-pressure", "118psig", "--suction-line", BIDI],
    [ESCAPES],
    [LINES],
    [LONG],
    ["--" + ESCAPES],
    ["--data"],
    ["--passphrase-fd", "-1", "sat", "R-410A", "--temperature", "40F"],
    ["--passphrase-fd", "99999999999999999999", "demo"],
    ["procedures"],
    ["procedures", ESCAPES],
    ["procedures", "show", "../../../etc/passwd"],
    ["procedures", "show", "no-such-procedure"],
    ["procedures", "show", "/etc/passwd"],
    ["procedures", "print", LONG],
    ["procedures", "lint"],
    ["procedures", "lint", "/"],
    ["verify"],
    ["verify", "--signer"],
    ["export", "J-0001"],
    ["export", ESCAPES, "--to", ""],
    ["export", "J-0001", "--to", "/tmp", "--data", "/nonexistent"],
    ["run"],
    ["demo", "--to", ""],
    ["demo", "--unattended", "--to", "/dev/null"],
    ["demo", "--unattended", "--to", "/proc/nowhere"],
    ["demo", "--unattended", "--to", "/tmp/" + "x" * 300],
]

TAKES_A_FILE = (
    ("run",), ("run", "--unattended"), ("advise",), ("procedures", "show"), ("procedures", "print"),
    ("procedures", "lint"), ("verify",),
)  # fmt: skip


MISSING = (
    "/nonexistent/file.yaml", "", "/", "/dev/null/x.yaml", "x" * 5000 + ".yaml", f"{ESCAPES}.yaml",
    f"/{LINES}.yaml", f"/{BIDI}.yaml", "~/../../nowhere.yaml",
)  # fmt: skip
ODD: dict[str, bytes] = {
    "binary.yaml": bytes(range(256)) * 40,
    "huge.yaml": b"a: b\n" * 3_000_000,
    "deep.yaml": b"[" * 100_000,
    "alias.yaml": b"a: &a [x]\nb: [*a, *a]\n",
    "control.yaml": b"order: \x1b[2J\n",
    "list.yaml": b"- 1\n- 2\n",
    "utf16.yaml": "order: x\n".encode("utf-16"),
    "empty.yaml": b"",
}
TAKES_AN_ODD_FILE = (("run", "--unattended"), ("procedures", "show"), ("verify",))
ENDLESS: list[list[str | bytes]] = [
    ["run", "/dev/zero"],
    ["procedures", "show", "/dev/zero.yaml"],
    ["procedures", "show", "/dev/zero"],
]


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("odd")
    for name, data in ODD.items():
        (folder / name).write_bytes(data)
    return folder


def all_refused(calls: list[list[str | bytes]]) -> None:
    for arguments in calls:
        answer = call(*arguments, timeout_s=20)
        try:
            assert_refused(answer)
        except AssertionError as error:
            shown = " ".join(repr(each)[:60] for each in arguments)
            raise AssertionError(f"{shown}: {error}") from error


def test_hostile_arguments_are_refused_in_one_line() -> None:
    all_refused(NO_FILE)


def test_a_file_that_is_not_there_is_refused_in_one_line() -> None:
    all_refused([[*command, file] for command in TAKES_A_FILE for file in MISSING])


def test_an_odd_file_is_refused_in_one_line(odd: Path) -> None:
    all_refused([[*command, str(odd / name)] for command in TAKES_AN_ODD_FILE for name in ODD])


def test_an_endless_file_is_read_no_further_than_needed() -> None:
    all_refused([*ENDLESS, ["advise", "/dev/zero"]])


def test_lint_names_the_faults_of_an_odd_file(odd: Path) -> None:
    answer = call("procedures", "lint", *(str(odd / name) for name in ODD))

    assert (answer.code, answer.err) == (1, "")
    for name in ODD:
        assert f"{name}:" in answer.out
    assert answer.out.replace("\n", "").isprintable()


def test_a_data_folder_that_cannot_be_made_is_one_line(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("no folder")

    assert_refused(call("demo", "--unattended", "--data", str(blocked / "inside")), "folder")
    assert_refused(call("export", "J-0001", "--to", str(tmp_path / "to"), "--data", str(blocked)), "journal")


def test_a_passphrase_descriptor_that_is_not_open_is_one_line_where_it_is_read() -> None:
    answer = call("--passphrase-fd", "77", "sat", "R-410A", "--temperature", "40F")

    assert answer.code == 0  # a command that needs no passphrase reads none
