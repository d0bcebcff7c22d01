"""What the readings mean: superheat, subcooling, target, uncertainty, verdict, advice."""
