"""Chargewright: a refrigerant job walked step by step, with a record that can be checked."""

VERSION = "0.1.0"
