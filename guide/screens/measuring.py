"""What the readings just taken come to, said before the step that judges them. Pure."""

from __future__ import annotations

from guide.job.measured import Figure, measured
from guide.job.state import JobState
from guide.procedure.model import Step
from guide.screens import say


def measured_words(state: JobState, step: Step, *, brief: bool = False) -> tuple[str, ...]:
    """A sentence a figure; `brief` gives the bare figures in one line. Nothing where nothing was measured."""
    figures, readings = measured(state, step)
    if not figures:
        return ()
    unit = say.temperature_unit(readings)
    degrees = "°F" if unit == "F" else "K"
    if brief and len(figures) == 1:
        return (_sentence(figures[0], unit, degrees, spread=False),)
    if brief:
        said = (f"{figure.name} {say.difference(figure.value_K, unit)}" for figure in figures)
        return (f"{', '.join(said)} {degrees}",)
    return tuple(_sentence(figure, unit, degrees) for figure in figures)


def _sentence(figure: Figure, unit: str, degrees: str, *, spread: bool = True) -> str:
    words = f"{figure.name} {say.difference(figure.value_K, unit)}"
    if spread and figure.off_K is not None:
        words += f" ± {say.difference(figure.off_K, unit)}"
    if figure.low_K is None or figure.high_K is None:
        return f"{words} {degrees}"
    ends = say.difference(figure.low_K, unit)
    if figure.high_K != figure.low_K:
        ends += f" to {say.difference(figure.high_K, unit)}"
    return f"{words}, {figure.against} {ends} {degrees}"
