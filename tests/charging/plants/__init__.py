"""Pretend systems for the closed loop: simple lines, bends, lags and noise, nothing of the rig."""
