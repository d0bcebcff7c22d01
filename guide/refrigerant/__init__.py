"""What is in the hoses: the catalogue of refrigerants and their saturation curves."""
