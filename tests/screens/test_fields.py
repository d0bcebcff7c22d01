"""Fields: what is typed, what it means, what is refused; and the small parts they are painted with."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.screens.answer import NeedsReason, choose
from guide.screens.ask import Ask, Choice, Sort, pick, quantity, read_quantity, text, with_unit
from guide.screens.entry import LONGEST, Typed
from guide.screens.fields import field_lines
from guide.screens.filling import Filling, Outcome
from guide.screens.mode import Mode, Turn
from guide.screens.paint import Role, cut, pad, paragraph, plain, rule, shorten, spread, width_of, wrap
from guide.screens.palette import DAY, NIGHT, SUN, contrast
from guide.screens.turn import OFFERED, RULED_OUT
from guide.units import COMPOUND_MASS, UnitError

SITE = Decimal(101325)


def fill(filling: Filling, *keys: str) -> tuple[Filling, Outcome]:
    outcome = Outcome.STAY
    for key in keys:
        for one in [key] if key in _NAMED else list(key):
            filling, outcome = filling.press(one, one if len(one) == 1 else None)
    return filling, outcome


_NAMED = {"enter", "up", "down", "left", "right", "tab", "shift+tab", "backspace", "pageup", "pagedown"}


@pytest.mark.parametrize(
    ("typed", "unit", "written"),
    [
        ("118.4", "psig", "118.4psig"),
        (" 118.4 ", "psig", "118.4psig"),
        ("8.2barg", "psig", "8.2barg"),
        ("-3", "F", "-3F"),
        ("22 0.5", COMPOUND_MASS, "22lb0.5oz"),
        ("10kg", COMPOUND_MASS, "10kg"),
        ("118,4", "psig", "118,4"),
    ],
)
def test_a_number_takes_the_unit_its_field_states_and_keeps_one_that_was_typed(
    typed: str, unit: str, written: str
) -> None:
    assert with_unit(typed, unit) == written


@pytest.mark.parametrize(
    ("typed", "unit", "says"),
    [
        ("", "psig", "nothing typed"),
        ("118,4", "psig", "write 118.4"),
        ("40F", "psig", "not a pressure"),
        ("22", COMPOUND_MASS, "22 0.5"),
        ("1e99", "psig", "exponent"),
        ("1.2.3", "F", "write one of F"),
    ],
)
def test_what_is_no_quantity_is_refused_with_what_would_do(typed: str, unit: str, says: str) -> None:
    with pytest.raises(UnitError, match=says.replace(".", r"\.")):
        read_quantity(quantity("x", "X", unit), typed, SITE)


def test_enter_goes_from_field_to_field_and_the_last_one_is_done() -> None:
    filling = Filling.of((quantity("p", "P", "psig"), quantity("t", "T", "F")), SITE)
    filling, outcome = fill(filling, "118.4", "enter")
    assert (filling.at, outcome) == (1, Outcome.STAY)
    filling, outcome = fill(filling, "54", "enter")
    assert outcome is Outcome.DONE
    assert filling.quantity("p").typed == "118.4psig"


def test_the_last_enter_goes_to_the_first_field_that_is_wrong() -> None:
    filling = Filling.of((quantity("p", "P", "psig"), quantity("t", "T", "F")), SITE)
    filling, outcome = fill(filling, "down", "54", "enter")
    assert outcome is Outcome.STAY
    assert filling.at == 0
    assert "nothing typed" in filling.cells[0].fault


def test_an_unlikely_value_takes_two_enters_and_a_reason() -> None:
    ask = Ask("t", "T", Sort.QUANTITY, unit="F", low=Decimal(250), high=Decimal(300))
    filling, outcome = fill(Filling.of((ask,), SITE), "400", "enter")
    assert (outcome, "outside" in filling.cells[0].fault) == (Outcome.STAY, True)
    filling, outcome = fill(filling, "enter")
    assert outcome is Outcome.STAY
    filling, outcome = fill(filling, "enter")
    assert outcome is Outcome.STAY, "an empty reason is none"
    filling, outcome = fill(filling, "a furnace", "enter")
    assert outcome is Outcome.DONE
    assert filling.reason("t") == "a furnace"


def test_a_likely_value_carries_no_reason_even_after_an_unlikely_one() -> None:
    ask = Ask("t", "T", Sort.QUANTITY, unit="F", low=Decimal(250), high=Decimal(300))
    filling, _ = fill(Filling.of((ask,), SITE), "400", "enter", *["backspace"] * 3, "40")
    filling, outcome = fill(filling, "enter")
    assert outcome is Outcome.DONE
    assert filling.reason("t") is None


def test_an_answer_has_to_be_picked_before_enter_takes_it() -> None:
    filling = Filling.of((pick("seen", "Seen?", (Choice("a", "a"), Choice("b", "b"))),))
    filling, outcome = fill(filling, "enter")
    assert outcome is Outcome.STAY
    assert "pick what you see: 1 or 2" in filling.cells[0].fault
    filling, outcome = fill(filling, "2", "enter")
    assert (outcome, filling.text("seen")) == (Outcome.DONE, "b")


def test_a_digit_or_an_arrow_moves_and_a_letter_does_it_at_once() -> None:
    filling = Filling.of((pick("act", "", (Choice("a", "a", letter="p"), Choice("b", "b", letter="x"))),))
    moved, outcome = fill(filling, "2")
    assert (moved.text("act"), outcome) == ("b", Outcome.STAY)
    assert fill(filling, "x")[1] is Outcome.DONE


def test_picking_never_runs_over_into_looking_around() -> None:
    filling = Filling.of((pick("seen", "Seen?", (Choice("a", "a"), Choice("b", "b"))),))
    assert fill(filling, "down", "down", "down")[1] is Outcome.STAY
    assert fill(filling, "up")[1] is Outcome.BACK
    assert fill(filling, "1", "up")[1] is Outcome.STAY
    assert fill(filling, "1", "right")[1] is Outcome.AHEAD


def test_a_suggestion_is_one_digit_and_becomes_its_words() -> None:
    filling, outcome = fill(
        Filling.of((text("why", "Why", suggestions=("break", "called away")),)), "2", "enter"
    )
    assert (outcome, filling.text("why")) == (Outcome.DONE, "called away")
    assert fill(filling, "x")[0].text("why") == "called awayx"


def test_an_equals_sign_stands_for_the_value_before() -> None:
    ask = Ask("p", "P", Sort.QUANTITY, unit="psig", same="118.4psig")
    filling, outcome = fill(Filling.of((ask,), SITE), "=", "enter")
    assert (outcome, filling.text("p")) == (Outcome.DONE, "118.4psig")
    never = Filling.of((quantity("p", "P", "psig"),), SITE)
    assert fill(never, "=", "enter")[1] is Outcome.STAY


def test_a_paste_is_text_and_never_keys() -> None:
    filling = Filling.of((text("note", "Note"),)).paste("two\nlines\x1b[31m\r" + "x" * 999)
    typed = filling.cell("note").typed.text
    assert typed.startswith("two lines[31m x")
    assert len(typed) == LONGEST


@given(st.text(max_size=60), st.lists(st.sampled_from(sorted(_NAMED)), max_size=12), st.integers(40, 130))
@settings(max_examples=80, deadline=None)
def test_no_key_and_no_text_breaks_a_set_of_fields(pasted: str, keys: list[str], width: int) -> None:
    filling = Filling.of(
        (quantity("p", "P", "psig"), pick("c", "C", (Choice("a", "a"),)), text("n", "N", suggestions=("s",))),
        SITE,
    )
    for key in keys:
        filling = filling.paste(pasted)
        filling, _ = filling.press(key)
        assert 0 <= filling.at < 3
        assert all(width_of(row) <= width + 2 for row in field_lines(filling, width))


@given(st.text(max_size=200), st.integers(8, 100))
@settings(max_examples=150, deadline=None)
def test_wrapping_loses_no_character_and_keeps_the_width(words: str, width: int) -> None:
    from guide.screens.paint import clean

    text_ = clean(words)
    pieces = wrap(text_, width)
    assert "".join("".join(pieces).split()) == "".join(text_.split())
    for row in paragraph(text_, width):
        assert width_of(row) <= max(width, 10)


@given(st.text(max_size=80), st.integers(1, 60))
@settings(max_examples=150, deadline=None)
def test_cutting_and_padding_hit_the_width(words: str, width: int) -> None:
    from rich.cells import cell_len

    from guide.screens.paint import Span, clean

    text_ = clean(words)
    assert cell_len(shorten(text_, width)) <= width
    assert cell_len(pad(text_, width)) == width
    assert width_of(cut((Span(text_), Span(text_)), width)) <= width


def test_a_line_spread_over_a_width_keeps_its_right_end() -> None:
    from guide.screens.paint import Span

    row = spread((Span("x" * 100),), (Span("10:42"),), 40)
    assert width_of(row) == 40
    assert plain((row,)).endswith("10:42")
    assert width_of(rule(40, "a title far too long for its rule, and then some more")) == 40


def test_a_field_scrolls_so_that_its_cursor_is_in_sight() -> None:
    filling = Filling.of((text("note", "Note"),)).paste("a" * 60 + "end")
    (row,) = field_lines(filling, 60)
    assert "end" in plain((row,))
    assert sum(span.role is Role.CURSOR for span in row) == 1


def test_a_line_is_edited_where_the_cursor_stands() -> None:
    typed = Typed.of("118.4")
    for key in ("left", "left", "backspace"):
        pressed = typed.press(key, None)
        assert pressed is not None
        typed = pressed
    assert typed == Typed("11.4", 2)
    assert typed.press("f7", None) is None


@pytest.mark.parametrize("palette", [DAY, SUN, NIGHT], ids=["day", "sun", "night"])
def test_every_role_has_a_contrast_of_seven_to_one(palette: dict[Role, object]) -> None:
    """WCAG 2.2 success criterion 1.4.6, level AAA (from memory)."""
    for role in Role:
        ink = palette[role]
        assert contrast(ink.text, ink.ground) >= 7.0, role  # type: ignore[attr-defined]


def test_contrast_is_reckoned_as_the_standard_says() -> None:
    """WCAG 2.2: black on white is 21:1, a colour on itself 1:1 (from memory)."""
    assert round(contrast("#000000", "#ffffff"), 3) == 21.0
    assert contrast("#777777", "#777777") == 1.0


def test_a_letter_typed_at_a_list_goes_to_the_text_behind_it() -> None:
    from guide.screens.ask import secret

    choices = (Choice("ana", "Ana"), Choice("ben", "Ben"))
    filling = Filling.of((pick("who", "Who", choices, picked=0), secret("passphrase", "Passphrase")))
    filling, _ = filling.press("n", "n")
    assert filling.at == 1
    assert filling.text("passphrase") == "n"
    assert filling.text("who") == "ana"


def test_a_note_stands_behind_the_last_line_of_words_that_wrap() -> None:
    words = "Minimal purge with vapour, lawful here for an A1 refrigerant, no pump at hand"
    ways = (Choice("a", "A hose set under vacuum", note=OFFERED), Choice("b", words, note=RULED_OUT))
    rows = [plain((row,)).rstrip() for row in field_lines(Filling.of((pick("option", "Which?", ways),)), 80)]
    assert rows[0].endswith(f"A hose set under vacuum   {OFFERED}")
    assert rows[2].endswith(f"hand   {RULED_OUT}")


def test_an_empty_field_of_pounds_and_ounces_asks_for_two_numbers() -> None:
    filling = Filling.of((quantity("w", "Weight", "lb+oz"),), SITE)
    filling, _ = filling.press("enter")
    assert "two numbers: 22 0.5" in filling.cells[0].fault


def test_a_key_that_no_line_of_a_lettered_list_goes_by_is_answered_with_letters() -> None:
    choices = (Choice("a", "why", letter="w"), Choice("b", "leave", letter="x"))
    filling = Filling.of((pick("act", "", choices, picked=0),))
    filling, _ = filling.press("q", "q")
    assert "press a letter" in filling.cells[0].fault


def test_a_letter_at_a_list_where_nothing_is_picked_says_how_to_pick() -> None:
    filling = Filling.of((pick("who", "Who", (Choice("a", "A"), Choice("b", "B"))), text("t", "T")))
    filling, _ = filling.press("n", "n")
    assert filling.at == 0
    assert "pick what you see" in filling.cells[0].fault


def test_a_way_that_is_ruled_out_is_not_asked_about_before_it_is_refused() -> None:
    ways = (Choice("a", "A", note=OFFERED), Choice("b", "B", note=RULED_OUT), Choice("c", "C"))
    asked = Turn(Mode.CHOOSE, "take this way", (pick("option", "Which way?", ways, picked=0),))
    filling = Filling.of(asked.asks)
    ruled_out, _ = filling.press("2", "2")
    assert choose("1.3", asked, ruled_out).reason is None
    possible, _ = filling.press("3", "3")
    with pytest.raises(NeedsReason):
        choose("1.3", asked, possible)


@pytest.mark.parametrize(
    ("name", "taken", "short"),
    [
        ("Ana Ruiz", (), "ana"),
        ("Ana Ruiz", ("ana",), "anar"),
        ("Ana Ruiz", ("ana", "anar"), "ana2"),
        ("Jörg Ødegård", (), "jorg"),
        ("漢字", (), ""),
    ],
)
def test_a_short_name_is_made_from_the_name(name: str, taken: tuple[str, ...], short: str) -> None:
    from guide.screens.enrolment import short_name

    assert short_name(name, taken) == short


def test_an_active_list_with_nothing_picked_is_in_sight_in_a_small_window() -> None:
    from guide.screens.ask import Choice, pick, text
    from guide.screens.form_page import FormView, form_lines
    from guide.screens.paint import plain

    asks = (
        *(text(f"t{n}", f"Text {n}") for n in range(12)),
        pick("how", "Which way", (Choice("a", "this"), Choice("b", "that"))),
        *(text(f"u{n}", f"More {n}") for n in range(12)),
    )
    filling = replace(Filling.of(asks), at=12)
    shown = plain(form_lines(FormView("FORM", filling), 40, 12))
    assert "▶ Which way" in shown
    assert "1  this" in shown
    assert "2  that" in shown


def test_what_the_program_proposes_gives_way_to_what_is_typed() -> None:
    proposed = Filling.of((text("id", "Short name"),)).propose("ana")
    typed, _ = proposed.press("b", "b")
    assert typed.text("id") == "b"
    shortened, _ = proposed.press("backspace", "\x7f")
    assert shortened.text("id") == "an"
    kept, outcome = proposed.press("enter", "\r")
    assert (kept.text("id"), outcome) == ("ana", Outcome.DONE)
