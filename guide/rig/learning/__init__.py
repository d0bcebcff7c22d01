"""Learning on the simulated system: lessons, what counts and how much, hints, scores, debriefs, standards.

Everything here is pure but `shelf`, which finds and reads the lesson files.
"""
