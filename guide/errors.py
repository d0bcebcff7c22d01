"""The one family of errors a person may see."""


class ChargewrightError(Exception):
    """Something a person must know: one line saying what, where, and what would do.

    Every error that bad input can cause derives from this class. Anything else that
    escapes is a defect of the program.
    """
