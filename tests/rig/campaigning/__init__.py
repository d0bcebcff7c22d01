"""Rigs whose figures come from the simulated plant, drawn for the closed-loop campaign."""
