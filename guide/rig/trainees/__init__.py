"""Those who learn on the simulated system, what they showed, and who says they can."""
