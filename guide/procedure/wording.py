"""Rules for the words of a procedure: one action a step, hazards that hide none, sentences that fit.

The rules follow published writer's guides for procedures in other fields (FOUND in the project's
reference: one action and one verb a step, condition before action, no action inside a warning, warnings
before the step and worst first); the figures are marked where they stand.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from typing import Final

from guide.procedure.model import (
    Adjust,
    Choose,
    Confirm,
    Hazard,
    HazardWord,
    Part,
    Procedure,
    Reading,
    Sign,
    Step,
    Wait,
    Weigh,
)
from guide.procedure.strict_yaml import Path

Complaint = tuple[Path, str]

_VERB_LIST: Final = """
ADD ADJUST ASK BLEED BRAZE BREAK BRING CALL CHECK CHOOSE CLAMP CLEAN CLOSE COMPARE CONNECT CORRECT COUNT COVER
CUT DECIDE DISCHARGE DISCONNECT DRAIN DRAW DRY EVACUATE FEED FILL FIT FIX HANG HEAT HOLD IDENTIFY INSPECT
INSULATE KEEP LABEL LEAVE LIFT LISTEN LOCK LOOK LOOSEN MARK MEASURE MOVE NOTE OPEN PLACE PRESS PRESSURIZE
PROVE PULL PURGE PUSH PUT READ RECORD RECOVER REFIT RELEASE REMOVE REPAIR REPLACE RETURN ROTATE RUN SEAL
SECURE SET SHUT SIGN STAND START STOP SWITCH TAG TAKE TELL TEST THROTTLE TIGHTEN TRACE TURN UNLOCK VENT
VENTILATE WAIT WARM WASH WEAR WEIGH WET WIPE ZERO
"""
VERBS: Final = frozenset(_VERB_LIST.split())
"""Action verbs a step may begin with (common practice, no source): short, common, seen or felt when done."""

LONGEST_SENTENCE_WORDS: Final = 25
"""Words in a sentence (PROPOSED; the writer's guides say about 20)."""
MOST_HAZARDS: Final = 2
"""Warnings on one step (reference U12: at most two on a screen)."""
MOST_LINES_80: Final = 12
"""Lines of text of one step on an 80x24 sheet (reference U12)."""
MOST_LINES_40: Final = 9
"""Lines of warnings, action and question on a 40x12 sheet, beside title, field and keys (PROPOSED)."""
WIDTH_80: Final = 74
WIDTH_40: Final = 38
LONGEST_ANSWER: Final = 60

_ORDER: Final = {word: at for at, word in enumerate(HazardWord)}
_SENTENCE_END: Final = re.compile(r"[.!?;:](?:\s+|$)")
_WORD: Final = re.compile(r"[A-Za-z][A-Za-z'-]*")
_EMPTY_ANSWER_LIST: Final = (
    "ok okay yes y true done checked set good fine complete completed confirmed passed x"
)
_EMPTY_ANSWERS: Final = frozenset(_EMPTY_ANSWER_LIST.split())


def steps_with_paths(procedure: Procedure) -> Iterator[tuple[Path, Part, Step]]:
    """Every step, the abort path last, with its path in the file's structure."""
    for at, part in enumerate(procedure.parts):
        for number, step in enumerate(part.steps):
            yield ("parts", at, "steps", number), part, step
    for number, step in enumerate(procedure.on_abort.steps):
        yield ("on_abort", "steps", number), procedure.on_abort, step


def verb_first(procedure: Procedure) -> Iterator[Complaint]:
    """The action line begins with one known verb in capitals."""
    for path, _, step in steps_with_paths(procedure):
        first = step.do.split()[0]
        if first not in VERBS:
            yield (
                (*path, "do"),
                f"step {step.id} begins with '{first}'; begin with an action verb in capitals",
            )
        elif len(step.do.split()) < 2:
            yield (*path, "do"), f"step {step.id} names no object; say what to {first.lower()}"


def one_action(procedure: Procedure) -> Iterator[Complaint]:
    """The action line holds one verb; a second one is a step of its own."""
    for path, _, step in steps_with_paths(procedure):
        second = _second_verb(step.do)
        if second:
            yield (*path, "do"), f"step {step.id} has a second action '{second}'; make it a step of its own"


def _second_verb(do: str) -> str:
    words: list[str] = _WORD.findall(do)
    for word in words[1:]:
        if word in VERBS:
            return word
    joined: list[str] = re.findall(r"(?:\b(?:and|then|or)\b|[,;.])\s+(?:then\s+)?([A-Za-z]+)", do)
    return next((word for word in joined if word.upper() in VERBS), "")


def condition_apart(procedure: Procedure) -> Iterator[Complaint]:
    """Conditions stand under `when`, never inside the action line, and never mix 'and' with 'or'."""
    for path, _, step in steps_with_paths(procedure):
        if found := re.search(r"\b(if|when|unless|where|in case)\b", step.do, re.IGNORECASE):
            yield (
                (*path, "do"),
                f"step {step.id} hides a condition ('{found[1]}') in its action; put it under 'when'",
            )
        for place, text in texts_of(step):
            if re.search(r"\band/or\b", text, re.IGNORECASE):
                yield (*path, *place), f"step {step.id} says 'and/or'; say which of the two is meant"


def hazards_hide_no_action(procedure: Procedure) -> Iterator[Complaint]:
    """A warning says what hurts and how; what is to be done is a step."""
    for path, _, step in steps_with_paths(procedure):
        for at, hazard in enumerate(step.hazards):
            verb = _hidden_action(hazard.text)
            if verb:
                yield (
                    (*path, "hazards", at),
                    f"the warning of step {step.id} holds an action ('{verb}'); make it a step of its own",
                )


def _hidden_action(text: str) -> str:
    starts: list[str] = re.findall(r"(?:^|[.!?;:,]\s+|\b(?:and|then|first|must|to)\s+)([A-Za-z]+)", text)
    for word in starts:
        if word.upper() in VERBS and not word.endswith("s"):
            return word
    return next((word for word in _WORD.findall(text) if word in VERBS), "")


def hazards_worst_first(procedure: Procedure) -> Iterator[Complaint]:
    """DANGER before WARNING before CAUTION before NOTICE (words and order of ANSI Z535.6, MEMORY)."""
    for path, _, step in steps_with_paths(procedure):
        ranks = [_rank(hazard) for hazard in step.hazards]
        if ranks != sorted(ranks):
            words = ", ".join(hazard.word for hazard in sorted(step.hazards, key=_rank))
            yield (*path, "hazards"), f"the warnings of step {step.id} are out of order; order: {words}"


def _rank(hazard: Hazard) -> int:
    return _ORDER[hazard.word]


def few_hazards(procedure: Procedure) -> Iterator[Complaint]:
    """More warnings than can be read at once are not read."""
    for path, _, step in steps_with_paths(procedure):
        if len(step.hazards) > MOST_HAZARDS:
            yield (
                (*path, "hazards"),
                f"step {step.id} has {len(step.hazards)} warnings; keep {MOST_HAZARDS}, or split the step",
            )


def short_sentences(procedure: Procedure) -> Iterator[Complaint]:
    """A sentence read aloud on a roof has at most 25 words."""
    for path, _, step in steps_with_paths(procedure):
        for place, text in texts_of(step):
            longest = max((len(part.split()) for part in _SENTENCE_END.split(text)), default=0)
            if longest > LONGEST_SENTENCE_WORDS:
                yield (
                    (*path, *place),
                    f"a sentence of step {step.id} has {longest} words; split it at {LONGEST_SENTENCE_WORDS}",
                )


def answers_say_what_was_seen(procedure: Procedure) -> Iterator[Complaint]:
    """'OK' proves nothing: an answer names what was seen (FOUND in studies of field checklists)."""
    for path, _, step in steps_with_paths(procedure):
        if not isinstance(step.proof, Confirm):
            continue
        for side, answers in (("accept", step.proof.accept), ("refuse", step.proof.refuse)):
            for at, answer in enumerate(answers):
                place = (*path, "confirm", side, at)
                if answer.strip(" .!").lower() in _EMPTY_ANSWERS:
                    yield place, f"answer '{answer}' of step {step.id} proves nothing; name what is seen"
                elif len(answer) > LONGEST_ANSWER:
                    yield (
                        place,
                        f"an answer of step {step.id} is too long; at most {LONGEST_ANSWER} characters",
                    )
        both = step.proof.accept + step.proof.refuse
        if len(set(both)) != len(both):
            yield (*path, "confirm"), f"an answer of step {step.id} stands twice; keep one"


def fits_the_sheet(procedure: Procedure) -> Iterator[Complaint]:
    """Warning, action and proof of a step stand together on an 80x24 and on a 40x12 sheet."""
    for path, _, step in steps_with_paths(procedure):
        wide = _lines_at(step, WIDTH_80) + _proof_lines(step)
        if step.why:
            wide += len(textwrap.wrap("why: " + step.why, WIDTH_80 - 4))
        narrow = _lines_at(step, WIDTH_40)
        if wide > MOST_LINES_80:
            yield (
                path,
                f"step {step.id} takes {wide} lines of 80x24; at most {MOST_LINES_80}, shorten or split it",
            )
        if narrow > MOST_LINES_40:
            yield (
                path,
                f"step {step.id} takes {narrow} lines of 40x12; at most {MOST_LINES_40}, shorten its words",
            )


def _lines_at(step: Step, width: int) -> int:
    texts = [f"{hazard.word}  {hazard.text}" for hazard in step.hazards]
    texts.append(f"{step.id}  {step.do}")
    if isinstance(step.proof, Confirm | Choose):
        texts.append(step.proof.ask)
    return sum(max(1, len(textwrap.wrap(text, width))) for text in texts)


def _proof_lines(step: Step) -> int:
    proof = step.proof
    if isinstance(proof, Wait):
        return len(proof.channels) + len(proof.limits) + len(proof.changes)
    match proof:
        case Confirm():
            return len(proof.accept) + len(proof.refuse)
        case Choose():
            return len(proof.options)
        case Reading():
            return len(proof.channels) + len(proof.limits)
        case Adjust():
            # two channels a line: low side, high side, indoor, outdoor
            return (len(proof.channels) + 1) // 2 + 1
        case Weigh() | Sign():
            return 3 if isinstance(proof, Sign) or proof.target is None else 4


def texts_of(step: Step) -> Iterator[tuple[Path, str]]:
    """Every sentence-like text of a step, with its path below the step."""
    yield ("do",), step.do
    if step.why:
        yield ("why",), step.why
    for at, hazard in enumerate(step.hazards):
        yield ("hazards", at), hazard.text
    match step.proof:
        case Confirm():
            yield ("confirm", "ask"), step.proof.ask
            if step.proof.if_refused:
                yield ("confirm", "if_refused"), step.proof.if_refused
        case Choose():
            yield ("choose", "ask"), step.proof.ask
        case Sign():
            yield ("sign", "meaning"), step.proof.meaning
        case Reading() | Wait() | Adjust() | Weigh():
            return
