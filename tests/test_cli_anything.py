"""Whatever words follow a command: an answer or a refusal in one line, nothing else."""

from __future__ import annotations

import contextlib
import io

from hypothesis import example, given, settings
from hypothesis import strategies as st

from guide.cli import look, main

assert look.COMMANDS  # imported here so that no example pays for it

QUANTITIES = st.one_of(
    st.text(max_size=30),
    st.builds(
        "{}{}".format,
        st.one_of(
            st.integers(), st.floats(), st.decimals(allow_nan=True), st.sampled_from(["4O", "1_0", "0x1"])
        ),
        st.sampled_from(
            ["F", "C", "K", "psig", "barg", "psia", "inHgv", "micron", "ft", "dF", "", " F", "°F"]
        ),
    ),
)
REFRIGERANTS: st.SearchStrategy[list[str]] = st.one_of(
    st.builds(list),
    st.lists(st.sampled_from(["R-410A", "r22", "R-454B"]), max_size=1),
    st.lists(st.text(max_size=20), max_size=2),
)
OPTIONS = st.lists(
    st.tuples(
        st.sampled_from(
            [
                "--temperature",
                "--pressure",
                "--altitude",
                "--site-pressure",
                "--suction-pressure",
                "--suction-line",
                "--liquid-pressure",
                "--liquid-line",
                "--indoor-wb",
                "--outdoor-db",
                "--target-subcooling",
                "--indoor-db",
                "--indoor-rh",
                "--indoor-dew-point",
                "--supply-db",
                "--supply-wb",
                "--airflow",
                "--rated-capacity",
                "--method",
            ]
        ),
        QUANTITIES,
    ),
    max_size=5,
)


@settings(max_examples=400, deadline=None)
@given(
    command=st.sampled_from(["sat", "look", "target"]),
    refrigerant=REFRIGERANTS,
    options=OPTIONS,
    flags=st.lists(st.sampled_from(["--json", "--help", "--", "-x"]), max_size=1),
)
@example(command="sat", refrigerant=["", "\N{NO-BREAK SPACE}"], options=[], flags=[])
def test_any_words_are_answered_or_refused_in_one_line(
    command: str, refrigerant: list[str], options: list[tuple[str, str]], flags: list[str]
) -> None:
    out, err = io.StringIO(), io.StringIO()
    arguments = [command, *refrigerant, *(word for pair in options for word in pair), *flags]
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main(arguments)
        except SystemExit as leaving:
            code = leaving.code

    assert code in {0, 2}
    if code == 0:
        assert out.getvalue()
        assert not err.getvalue()
    else:
        assert not out.getvalue()
        assert err.getvalue().startswith("chargewright: ")
        assert err.getvalue()[:-1].isprintable()
